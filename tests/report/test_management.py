"""Care, mishaps and what befell the covers, as a reader meets them."""

from __future__ import annotations

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.management import (
    care_words,
    cover_events_table,
    management_table,
    mishaps_table,
)

CARE = pd.DataFrame(
    [
        ("2026-03-20", "mowing", "all plots", "1 in", ""),
        ("2026-03-27", "mowing", "all plots", "1 in", ""),
        ("2026-03-30", "nitrogen", "101, 1B", "0.5 lb per 1000 ft2", "by hand <1 h>"),
    ],
    columns=["date", "what", "plots", "amount", "note"],
)
EVENTS = pd.DataFrame(
    [("2026-02-05", "blown off", "1B", "gusts"), ("2026-02-10", "snow", "all plots", "")],
    columns=["date", "what", "plots", "note"],
)


def rows_of(html: str) -> list[list[str]]:
    soup = BeautifulSoup(html, "html.parser")
    return [[c.get_text() for c in line.find_all(["th", "td"])] for line in soup.select("tbody tr")]


def test_care_has_a_row_an_entry() -> None:
    assert rows_of(management_table(CARE))[2] == [
        "30 March 2026",
        "nitrogen",
        "101, 1B",
        "0.5 lb per 1000 ft2",
        "by hand <1 h>",
    ]
    assert "<1 h>" not in management_table(CARE)


def test_care_that_only_some_plots_got_is_pointed_out() -> None:
    assert care_words(CARE) == (
        "The diary tells of mowing (two entries) and nitrogen (one entry). Not all plots got the "
        "same: see the rows for nitrogen. A difference between plots may come from that, and not "
        "from the treatments."
    )
    assert care_words(CARE[:2]) == (
        "The diary tells of mowing (two entries). All of it went to all plots alike."
    )


def test_events_say_what_a_lost_cover_means() -> None:
    assert rows_of(cover_events_table(EVENTS))[0] == ["5 February 2026", "blown off", "1B", "gusts"]
    assert "count as open" in cover_events_table(EVENTS)
    assert "count as open" not in cover_events_table(EVENTS[1:])
    torn = EVENTS.assign(what=["torn", "snow cleared"])
    assert "torn or partly open count as covered" in cover_events_table(torn)
    assert "count as covered" not in cover_events_table(EVENTS)


def test_mishaps_tell_their_effect() -> None:
    mishaps = pd.DataFrame(
        [("2026-02-20", "101", "a pickup", "wheel marks")],
        columns=["date", "plots", "what", "effect"],
    )
    assert rows_of(mishaps_table(mishaps)) == [
        ["20 February 2026", "101", "a pickup", "wheel marks"]
    ]


def test_without_entries_there_is_nothing_to_show() -> None:
    assert management_table(CARE[:0]) == cover_events_table(EVENTS[:0]) == ""
    assert mishaps_table(CARE[:0]) == ""
    assert care_words(CARE[:0]) == ""
