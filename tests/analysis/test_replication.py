"""What blocks were worth, by textbook, and how many would be needed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analysis.dated import BLOCKS, COVER, SPLIT, TINE, dated_trial
from wintersward.analysis.power import power
from wintersward.analysis.primary import primary
from wintersward.analysis.replication import efficiency, replication
from wintersward.analysis.strata import Stratum
from wintersward.errors import WinterswardError
from wintersward.records import first_looks
from wintersward.study import Trial, open_study

# Montgomery, Design and Analysis of Experiments, vascular graft; data and analysis of variance at
# Penn State STAT 503, lesson 4.2. Four pressures (rows) in six batches.
GRAFT = [
    [90.3, 89.2, 98.2, 93.9, 87.4, 97.9],
    [92.5, 89.5, 90.6, 94.7, 87.0, 95.8],
    [85.5, 90.8, 89.6, 86.2, 88.0, 93.4],
    [82.5, 89.5, 85.6, 87.4, 78.9, 90.7],
]
# Rice, six seeding rates in four replicates, kg/ha: Gomez K. A., Gomez A. A. (1984) Statistical
# Procedures for Agricultural Research, chapter 2 (values from memory).
RICE = [
    [5113, 5398, 5307, 4678],
    [5346, 5952, 4719, 4264],
    [5272, 5713, 5483, 4749],
    [5164, 4831, 4986, 4410],
    [4804, 4848, 4432, 4748],
    [5254, 4542, 4919, 4098],
]


def in_blocks(table: list[list[float]]) -> Stratum:
    rows = [
        (f"{t}{b}", f"b{b}", f"t{t}", float(value))
        for t, values in enumerate(table)
        for b, value in enumerate(values)
    ]
    data = pd.DataFrame(rows, columns=["unit", "block", "rate", "value"])
    return Stratum("rate", data, ("block",), "block + rate", "plot")


@pytest.mark.parametrize(
    ("table", "plain", "corrected", "cv"),
    [
        # Efficiency 1.9236, corrected 1.8727, computed from the printed mean squares; CV 3.01 %.
        (GRAFT, 1.9236, 1.8727, 3.01),
        # 1.634 and 1.606; CV 6.7 % in the book.
        (RICE, 1.634, 1.606, 6.70),
    ],
)
def test_efficiency_of_complete_blocks(
    table: list[list[float]], plain: float, corrected: float, cv: float
) -> None:
    found = efficiency(in_blocks(table))
    digits = 5e-5 if plain == 1.9236 else 5e-4
    assert found.plain == pytest.approx(plain, abs=digits)
    assert found.corrected == pytest.approx(corrected, abs=digits)
    assert 100 * np.sqrt(found.error) / np.mean(table) == pytest.approx(cv, abs=5e-3)


def test_efficiency_of_a_latin_square_by_the_textbook_formula() -> None:
    rng = np.random.default_rng(2)
    size = 4
    rows = [
        (f"{r}{c}", f"r{r}", f"c{c}", f"t{(r + c) % size}", rng.normal(3 * r + c, 1))
        for r in range(size)
        for c in range(size)
    ]
    data = pd.DataFrame(rows, columns=["unit", "row", "column", "cover", "value"])
    found = efficiency(Stratum("cover", data, ("row", "column"), "", "plot"))
    grand = data["value"].mean()

    def mean_square(name: str) -> float:
        means = data.groupby(name)["value"].mean()
        return float(size * ((means - grand) ** 2).sum() / (size - 1))

    # [MSR + MSC + (t - 1) MSE] / [(t + 1) MSE], Cochran and Cox (1957), section 4.37 (from memory).
    both = mean_square("row") + mean_square("column")
    by_hand = (both + (size - 1) * found.error) / ((size + 1) * found.error)
    assert found.df == (size - 1) * (size - 2)
    assert found.plain == pytest.approx(by_hand)


def test_without_surroundings_there_is_nothing_to_be_worth() -> None:
    data = in_blocks(GRAFT).data.drop(columns="block")
    found = efficiency(Stratum("rate", data, (), "rate", "plot"))
    assert np.isnan([found.plain, found.corrected]).all()
    assert found.df == 20


def test_units_that_leave_no_error_are_refused() -> None:
    with pytest.raises(WinterswardError, match="no error"):
        efficiency(in_blocks([[1.0], [2.0]]))


def test_the_example(rated_trial: Trial) -> None:
    tables = replication(rated_trial)
    row, answer = tables["block_value"].iloc[0], primary(rated_trial).iloc[0]
    # The error of the primary answer: se^2 b / 2 is the mean square.
    error = answer["se"] ** 2 * 6 / 2
    means = first_looks(rated_trial.observations("colour_rating"))
    overall = means[means["date"] == pd.Timestamp(rated_trial.primary_date)]["value"].mean()
    assert row["cv"] == pytest.approx(100 * np.sqrt(error) / overall)
    assert row["text"].startswith("without the blocks about 1.7 times as many whole plots would")
    table = tables["replication"]
    asked: dict[str, Any] = {"sd": np.sqrt(error), "blocks": range(2, 13)}
    for purpose, more in (
        ("difference", {"difference": 1.0}),
        ("equivalence", {"margin": 0.5}),
    ):
        shown = table[table["purpose"] == purpose].head(11)
        by_hand = power("split plot", (3, 2), purpose=purpose, **more, **asked)  # type: ignore[arg-type]
        assert shown["blocks"].tolist() == list(range(2, 13))
        assert shown["power"].tolist() == pytest.approx(by_hand["power"].tolist())
    beyond = table[table["purpose"] == "equivalence"]
    assert beyond["power"].iloc[-1] >= 0.9 > beyond["power"].iloc[-2]


def noisy(plot: Any, day: int) -> float:
    rng = np.random.default_rng([int(plot.plot), day])
    return float(50 + 5 * (plot.cover == "fleece") + rng.normal(0, 6))


@pytest.mark.parametrize(
    ("layout", "treatments", "blocks", "worth"),
    [
        (BLOCKS, COVER, 2, True),
        ("kind: completely random\n  replicates: 4", COVER, 2, False),
        ("kind: latin square", COVER, 3, True),
        (SPLIT, COVER + TINE, 2, True),
        ("kind: strip plot\n  row_strips: tine\n  column_strips: cover\n  blocks: 4", "", 2, True),
    ],
)
def test_every_layout(
    tmp_path: Path, layout: str, treatments: str, blocks: int, worth: bool
) -> None:
    trial = dated_trial(
        tmp_path / "study", noisy, layout=layout, treatments=treatments or COVER + TINE
    )
    tables = replication(trial)
    assert len(tables["block_value"]) == worth
    table = tables["replication"]
    assert table["blocks"].iloc[0] == blocks
    assert table.loc[table["purpose"] == "difference", "power"].is_monotonic_increasing
    inside = table.loc[table["purpose"] == "equivalence", "power"]
    assert inside.iloc[-1] == inside.max()
    assert not table.duplicated(["purpose", "blocks"]).any()


def test_nothing_is_told_before_the_question_has_data(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "study", lambda p, d: noisy(p, d) if d < 40 else None)
    (trial.folder / "diary.yaml").unlink()
    tables = replication(open_study(trial.folder))
    assert tables["block_value"].empty
    assert tables["replication"].empty


def test_a_family_is_powered_as_one(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "study", noisy)
    alone = replication(trial)["replication"].set_index(["purpose", "blocks"])
    path = trial.folder / "trial.yaml"
    asked = path.read_text(encoding="utf-8")
    asked = asked.replace("[fleece, open]", "{each: [fleece, woven], with: open}")
    path.write_text(asked, encoding="utf-8")
    family = replication(open_study(trial.folder))["replication"].set_index(["purpose", "blocks"])
    at = [("difference", blocks) for blocks in range(2, 13)]
    assert (family.loc[at, "power"] < alone.loc[at, "power"]).all()
    assert (family.loc[at, "half_width"] > alone.loc[at, "half_width"]).all()
    # Each comparison of the equivalence table stands alone, with a family or without.
    same = [("equivalence", blocks) for blocks in range(2, 13)]
    assert family.loc[same, "power"].tolist() == pytest.approx(alone.loc[same, "power"].tolist())


def test_units_that_do_not_vary_have_a_note_and_no_table(tmp_path: Path) -> None:
    def steady(plot: Any, day: int) -> float:
        return 40.1 + 7.3 * (plot.cover == "fleece") + 0.7 * int(plot.block)

    tables = replication(dated_trial(tmp_path / "study", steady))
    assert tables["block_value"].empty
    assert tables["replication"].empty
    assert tables["notes"]["text"].tolist() == [
        "nothing is told of the blocks of a next trial: the plots do not vary beside their"
        " treatments"
    ]


def test_plots_at_one_end_of_the_scale_are_not_judged_by(tmp_path: Path) -> None:
    tables = replication(dated_trial(tmp_path / "study", lambda plot, day: 99.5))
    assert tables["replication"].empty
    assert "described, not compared" in tables["notes"]["text"].iloc[0]
