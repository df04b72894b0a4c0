"""The example study, copied and run twice, once for all end-to-end tests."""

from __future__ import annotations

import pytest

import wintersward
from e2e.example import TwoRuns, copied


@pytest.fixture(scope="session")
def runs(tmp_path_factory: pytest.TempPathFactory) -> TwoRuns:
    study = copied(tmp_path_factory.mktemp("e2e") / "example_study")
    return TwoRuns(study, wintersward.run(study), wintersward.run(study))
