"""A reading keeps to what its kind can be."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from wintersward.records import read_sheets
from wintersward.trial import Diary, read_definition

Write = Callable[..., Path]


@pytest.mark.parametrize(
    ("value", "said"), [(32, ""), (50, ""), (-40, "found '-40'; allowed: -22 to 140 degF")]
)
def test_a_reading_keeps_to_the_range_of_its_kind(
    study: Path, plots: pd.DataFrame, write: Write, value: int, said: str
) -> None:
    # -22 and 140 degF are -30 and 60 degC: t(degC) = (t(degF) - 32) / 1.8, NIST SP 811, B.8.
    text = (study / "trial.yaml").read_text(encoding="utf-8")
    changed = text.replace("    unit: lbf\n    per_plot: 3\n", "    kind: soil_temperature\n")
    assert changed != text
    (study / "trial.yaml").write_text(changed, encoding="utf-8")
    definition, problems = read_definition(study)
    assert definition is not None, problems
    write("sheets/s.csv", ["date", "plot", "pull_force"], ["2026-03-24", 101, value])
    read = read_sheets(study, definition, Diary(), plots)
    observations, found = read.observations, read.problems
    assert len(observations) == (0 if said else 1)
    expected = [f"sheets/s.csv, row 2, column pull_force: {said}"] if said else []
    assert [str(problem) for problem in found] == expected
