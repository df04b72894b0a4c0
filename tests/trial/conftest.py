"""A sound definition, and ways to read a changed one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from wintersward.trial import Definition, read_definition

SOUND = (Path(__file__).parent / "sound.yaml").read_text(encoding="utf-8")

Tell = Callable[[str | bytes], list[str]]


@pytest.fixture
def sound() -> str:
    return SOUND


@pytest.fixture
def definition(tmp_path: Path) -> Definition:
    (tmp_path / "trial.yaml").write_text(SOUND, encoding="utf-8")
    made, problems = read_definition(tmp_path)
    assert made is not None, problems
    return made


@pytest.fixture
def tell(tmp_path: Path) -> Tell:
    """Read a text as ``trial.yaml``, and give every message."""

    def read(text: str | bytes) -> list[str]:
        content = text if isinstance(text, bytes) else text.encode("utf-8")
        (tmp_path / "trial.yaml").write_bytes(content)
        made, problems = read_definition(tmp_path)
        assert (made is None) == bool(problems)
        return [str(problem) for problem in problems]

    return read


@pytest.fixture
def change(tell: Tell) -> Callable[..., list[str]]:
    """Replace parts of the sound definition, and give every message."""

    def read(*changes: tuple[str, str]) -> list[str]:
        text = SOUND
        for old, new in changes:
            assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
            text = text.replace(old, new)
        return tell(text)

    return read
