"""What the diary declares missing: plots in several ways, one measure or all of a day."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from trial.test_diary_checks import SHOWN, Tell, tell
from wintersward.trial.schema import Lost

__all__ = ["tell"]

DAY = dt.date(2026, 3, 24)
ENTRY = "  - {date: 2026-03-24, reason: snow"


def lost(**fields: Any) -> Lost:
    return Lost.model_validate({"date": DAY, "reason": "snow", **fields})


@pytest.mark.parametrize(
    ("fields", "meant"),
    [
        ({"plot": 101}, True),
        ({"plot": "1A", "measure": "pull_force"}, True),
        ({"plots": "all plots"}, True),
        ({"plots": [103, 101]}, True),
        ({"plots": ["1B", "1A"], "measure": "pull_force"}, True),
        ({"plots": "all plots", "sample": 2}, True),
        ({"plots": "all plots", "rater": "te"}, True),
        ({"plots": "all plots", "measure": "colour_rating"}, False),
        ({"plots": "all plots", "date": "2026-04-17"}, False),
        ({"plots": ["1B", 102]}, False),
        ({"plot": "1B"}, False),
        ({"plots": "all plots", "sample": 1}, False),
        ({"plots": "all plots", "rater": "rx"}, False),
    ],
)
def test_an_entry_means_what_it_names(fields: dict[str, Any], meant: bool) -> None:
    assert lost(**fields).means("pull_force", DAY, ("101", "1A"), 2, "te") is meant


def test_all_samples_together_are_meant_by_whole_plots_alone() -> None:
    assert lost(plot="101").means("pull_force", DAY, ("101", "1A"))
    assert not lost(plot="101", sample=1).means("pull_force", DAY, ("101", "1A"))


def test_of_a_measure_without_raters_any_named_rater_is_meant() -> None:
    assert lost(plot="101", rater="te").means("pull_force", DAY, ("101", "1A"), 1)


def test_a_lost_visit_is_one_entry(tell: Tell) -> None:
    parts, said = tell(f"missing:\n{ENTRY}, plots: all plots}}\n")
    assert said == []
    (entry,) = parts["missing"]
    assert (entry.measure, entry.named) == (None, ())


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        (
            ", plot: all plots",
            "diary.yaml:2:44: missing.1.plot: found 'all plots'; allowed: the name of one plot, "
            "such as 101; for several write 'plots: [101, 102]', or 'plots: all plots'",
        ),
        (
            ", plot: [101, 102]",
            "diary.yaml:2:44: missing.1.plot: found a list; allowed: the name of one plot, such as "
            "101; for several write 'plots: [101, 102]', or 'plots: all plots'",
        ),
        (
            ", plots: every",
            "diary.yaml:2:45: missing.1.plots: found 'every'; allowed: all plots, or a list of "
            "plots such as [101, 102]",
        ),
        (
            "",
            "diary.yaml:2:5: missing.1: found no plot; allowed: 'plot' with the name of a plot, or "
            "'plots' with a list or 'all plots'; add 'plot: ...'",
        ),
        (
            ", plot: 101, plots: [102]",
            "diary.yaml:2:56: missing.1.plots: found plots beside a plot; allowed: one of the two; "
            "remove one",
        ),
        (
            ", plots: [101, 7Z]",
            f"diary.yaml:2:51: missing.1.plots.2: found '7Z'; allowed: {SHOWN}",
        ),
        (
            ", plots: [101, 101]",
            "diary.yaml:2:51: missing.1.plots.2: found '101' a second time; name each plot once",
        ),
    ],
)
def test_plots_that_do_not_fit_are_told(tell: Tell, more: str, expected: str) -> None:
    assert tell(f"missing:\n{ENTRY}{more}}}\n")[1] == [expected]


def test_a_day_on_which_nothing_was_due_is_told(tell: Tell) -> None:
    (said,) = tell("missing:\n  - {date: 2026-03-25, plots: all plots, reason: snow}\n")[1]
    assert said.startswith("diary.yaml:2:12: missing.1.date: found '2026-03-25'; allowed: a date")
