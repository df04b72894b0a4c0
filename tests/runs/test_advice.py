"""What is advised on a plan, each thing once."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from wintersward.errors import WinterswardError
from wintersward.runs.advice import VALUES, advice, known_values
from wintersward.runs.planning import plan

PULL = "measures:\n  pull: {from: sheet, unit: lbf, per_plot: 90, destructive: true, "


def crowded(study: Path) -> None:
    path = study / "trial.yaml"
    text = path.read_text(encoding="utf-8")
    assert text.count("measures:\n") == 1
    text = text.replace("measures:\n", PULL + "dates: [visits]}\n")
    path.write_text(text, encoding="utf-8", newline="")


def test_places_that_do_not_fit_are_told_once(study: Path) -> None:
    crowded(study)
    said = "of the 180 spots of pull fit, 6 in apart"
    assert said not in " ".join(advice(study).concerns)
    made = plan(study).said
    assert made == "plan/plots.csv: 16 plots, drawn with the seed 42"
    assert [said in one for one in advice(study).concerns].count(True) == 1
    assert said in advice(study).concerns[-1]


def test_values_are_read_for_blocks_and_concerns(study: Path) -> None:
    plan(study)
    assert advice(study).blocking == []
    plots = pd.read_csv(study / "plan" / "plots.csv", dtype=str)
    assert known_values(study, plots) is None
    sun = plots[["plot"]].assign(sod=["new" if one == "open" else "old" for one in plots["cover"]])
    sun.to_csv(study / "plan" / VALUES, index=False)
    found = advice(study)
    assert any("sod within blocks falls together with cover" in one for one in found.concerns)
    assert found.blocking[0].startswith("By sod: the blocks as planned")


def test_faulty_values_stop_the_advice(study: Path) -> None:
    plan(study)
    (study / "plan" / VALUES).write_text("plots,sun\n101,3\n", encoding="utf-8")
    with pytest.raises(WinterswardError, match="found no column plot"):
        advice(study)
