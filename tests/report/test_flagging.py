"""Flags as a reader meets them: what was looked at, what was noticed, and where it stands."""

from __future__ import annotations

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.analysis.record_tables import RECORDED
from wintersward.records import (
    FLAG_KINDS,
    flag_alone,
    flag_history,
    flag_parts,
    flag_raters,
    flag_values,
)
from wintersward.report import flagging
from wintersward.report.flagging import flagged_words, flags_table, looked_table, place_words
from wintersward.report.page import Page
from wintersward.trial import Definition
from wintersward.units import to_si

Tables = dict[str, pd.DataFrame]
COLUMNS = [column.name for column in RECORDED["flags"].columns]
DAY = pd.Timestamp("2026-03-24")


NOTHING = pd.DataFrame(columns=["measure", "flags"])


def flags_of(*rows: dict[str, object]) -> pd.DataFrame:
    blank = {name: "" for name in COLUMNS} | {"date": pd.NaT, "value": float("nan")}
    frame = pd.DataFrame([blank | row for row in rows], columns=COLUMNS)
    return frame.astype({"date": "datetime64[us]", "value": "float64"})


JUMP: dict[str, object] = {
    "kind": "jump",
    "measure": "pull_force",
    "date": DAY,
    "plot": "104",
    "sample": "2",
    "value": to_si(61.2, "lbf"),
    "unit": "N",
    "source": "sheets/pull_force.csv:17",
    "found": "61.2 lbf, 22 lbf more than this plot's own course",
    "rule": "at most 5 times the usual spread away from it",
}
MISSED: dict[str, object] = {
    "kind": "missed visit",
    "measure": "colour_rating",
    "date": DAY,
    "found": "no value on that day, though other measures have some",
    "rule": "every planned date",
}
LOOK: dict[str, object] = {
    "kind": "second look differs",
    "measure": "colour_rating",
    "date": DAY,
    "plot": "101",
    "rater": "rx",
    "sample": "1",
    "value": 7.0,
    "unit": "rating 1-9",
    "source": "sheets/rated.xlsx[Ratings]:9",
    "found": "7 at the second look, 4 at the first",
    "rule": "at most 1 apart",
}


def rows_of(html: str) -> list[list[str]]:
    soup = BeautifulSoup(html, "html.parser")
    return [
        [" ".join(c.get_text().split()) for c in line.find_all(["th", "td"])]
        for line in soup.select("tbody tr")
    ]


def test_flags_stand_in_the_order_of_kinds_with_value_and_place(
    tables: Tables, definition: Definition
) -> None:
    flags = flags_of(JUMP, LOOK, MISSED)
    html = flags_table(flags, tables["observations"], definition)
    assert rows_of(html) == [
        [
            *("missed visit", "24 March 2026", "Colour rating", "–"),
            "no value on that day, though other measures have some; rule: every planned date",
            "–",
        ],
        [
            *("jump", "24 March 2026", "Pull force, plot 104, sample 2", "61.2 lbf"),
            "61.2 lbf, 22 lbf more than this plot's own course; "
            "rule: at most 5 times the usual spread away from it",
            "sheets/pull_force.csv, row 17",
        ],
        [
            *("second look differs", "24 March 2026"),
            *("Colour rating, plot 101, R. Example", "7"),
            "7 at the second look, 4 at the first; rule: at most 1 apart",
            "sheets/rated.xlsx, tab Ratings, row 9",
        ],
    ]
    held = BeautifulSoup(html, "html.parser").find_all("data")
    assert [(one["title"], one["value"]) for one in held] == [
        ("flags.csv:2", "272.2311629"),
        ("flags.csv:3", "7"),
    ]


def test_a_metric_reader_reads_newtons(tables: Tables, definition: Definition) -> None:
    metric = definition.model_copy(update={"units": "metric"})
    row = rows_of(flags_table(flags_of(JUMP), tables["observations"], metric))[0]
    assert row[3] == "272.2 N"


def test_what_is_set_aside_is_told(tables: Tables, definition: Definition) -> None:
    observed = tables["observations"].copy()
    here = (observed["source"] == JUMP["source"]) & (observed["measure"] == "pull_force")
    assert here.sum() == 1
    observed.loc[here, "excluded"] = "the gauge slipped"
    row = rows_of(flags_table(flags_of(JUMP), observed, definition))[0]
    assert row[-1] == "sheets/pull_force.csv, row 17; set aside in the diary"


def test_while_the_comparison_waits_no_value_is_shown(
    early: Tables, definition: Definition
) -> None:
    flags = flags_of(JUMP, LOOK, MISSED)
    html = flags_table(flags, early["observations"], definition, values=False)
    assert "<data" not in html
    said = [row[-2] for row in rows_of(html)]
    assert said[0].startswith("no value on that day")
    assert said[1:] == [
        "rule: at most 5 times the usual spread away from it",
        "rule: at most 1 apart",
    ]
    sums = pd.DataFrame(columns=[column.name for column in RECORDED["sheet_sums"].columns])
    page = Page(early | {"sheet_sums": sums, "flags": flags}, {}, definition)
    section = page.section("records").html
    assert "61.2" not in section
    assert "values of single plots are left out here" in section


def test_a_long_table_shows_some_of_every_kind(tables: Tables, definition: Definition) -> None:
    many = [JUMP | {"plot": str(at), "source": f"sheets/p.csv:{at}"} for at in range(101, 165)]
    flags = flags_of(*many, LOOK, MISSED)
    html = flags_table(flags, tables["observations"], definition)
    kinds = [th.get_text() for th in BeautifulSoup(html, "html.parser").select("th[rowspan]")]
    assert kinds == ["missed visit", "jump", "second look differs"]
    assert len(rows_of(html)) == 30
    assert "36 more flags: see results/flags.csv." in html
    assert "more flag" not in flags_table(flags_of(JUMP), tables["observations"], definition)


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([], "The checks flagged nothing in the records."),
        ([JUMP], "The checks set one flag."),
        ([JUMP, LOOK, JUMP | {"plot": "105"}], "The checks set three flags of two kinds."),
    ],
)
def test_flags_are_counted(rows: list[dict[str, object]], words: str) -> None:
    assert flagged_words(flags_of(*rows)) == words


def test_what_was_looked_at_is_told_of_every_kind(tables: Tables, definition: Definition) -> None:
    flags = flags_of(JUMP, JUMP | {"plot": "105"})
    rows = rows_of(looked_table(flags, tables["observations"], definition))
    assert [row[0] for row in rows] == list(FLAG_KINDS)
    said = {row[0]: row[2] for row in rows}
    assert said.pop("jump") == "2"
    # No rater looked twice in this trial.
    assert said.pop("second look differs") == "nothing to look at"
    assert set(said.values()) == {"none"}


def test_a_check_without_anything_to_look_at_says_so(
    tables: Tables, definition: Definition
) -> None:
    observed = tables["observations"]
    photos = observed[observed["measure"] == "green_cover"]
    rows = rows_of(looked_table(flags_of(), photos, definition))
    idle = [row[0] for row in rows if row[2] == "nothing to look at"]
    assert idle == ["rater saw only some plots", "second look differs", "digit preference"]
    rows = rows_of(looked_table(flags_of(), observed[:0], definition))
    assert {row[2] for row in rows} == {"nothing to look at"}
    again = observed.assign(flags="")
    again.loc[again.index[-1], "flags"] = "repeat"
    rows = rows_of(looked_table(flags_of(), again, definition))
    assert {row[2] for row in rows} == {"none"}


def test_too_few_plots_alike_or_dates_leave_nothing_to_look_at(
    tables: Tables, definition: Definition
) -> None:
    def idle(observed: pd.DataFrame) -> set[str]:
        rows = rows_of(looked_table(flags_of(), observed, definition))
        kinds = {"jump", "two plots swapped"}
        return {row[0] for row in rows if row[2] == "nothing to look at"} & kinds

    every = tables["observations"]
    photos = every[every["measure"] == "green_cover"]
    days = sorted(photos["date"].unique())
    assert idle(photos) == set()
    assert idle(photos[photos["date"].isin(days[:2])]) == {"two plots swapped"}
    assert idle(photos[photos["date"].isin(days[:1])]) == {"jump", "two plots swapped"}
    assert idle(photos.assign(excluded="rain")) == {"jump", "two plots swapped"}
    # Six treatments in two blocks are two plots each, once all are applied.
    two = photos[photos["plot"].str[0].isin(["1", "2"])]
    late = two[two["date"] > pd.Timestamp(str(definition.dates["aeration"]))]
    assert late["date"].nunique() == 2
    assert idle(late) == {"jump", "two plots swapped"}
    assert idle(two) == set()


def test_limits_are_those_of_the_checks(definition: Definition) -> None:
    said = {row[0]: row[1] for row in rows_of(looked_table(flags_of(), NOTHING, definition))}
    for kind, words, limit in (
        ("jump", "beyond five times", flag_values._JUMP == 5),
        ("unlike the others", "six times", flag_alone._FAR == 6),
        ("unlike the others", "own plot (at least three)", flag_alone._FEWEST_READINGS == 3),
        ("two plots swapped", "more than 2.5 times", flag_values._MISFIT == 2.5),
        ("two plots swapped", "no more than that off", flag_values._FIT == 2.5),
        ("two plots swapped", "two other dates", flag_values._DATES == 2),
        ("jump", "at least three", flagging._FEWEST == flag_history._FEWEST_PLOTS),
        ("two plots swapped", "two other dates", flagging._DATES["two plots swapped"] == 3),
        ("jump", "at least three", flag_history._FEWEST_PLOTS == 3),
        ("jump", "a quarter of the scale", flag_parts._QUARTER == 0.25),
        ("second look differs", "a quarter of the scale", flag_parts._QUARTER == 0.25),
        ("second look differs", "five times", flag_raters._APART == 5),
        ("second look differs", "ten pairs", flag_raters._FEWEST_PAIRS == 10),
        ("digit preference", "twice as often", flag_raters._TIMES == 2),
        ("digit preference", "30 readings or more", flag_raters._FEWEST_DIGITS == 30),
        ("digit preference", "once in a thousand", flag_raters._CHANCE == 0.001),
        ("digit preference", "nine tenths", flag_raters._ONE_MARK == 0.9),
        ("digit preference", "20 or more", flag_raters._FEWEST_MARKS == 20),
    ):
        assert words in said[kind]
        assert limit, (kind, words)


def test_many_plots_are_counted_and_days_are_written_out(
    tables: Tables, definition: Definition
) -> None:
    flag = {"kind": "part of a visit", "measure": "pull_force", "date": DAY}
    found = "no value at all, though there are some of 2026-04-17"
    few = flag | {"plot": "101, 102, 103", "found": found}
    many = flag | {"plot": "101, 102, 103, 104"}
    rows = rows_of(flags_table(flags_of(few, many), tables["observations"], definition))
    assert [row[-4] for row in rows] == [
        "Pull force, plots 101, 102 and 103",
        "Pull force, 4 plots",
    ]
    assert "there are some of 17 April 2026" in rows[0][-2]


def test_a_place_is_said_as_a_person_finds_it() -> None:
    assert place_words("") == ""
    assert place_words("photos/2026-03-24/12:30/101.jpg") == "photos/2026-03-24/12:30/101.jpg"


def test_markup_in_a_sheet_is_only_text(tables: Tables, definition: Definition) -> None:
    evil = flags_of(JUMP | {"found": "<b>61</b>", "source": "sheets/<i>.csv:3"})
    html = flags_table(evil, tables["observations"], definition)
    assert "<b>" not in html
    assert "<i>" not in html
