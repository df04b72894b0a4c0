"""Flags of a first visit: values far from all others of their day."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from records.flag_fields import field, lines, plots, pulls, row, table

FIRST = ("2026-03-24",)
KIND = "unlike the others"
RULE = "rule: at most 6 times the usual spread away from them"
ADVICE = "look at the sheet and at the unit, and leave a value that is right"


def first(seed: int = 7, blocks: int = 6, sd: float = 2.0) -> pd.DataFrame:
    """Draw the pulls of a first visit."""
    rng = np.random.default_rng(seed)
    true = field(rng, blocks=blocks, days=FIRST)
    return true + rng.normal(0, sd, true.shape)


def turned(wrong: dict[tuple[str, int], float]) -> list[tuple[object, ...]]:
    """Draw a first visit with three readings of torque a plot, with some written wrongly."""
    rng = np.random.default_rng(11)
    true = field(rng, days=FIRST).loc[FIRST[0]]
    rows = []
    for plot in true.index:
        for sample in (1, 2, 3):
            read = round(float(true[plot]) + rng.normal(0, 2), 1)
            told = wrong.get((plot, sample), read)
            line = len(rows) + 2
            rows.append(row(FIRST[0], plot, "torque", told, sample=sample, line=line))
    return rows


def test_a_clean_first_visit_has_none() -> None:
    assert lines(pulls(first()), kind=KIND) == []
    assert lines(turned({}), kind=KIND) == []


@pytest.mark.parametrize(
    ("read", "said"),
    [(3.9, "3.9 lbf, 39.1 lbf less"), (191.0, "191 lbf, 147 lbf more")],
)
def test_a_slip_of_the_point_or_the_unit_is_told_on_the_first_date(read: float, said: str) -> None:
    wrong = first()
    wrong.loc[FIRST[0], "204"] = read
    assert lines(pulls(wrong), kind=KIND) == [
        f"sheets/pull_force.csv, row 11, column pull_force: flag {KIND}: {said} than is usual "
        f"among the readings of that day; {RULE}; {ADVICE}"
    ]


def test_one_reading_of_a_plot_is_told_and_not_its_neighbours() -> None:
    found = table(turned({("303", 2): 4.6}))
    (flag,) = found[found["kind"] == KIND].itertuples()
    assert (flag.plot, flag.sample, flag.unit) == ("303", "2", "N.m")
    assert flag.value == pytest.approx(4.6)
    assert flag.found.startswith("4.6 N.m, ")


def test_a_plot_read_in_another_unit_as_a_whole_is_told() -> None:
    wrong = {("303", sample): 4.5 + sample / 10 for sample in (1, 2, 3)}
    found = table(turned(wrong))
    told = found[found["kind"] == KIND]
    assert sorted(zip(told["plot"], told["sample"], strict=True)) == [
        ("303", "1"),
        ("303", "2"),
        ("303", "3"),
    ]


def test_once_there_is_a_second_date_the_course_of_the_plot_judges() -> None:
    rng = np.random.default_rng(7)
    both = field(rng, days=("2026-03-16", "2026-03-24"))
    both = both + rng.normal(0, 2, both.shape)
    both.loc["2026-03-24", "204"] = 3.9
    kinds = set(table(pulls(both))["kind"])
    assert KIND not in kinds
    assert "jump" in kinds


def test_shares_and_marks_are_left_alone() -> None:
    many = [
        row(FIRST[0], plot, "weeds", 90.0 if plot == "204" else 2.0) for plot in plots()["plot"]
    ]
    marks = [
        row(FIRST[0], plot, "colour_rating", 9 if plot == "204" else 3, rater="te")
        for plot in plots()["plot"]
    ]
    assert lines([*many, *marks], kind=KIND) == []


@pytest.mark.parametrize("blocks", [3, 4, 6])
def test_clean_first_visits_are_rarely_flagged(blocks: int) -> None:
    """Of 40 invented normal fields at most two hold a flag."""
    flagged = sum(
        not table(pulls(first(seed, blocks)), blocks=blocks).query("kind == @KIND").empty
        for seed in range(40)
    )
    assert flagged <= 2
