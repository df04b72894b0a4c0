"""A rater's second look at a plot: kept, flagged, and no duplicate."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd

Write = Callable[..., Path]
Sheets = Callable[..., tuple[pd.DataFrame, list[str]]]
AGAIN = ["date", "plot", "rater", "colour_rating", "repeat"]


def test_a_second_look_is_kept_with_its_flag(write: Write, sheets: Sheets) -> None:
    write(
        "sheets/r.csv",
        AGAIN,
        ["2026-03-24", 101, "te", 5, ""],
        ["2026-03-24", 102, "te", 4, "0"],
        ["2026-03-24", 101, "te", 6, "1"],
        ["2026-03-24", 102, "te", 4.5, "1.0"],
    )
    observations, said = sheets()
    assert said == []
    seen = observations[["plot", "value", "flags", "source"]].to_numpy().tolist()
    assert seen == [
        ["101", 5.0, "", "sheets/r.csv:2"],
        ["101", 6.0, "repeat", "sheets/r.csv:4"],
        ["102", 4.0, "", "sheets/r.csv:3"],
        ["102", 4.5, "repeat", "sheets/r.csv:5"],
    ]


def test_a_second_look_is_no_duplicate_but_a_third_is(write: Write, sheets: Sheets) -> None:
    first, second = ["2026-03-24", 101, "te", 5, ""], ["2026-03-24", 101, "te", 6, 1]
    write("sheets/r.csv", AGAIN, first, second, second, first)
    observations, said = sheets()
    assert len(observations) == 2
    twice = "found a second value of colour_rating for this date, plot and rater"
    keep = "keep one, or correct date, plot or rater"
    assert said == [
        f"sheets/r.csv, row 4: {twice}; the first is in sheets/r.csv, row 3; {keep}",
        f"sheets/r.csv, row 5: {twice}; the first is in sheets/r.csv, row 2; {keep}; if it is the "
        "planned second look, write 1 in the column repeat",
    ]


def test_what_is_neither_a_first_nor_a_second_look_is_told(write: Write, sheets: Sheets) -> None:
    write("sheets/r.csv", AGAIN, ["2026-03-24", 101, "te", 5, "2"])
    observations, said = sheets()
    assert observations.empty
    assert said == [
        "sheets/r.csv, row 2, column repeat: found '2'; allowed: nothing, or 1 for a second look "
        "at the plot; a column that counts the readings in a plot is called sample"
    ]
