"""What a next trial should look at longer, oftener or as well, from the visits of this one."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from decisions.budgeted import trial_with
from wintersward.analysis.arrivals import AFTER, NOT_KNOWN
from wintersward.analysis.results import empty
from wintersward.decisions.next_visits import next_visits
from wintersward.decisions.timing import COMPARED, DESCRIBED
from wintersward.study import Trial

CLOSING = "  hole_closure: {from: sheet, kind: hole_closure, dates: [2026-04-17]}\n"


@pytest.fixture
def trial(tmp_path: Path) -> Trial:
    return trial_with(tmp_path, None, ("\nanalysis:\n", f"\n{CLOSING}analysis:\n"))


def advised(trial: Trial, tables: dict[str, pd.DataFrame]) -> dict[str, dict[str, Any]]:
    rows = list(next_visits(trial, tables))
    assert len({row["advice"] for row in rows}) == len(rows)
    return {row["advice"]: row for row in rows}


def test_loggers_that_came_in_too_early(trial: Trial) -> None:
    rows = [
        {"criterion": name, "plot": plot, "start": pd.Timestamp("2026-01-19"), "day": day,
         "reached": pd.NaT, "state": state}
        for name, plot, day, state in (
            ("45", "1A", 70.0, "reached"), ("45", "1B", 88.0, AFTER),
            ("45", "1C", 70.0, "reached"), ("45", "1D", 70.0, "reached"),
            ("50", "1A", 88.0, AFTER), ("50", "1B", 80.0, "reached"),
            ("50", "1C", float("nan"), NOT_KNOWN), ("50", "1D", 80.0, "reached"),
            ("55", "1A", float("nan"), NOT_KNOWN), ("55", "1B", float("nan"), NOT_KNOWN),
            ("55", "1C", float("nan"), NOT_KNOWN), ("55", "1D", 80.0, "reached"),
        )
    ]  # fmt: skip
    row = advised(trial, {"thermometer": pd.DataFrame(rows)})["loggers longer"]
    # A plot of which it is not known counts as well; of 55 nothing shows that time was short.
    assert (row["value"], row["now"], row["date"]) == (2, 4, pd.Timestamp("2026-04-17"))
    assert row["text"].endswith(": 50")


def test_a_last_visit_that_came_too_early(trial: Trial) -> None:
    named = {"measure": "green_cover", "level": 75.0}
    arrivals = pd.DataFrame([{**named, "censored": ""}, {**named, "censored": AFTER}])
    days = pd.to_datetime(["2026-04-04", "2026-04-17"])
    means = pd.DataFrame({"measure": "green_cover", "date": days, "value": 70.0})
    tables = {"arrivals": arrivals, "plot_means": means}
    row = advised(trial, tables)["a later visit"]
    assert (row["measure"], row["value"], row["now"]) == ("green_cover", 1, 2)
    assert row["date"] == pd.Timestamp("2026-04-17")
    arrivals["censored"] = ""
    assert "a later visit" not in advised(trial, tables)


def closed(*plots: list[float], days: tuple[int, ...]) -> pd.DataFrame:
    return pd.DataFrame(
        [
            {"measure": "hole_closure", "plot": str(n), "days": day, "value": value}
            for n, values in enumerate(plots)
            for day, value in zip(days, values, strict=True)
        ]
    )


def test_holes_that_closed_between_visits_far_apart(trial: Trial) -> None:
    seen = closed([40, 80, 97, 100], [30, 60, 90, 96], [96, 99, 100, 100], days=(10, 16, 23, 26))
    row = advised(trial, {"closure": seen})["closer visits"]
    # One closed between days 16 and 23, one between 23 and 26; of one nothing before is known.
    assert (row["measure"], row["value"], row["now"]) == ("hole_closure", 7, 1)
    near = closed([40, 80, 97, 100], days=(10, 13, 16, 19))
    assert "closer visits" not in advised(trial, {"closure": near})
    assert "closer visits" not in advised(trial, {"closure": pd.DataFrame()})


def test_the_day_of_removal_unless_it_was_a_treatment(trial: Trial) -> None:
    for kinds, told in (([DESCRIBED], True), ([COMPARED, DESCRIBED], False), ([], False)):
        timing = empty("cover_timing").reindex(range(len(kinds))).assign(kind=kinds)
        assert ("removal day" in advised(trial, {"cover_timing": timing})) is told


def test_what_was_not_measured(trial: Trial) -> None:
    found = advised(trial, {})
    assert found["more measures"]["text"] == (
        "surface hardness, shear strength, soil moisture, disease cover"
    )
    stated = [one.light for one in trial.factors["cover"].levels.values() if one.light is not None]
    assert found.get("light under covers", {"value": 0})["value"] == len(stated)
