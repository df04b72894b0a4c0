"""A sound trial and its plots."""

from __future__ import annotations

import pandas as pd
import pytest

from papers.trial_papers import drawn, sound
from wintersward.trial import Definition


@pytest.fixture(scope="session")
def definition() -> Definition:
    return sound()


@pytest.fixture(scope="session")
def plots(definition: Definition) -> pd.DataFrame:
    return drawn(definition)
