"""The example study, copied and run once for all end-to-end tests."""

from __future__ import annotations

import pytest

import wintersward
from e2e.example import Ran, copied


@pytest.fixture(scope="session")
def ran(tmp_path_factory: pytest.TempPathFactory) -> Ran:
    study = copied(tmp_path_factory.mktemp("e2e") / "example_study")
    return Ran(study, wintersward.run(study))
