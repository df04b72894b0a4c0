"""Sheets become observations, and every fault is told with file, row and column."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from wintersward.records import COLUMNS, read_sheets
from wintersward.trial import Definition, Diary

Write = Callable[..., Path]
Sheets = Callable[..., tuple[pd.DataFrame, list[str]]]

PULLS = ["date", "plot", "sample", "pull_force"]
RATINGS = ["date", "plot", "rater", "colour_rating"]
PLOTS = "a plot of plan/plots.csv (101, 102, 103, 104, 105, 106 ...)"
DATE_HINT = "in a spreadsheet, format the column as text or as yyyy-mm-dd"


def test_a_row_becomes_an_observation_in_si(write: Write, sheets: Sheets) -> None:
    write("sheets/pulls.csv", PULLS, ["2026-03-24", 102, 2, 45])
    observations, said = sheets()
    assert said == []
    assert tuple(observations.columns) == COLUMNS
    row = observations.iloc[0].to_dict()
    # 1 lbf is 4.448 222 N (NIST SP 811, appendix B.8).
    assert row.pop("value") == pytest.approx(45 * 4.448222, rel=1e-7)
    assert row == {
        "date": pd.Timestamp("2026-03-24"),
        "plot": "102",
        "measure": "pull_force",
        "sample": 2,
        "rater": "",
        "unit": "N",
        "source": "sheets/pulls.csv:2",
        "flags": "",
        "excluded": "",
    }


def test_ratings_stay_as_they_are(write: Write, sheets: Sheets) -> None:
    write("sheets/r.csv", RATINGS, ["2026-01-15", 101, "te", 6.5], ["2026-01-15", 101, "rx", 7])
    observations, said = sheets()
    assert said == []
    assert list(observations["rater"]) == ["rx", "te"]
    assert list(observations["value"]) == [7.0, 6.5]
    assert set(observations["unit"]) == {"rating 1-9"}
    assert list(observations["source"]) == ["sheets/r.csv:3", "sheets/r.csv:2"]


def test_one_sheet_may_hold_several_measures(write: Write, sheets: Sheets) -> None:
    write(
        "sheets/all.csv",
        ["date", "plot", "sample", "rater", "colour_rating", "pull_force"],
        ["2026-03-24", 101, 1, "te", 7, 40],
        ["2026-03-24", 101, 2, "te", "", 42],
        ["2026-03-24", 101, 3, "te", "", "-"],
        ["2026-03-24", 101, 1, "rx", 8, ""],
    )
    observations, said = sheets()
    assert said == []
    seen = observations[["measure", "sample", "rater", "source"]].to_numpy().tolist()
    # A measure without raters keeps the initials of the person who took it.
    assert seen == [
        ["colour_rating", 1, "rx", "sheets/all.csv:5"],
        ["colour_rating", 1, "te", "sheets/all.csv:2"],
        ["pull_force", 1, "te", "sheets/all.csv:2"],
        ["pull_force", 2, "te", "sheets/all.csv:3"],
    ]


def test_files_are_joined_and_sorted(write: Write, sheets: Sheets) -> None:
    write("sheets/b.csv", PULLS, ["2026-04-17", 101, 1, 50], ["2026-03-24", 201, 1, 40])
    write("sheets/a.csv", PULLS, ["2026-03-24", 102, 1, 41])
    write("sheets/c.csv", RATINGS, ["2026-03-10", 101, "te", 5])
    observations, said = sheets()
    assert said == []
    assert list(observations["measure"]) == ["colour_rating"] + ["pull_force"] * 3
    assert list(observations["plot"]) == ["101", "102", "201", "101"]
    assert list(observations.index) == [0, 1, 2, 3]


def test_headings_are_found_whatever_their_dress(write: Write, sheets: Sheets) -> None:
    heads = ["Plot", " DATE ", "Pull force (lbf)", "Sample", "Remarks"]
    write("sheets/p.csv", heads, [101, "2026-03-24", 40, 1, "windy"])
    observations, said = sheets()
    assert (said, len(observations)) == ([], 1)


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_the_separator_is_told_from_the_headings(
    write: Write, sheets: Sheets, separator: str
) -> None:
    write("sheets/p.csv", PULLS, ["2026-03-24", 101, 1, 40], separator=separator)
    observations, said = sheets()
    assert (said, len(observations)) == ([], 1)


def test_marks_of_other_programs_do_no_harm(study: Path, sheets: Sheets) -> None:
    text = "\ufeffdate,plot,sample,pull_force\r\n2026-03-24,101.0,1.0,40\r\n,,,\r\n\r\n"
    (study / "sheets" / "P.CSV").write_bytes(text.encode("utf-8"))
    (study / "sheets" / "~$P.xlsx").write_bytes(b"locked")
    (study / "sheets" / ".hidden.csv").write_bytes(b"x")
    (study / "sheets" / "readme.txt").write_bytes(b"about these sheets")
    observations, said = sheets()
    assert said == []
    assert observations[["plot", "sample"]].to_numpy().tolist() == [["101", 1]]


def test_rows_are_counted_as_in_the_spreadsheet(study: Path, sheets: Sheets) -> None:
    text = "date,plot,sample,pull_force,note\n\n2026-03-24,101,1,40,'two\nlines'\n"
    text = text.replace("'", '"') + "2026-03-24,999,1,4,\n"
    (study / "sheets" / "p.csv").write_text(text)
    observations, said = sheets()
    assert list(observations["source"]) == ["sheets/p.csv:3"]
    assert said == [f"sheets/p.csv, row 4, column plot: found '999'; allowed: {PLOTS}"]


@pytest.mark.parametrize("code", ["", "NA", "na", "-", ".", " "])
def test_a_missing_value_makes_no_observation(write: Write, sheets: Sheets, code: str) -> None:
    write("sheets/p.csv", PULLS, ["2026-03-24", 101, 1, code], ["2026-03-24", 101, 2, 40])
    observations, said = sheets()
    assert (said, list(observations["sample"])) == ([], [2])


def test_no_sheets_are_no_fault(
    tmp_path: Path, definition: Definition, plots: pd.DataFrame, sheets: Sheets
) -> None:
    observations, said = sheets()
    assert (said, len(observations)) == ([], 0)
    assert tuple(observations.columns) == COLUMNS
    assert str(observations["date"].dtype).startswith("datetime64")
    nowhere = read_sheets(tmp_path / "nowhere", definition, Diary(), plots)
    assert (len(nowhere.observations), nowhere.problems, nowhere.sums) == (0, [], [])


# One row that is wrong, and all that is told of it.
ROWS = {
    "unknown plot": (
        PULLS,
        ["2026-03-24", 110, 1, 40],
        [f"row 2, column plot: found '110'; allowed: {PLOTS}"],
    ),
    "whole plot": (
        PULLS,
        ["2026-03-24", "1A", 1, 40],
        [
            f"row 2, column plot: found '1A'; allowed: {PLOTS}; that is a whole plot; write the "
            "plot within it"
        ],
    ),
    "no plot": (
        PULLS,
        ["2026-03-24", "", 1, 40],
        [f"row 2, column plot: found nothing; allowed: {PLOTS}"],
    ),
    "date of no visit": (
        PULLS,
        ["2026-03-25", 101, 1, 40],
        [
            "row 2, column date: found '2026-03-25'; allowed: a date on which pull_force is "
            "observed (2026-03-24, 2026-04-17); if the visit was moved, change trial.yaml and "
            "tell it under deviations in diary.yaml"
        ],
    ),
    "date as Excel writes it": (
        PULLS,
        ["3/24/2026", 101, 1, 40],
        [
            "row 2, column date: found '3/24/2026'; allowed: a date written year-month-day, "
            "such as 2026-03-24; add 'date_order: month first' to this table in diary.yaml"
        ],
    ),
    "no date": (
        PULLS,
        ["", 101, 1, 40],
        [
            "row 2, column date: found nothing; allowed: a date written year-month-day, such as "
            "2026-03-24; write the day"
        ],
    ),
    "impossible date": (
        PULLS,
        ["2026-02-30", 101, 1, 40],
        ["row 2, column date: found '2026-02-30'; allowed: a date that exists in the calendar"],
    ),
    "text for a number": (
        PULLS,
        ["2026-03-24", 101, 1, "forty"],
        [
            "row 2, column pull_force: found 'forty'; allowed: a number in lbf; for a value "
            "that could not be taken, write NA"
        ],
    ),
    "decimal comma": (
        PULLS,
        ["2026-03-24", 101, 1, "40,5"],
        [
            "row 2, column pull_force: found '40,5'; allowed: a number in lbf; write a point, "
            "or add 'decimal: comma' to this table in diary.yaml"
        ],
    ),
    "value with its unit": (
        PULLS,
        ["2026-03-24", 101, 1, "40 lbf"],
        ["row 2, column pull_force: found '40 lbf'; allowed: a number in lbf; leave out 'lbf'"],
    ),
    "no number": (
        PULLS,
        ["2026-03-24", 101, 1, "nan"],
        [
            "row 2, column pull_force: found 'nan'; allowed: a number in lbf; for a value that "
            "could not be taken, write NA"
        ],
    ),
    "beyond all bounds": (
        PULLS,
        ["2026-03-24", 101, 1, "1e999"],
        ["row 2, column pull_force: found '1e999'; allowed: a number in lbf; check the digits"],
    ),
    "negative force": (
        PULLS,
        ["2026-03-24", 101, 1, -4],
        ["row 2, column pull_force: found '-4'; allowed: 0 lbf or more"],
    ),
    "off the scale": (
        RATINGS,
        ["2026-03-24", 101, "te", 10],
        ["row 2, column colour_rating: found '10'; allowed: 1 to 9"],
    ),
    "unknown rater": (
        RATINGS,
        ["2026-03-24", 101, "tx", 7],
        ["row 2, column rater: found 'tx'; allowed: te, rx"],
    ),
    "no rater": (
        RATINGS,
        ["2026-03-24", 101, "", 7],
        ["row 2, column rater: found nothing; allowed: te, rx"],
    ),
    "sample beyond the plan": (
        PULLS,
        ["2026-03-24", 101, 4, 40],
        [
            "row 2, column sample: found '4'; allowed: a whole number from 1 to 3; see per_plot "
            "in trial.yaml"
        ],
    ),
    "no sample": (
        PULLS,
        ["2026-03-24", 101, "", 40],
        [
            "row 2, column sample: found nothing; allowed: a whole number from 1 to 3; see "
            "per_plot in trial.yaml"
        ],
    ),
    "sample of a measure taken once": (
        [*RATINGS, "sample"],
        ["2026-03-24", 101, "te", 7, 2],
        ["row 2, column sample: found '2'; allowed: 1; see per_plot in trial.yaml"],
    ),
    "more cells than headings": (
        PULLS,
        ["2026-03-24", 101, 1, 40, 5],
        [
            "row 2: found '5' to the right of the last heading; put a value that holds a comma "
            "in quotes"
        ],
    ),
    "everything at once": (
        PULLS,
        ["24.3.26", 999, 9, "x"],
        [
            "row 2, column date: found '24.3.26'; allowed: a date written year-month-day, such "
            "as 2026-03-24; it can be read in 2 ways: add 'date_order: year first' or "
            "'date_order: day first' to this table in diary.yaml",
            f"row 2, column plot: found '999'; allowed: {PLOTS}",
            "row 2, column pull_force: found 'x'; allowed: a number in lbf; for a value that "
            "could not be taken, write NA",
            "row 2, column sample: found '9'; allowed: a whole number from 1 to 3; see per_plot "
            "in trial.yaml",
        ],
    ),
}


@pytest.mark.parametrize("name", ROWS)
def test_a_wrong_row_is_told_and_the_next_is_read(write: Write, sheets: Sheets, name: str) -> None:
    heads, row, expected = ROWS[name]
    good = {"date": "2026-03-24", "plot": 604, "sample": 1, "pull_force": 44, "rater": "rx"}
    good["colour_rating"] = 5
    write("sheets/s.csv", heads, row, [good[head] for head in heads])
    observations, said = sheets()
    assert said == [f"sheets/s.csv, {line}" for line in expected]
    assert list(observations["source"]) == ["sheets/s.csv:3"]


def test_a_second_value_is_told_across_files(write: Write, sheets: Sheets) -> None:
    write("sheets/a.csv", PULLS, ["2026-03-24", 101, 1, 40])
    write("sheets/b.csv", PULLS, ["2026-03-24", 101, 2, 40], ["2026-03-24", 101, 1, 41])
    observations, said = sheets()
    assert said == [
        "sheets/b.csv, row 3: found a second value of pull_force for this date, plot and "
        "sample; the first is in sheets/a.csv, row 2; keep one, or correct date, plot or sample"
    ]
    assert len(observations) == 2


def test_a_pull_is_taken_once_whoever_took_it(write: Write, sheets: Sheets) -> None:
    heads = [*PULLS, "rater"]
    write("sheets/a.csv", heads, ["2026-03-24", 101, 1, 40, "te"], ["2026-03-24", 101, 1, 41, "rx"])
    _, said = sheets()
    assert len(said) == 1
    assert "a second value of pull_force" in said[0]


def test_initials_may_be_capitals(write: Write, sheets: Sheets) -> None:
    write("sheets/r.csv", RATINGS, ["2026-03-24", 101, "TE", 7])
    observations, said = sheets()
    assert (said, list(observations["rater"])) == ([], ["te"])


def test_a_sheet_in_a_folder_is_told(study: Path, write: Write, sheets: Sheets) -> None:
    for name in ("march/pulls.csv", "march/.old/x.csv", ".trash/y.csv", "march/~$z.xlsx"):
        write(f"sheets/{name}", ["date", "plot", "pull_force"])
    (study / "sheets" / "march" / "read me.txt").write_text("by hand")
    observations, problems = sheets()
    assert observations.empty
    assert problems == [
        "sheets/march/pulls.csv: found a sheet in a folder within sheets; move it up into sheets"
    ]


def test_a_file_of_another_kind_is_told(study: Path, sheets: Sheets) -> None:
    (study / "sheets" / "old.xls").write_bytes(b"\xd0\xcf\x11\xe0")
    assert sheets()[1] == ["sheets/old.xls: found a file of kind .xls; save it as .xlsx or .csv"]


CELLS = st.one_of(
    st.text(max_size=6),
    st.sampled_from(["2026-03-24", "101", "1", "te", "40", "date", "plot", "sample", "pull_force"]),
)


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=st.lists(st.lists(CELLS, max_size=6), max_size=5), heads=st.booleans())
def test_any_cells_give_observations_or_problems(
    write: Write, sheets: Sheets, rows: list[list[str]], heads: bool
) -> None:
    write("sheets/p.csv", *([[*PULLS, *RATINGS[2:]]] if heads else []), *rows)
    observations, said = sheets()
    assert tuple(observations.columns) == COLUMNS
    assert all(line.startswith("sheets/p.csv") and "\n" not in line for line in said)


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(content=st.binary(max_size=80))
def test_any_bytes_give_problems(study: Path, sheets: Sheets, content: bytes) -> None:
    (study / "sheets" / "p.csv").write_bytes(content)
    (study / "sheets" / "q.xlsx").write_bytes(content)
    observations, said = sheets()
    assert len(observations) == 0
    assert len({line.partition(",")[0].partition(":")[0] for line in said}) == 2


def test_a_tab_of_remarks_stays_unread_when_the_diary_names_the_file(
    study: Path, sheets: Sheets
) -> None:
    from openpyxl import Workbook

    book = Workbook()
    book.active.append(RATINGS)
    book.active.append(["2026-03-24", 101, "te", "n.a."])
    book.active.append(["2026-03-24", 102, "te", 5])
    book.create_sheet("What to do").append(["What to do"])
    book.save(study / "sheets" / "r.xlsx")
    observations, said = sheets("sheets:\n  - {file: r.xlsx, missing: [n.a.]}\n")
    assert said == []
    assert list(observations["plot"]) == ["102"]
