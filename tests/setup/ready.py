"""An environment for tests of the recipes."""

from __future__ import annotations

import sys
from pathlib import Path

from start_environment import Environment


class Ready(Environment):
    """An environment that needs no set-up and runs this Python."""

    def __init__(self, root: Path) -> None:
        super().__init__(root)
        self.python = Path(sys.executable)
        self.prepared: list[str] = []

    def prepare(self, extra: str) -> None:
        self.prepared.append(extra)
