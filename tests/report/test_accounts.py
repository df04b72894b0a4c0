from __future__ import annotations

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.logged import OF_WHOLE_PLOT
from wintersward.report.accounts import (
    counts_table,
    deviations_table,
    exclusions_table,
    flagged_table,
    gaps_words,
    shared_words,
)
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def rows_of(html: str) -> list[list[str]]:
    soup = BeautifulSoup(html, "html.parser")
    return [
        [" ".join(c.get_text().split()) for c in line.find_all(["th", "td"])]
        for line in soup.select("tbody tr")
    ]


def test_counts_and_exclusions(tables: Tables, definition: Definition) -> None:
    counts = counts_table(tables["counts"], definition)
    soup = BeautifulSoup(counts, "html.parser")
    assert ["2", "0"] in [row[-2:] for row in rows_of(counts)]
    assert len(soup.select("tr.strong")) == 1
    assert [th.get_text() for th in soup.find_all("th", scope="rowgroup")] == [
        "Green cover",
        "Colour rating",
        "Pull force",
    ]
    row = rows_of(exclusions_table(tables["exclusions"], definition))[0]
    assert row == ["304", "Colour rating", "24 March 2026", "all", "all", "rated in rain", "2"]
    assert "two pins lost" in deviations_table(tables["deviations"])


def test_what_is_not_yet_due_is_not_missing(tables: Tables, definition: Definition) -> None:
    counts = tables["counts"].assign(due="yes")
    later = counts["date"] == pd.Timestamp("2026-04-17")
    counts.loc[later, ["used", "excluded", "missing"]] = 0
    counts.loc[later, "due"] = "not yet"
    last = [row[-1] for row in rows_of(counts_table(counts, definition))]
    assert last.count("not yet due") == 3
    assert last.count("0") == len(counts) - 3


def test_flagged_photos_say_what_became_of_them(tables: Tables) -> None:
    scores, observed = tables["photo_scores"], tables["observations"].copy()
    row = rows_of(flagged_table(scores, observed))[0]
    assert row[-2:] == ["part of the picture is overexposed", "flagged, still used"]
    path = scores.loc[scores["flags"] != "", "path"].iloc[0]
    observed.loc[observed["source"] == path, "excluded"] = "glare"
    assert rows_of(flagged_table(scores, observed))[0][-1] == "set aside in the diary"
    assert flagged_table(scores[scores["flags"] == ""], observed) == ""
    assert "<data" in flagged_table(scores, observed)
    assert "<data" not in flagged_table(scores, observed, values=False)


def test_without_entries_there_is_no_table(early: Tables, definition: Definition) -> None:
    assert exclusions_table(early["exclusions"].iloc[:0], definition) == ""
    assert deviations_table(early["deviations"].iloc[:0]) == ""


def test_only_incomplete_dates_are_said(tables: Tables, definition: Definition) -> None:
    counts = tables["counts"].assign(excluded=0, missing=0, due="yes")
    assert gaps_words(counts, definition) == []
    at = counts.index[counts["measure"] == "green_cover"][:3]
    counts.loc[at[0], ["excluded", "expected"]] = [2, 36]
    counts.loc[at[1], ["missing", "expected"]] = [1, 36]
    counts.loc[at[2], ["missing", "due"]] = [36, "not yet"]
    days = [pd.Timestamp(day).day for day in counts.loc[at, "date"]]
    said = gaps_words(counts, definition)
    assert len(said) == 2
    assert said[0].startswith(f"Green cover on {days[0]} ")
    assert said[0].endswith(": 2 set aside of 36")
    assert said[1].endswith(": 1 missing of 36")


def test_second_looks_have_a_column_where_there_are_any(
    tables: Tables, definition: Definition
) -> None:
    none = counts_table(tables["counts"].assign(repeats=0), definition)
    assert "second looks" not in none
    again = tables["counts"].assign(repeats=0)
    again.loc[again["measure"] == "colour_rating", "repeats"] = 4
    html = counts_table(again, definition)
    assert {row[-1] for row in rows_of(html)} == {"0", "4"}
    assert "they enter no mean" in html


def test_a_logger_of_a_whole_plot_is_told_once() -> None:
    day, other = pd.Timestamp("2026-03-10"), pd.Timestamp("2026-03-11")
    seen = pd.DataFrame(
        [
            ("soil", day, "a.csv:4", OF_WHOLE_PLOT),
            ("soil", day, "a.csv:4", f"{OF_WHOLE_PLOT}; seen in part"),
            ("soil", day, "b.csv:4", OF_WHOLE_PLOT),
            ("soil", day, "b.csv:4", OF_WHOLE_PLOT),
            ("soil", day, "c.csv:4", ""),
            ("soil", other, "a.csv:9", OF_WHOLE_PLOT),
        ],
        columns=["measure", "date", "source", "flags"],
    )
    counts = pd.DataFrame({"measure": ["soil"], "date": [day]})
    said = shared_words(seen, counts)
    assert "4 of these observations are two values of loggers" in said
    assert shared_words(seen[seen["flags"] == ""], counts) == ""
    assert shared_words(seen, counts.iloc[:0]) == ""
