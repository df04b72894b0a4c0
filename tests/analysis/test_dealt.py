"""What chance dealt: treatments as numbers, contrasts over what is there, like names counted."""

from __future__ import annotations

from math import factorial
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analysis.dated import BLOCKS, COVER, TINE, dated_trial
from wintersward.analysis import model_for
from wintersward.analysis.dealt import dealt, names_of, others_of, pairs_there, surrounding
from wintersward.analysis.strata import Stratum, stratum
from wintersward.errors import WinterswardError
from wintersward.study import Trial, open_study

AT_ONCE = TINE.replace("    applied: aeration\n", "")
PAIR = [("fleece", "open")]
FAMILY = [("fleece", "open"), ("woven", "open")]


def counted(plot: Any, day: int) -> float:
    return 20.0 + int(plot.plot) % 7


def made_of(trial: Trial, factor: str = "cover") -> Stratum:
    return stratum(model_for(trial, "cover_share", trial.primary_date), factor)


def test_contrasts_average_over_the_other_factor(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "study", counted, treatments=COVER + AT_ONCE)
    made = made_of(trial)
    given = dealt(trial, made, FAMILY)
    assert others_of(made) == ["tine"]
    # Cells in the order open, fleece, woven, each with solid and hollow.
    assert given.contrasts.tolist() == [
        [-0.5, -0.5, 0.5, 0.5, 0.0, 0.0],
        [-0.5, -0.5, 0.0, 0.0, 0.5, 0.5],
    ]
    cells = made.data["cover"].map({"open": 0, "fleece": 1, "woven": 2}).astype(int) * 2
    cells += made.data["tine"].map({"solid": 0, "hollow": 1}).astype(int)
    assert given.observed.tolist() == cells.tolist()
    assert given.arrangements.count == 6**12
    assert given.alike == 2


def test_contrasts_leave_out_a_treatment_of_the_other_factor_that_is_gone(tmp_path: Path) -> None:
    def lossy(plot: Any, day: int) -> float | None:
        return None if plot.cover == "woven" else counted(plot, day)

    trial = dated_trial(tmp_path / "study", lossy, treatments=COVER + AT_ONCE)
    given = dealt(trial, made_of(trial, "tine"), [("hollow", "solid")])
    # Cells in the order solid, hollow, each with open, fleece and woven.
    assert given.contrasts.tolist() == [[-0.5, -0.5, 0.0, 0.5, 0.5, 0.0]]


def test_pairs_of_which_a_treatment_is_gone_are_left_out(tmp_path: Path) -> None:
    def lossy(plot: Any, day: int) -> float | None:
        return None if plot.cover == "woven" else counted(plot, day)

    trial = dated_trial(tmp_path / "study", lossy)
    text = (trial.folder / "trial.yaml").read_text(encoding="utf-8")
    for compared, left in (
        ("{each: [woven, fleece], with: open}", PAIR),
        ("[woven, open]", None),
    ):
        asked = text.replace("[fleece, open]", compared)
        (trial.folder / "trial.yaml").write_text(asked, encoding="utf-8")
        trial = open_study(trial.folder)
        model = model_for(trial, "cover_share", trial.primary_date)
        if left is None:
            with pytest.raises(WinterswardError, match="no observation of woven"):
                pairs_there(trial, model)
        else:
            assert pairs_there(trial, model) == left


@pytest.mark.parametrize(
    ("layout", "pairs", "alike"),
    [
        (BLOCKS, PAIR, 2),
        (BLOCKS, FAMILY, factorial(2)),
        ("kind: latin square", PAIR, 2),
        ("kind: latin square", FAMILY, factorial(2)),
    ],
)
def test_names_that_leave_the_distance_as_it_is(
    tmp_path: Path, layout: str, pairs: list[tuple[str, str]], alike: int
) -> None:
    trial = dated_trial(tmp_path / "study", counted, layout=layout)
    assert dealt(trial, made_of(trial), pairs).alike == alike


def test_surroundings_and_names(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "study", counted)
    fixed = surrounding(made_of(trial))
    assert fixed.shape == (18, 7)
    assert np.linalg.matrix_rank(fixed) == 6
    assert names_of(FAMILY) == ["fleece", "open", "woven"]
