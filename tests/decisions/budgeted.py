"""Studies with costs in their diary, and the tables of a run that a budget reads."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pandas as pd

from analysis.planned import planned
from wintersward.analysis.results import empty
from wintersward.study import Trial
from wintersward.trial import Diary
from wintersward.trial.diary_costs import Costs

DAYS = (
    "  alpha: 0.05\n",
    "  alpha: 0.05\n  days_gained: {measure: green_cover, level: 75 %}\n",
)


def trial_with(
    folder: Path, costs: dict[str, Any] | None, *changes: tuple[str, str], ready: bool = True
) -> Trial:
    """Make the sound trial with costs; whether its primary question has data is told."""
    diary = Diary(costs=Costs(**costs) if costs is not None else None)
    trial = Trial(folder, planned(folder, *changes), diary, pd.DataFrame())
    trial.__dict__["outstanding"] = [] if ready else ["101"]
    return trial


def costs_of(*items: dict[str, Any], area: str = "1000 ft2", **more: Any) -> dict[str, Any]:
    """Write costs on an area."""
    return {"currency": "USD", "area": area, "items": list(items), **more}


def item(what: str, part: str, amount: Any, **more: Any) -> dict[str, Any]:
    """Write one entry, of fleece where nothing else is said."""
    told = {"what": what, "treatment": "fleece", "kind": "other", "part": part, "amount": amount}
    return {**told, **more}


def found(
    days: tuple[float, float, float, str] | None = None,
    cover: tuple[float, float, float] | None = None,
    pair: tuple[str, str] = ("fleece", "open"),
) -> dict[str, pd.DataFrame]:
    """Make the two tables that a budget reads: estimate, standard error, degrees of freedom."""
    tables = {name: empty(name) for name in ("days_gained", "differences")}
    if days is not None:
        row: dict[str, Any] = dict.fromkeys(tables["days_gained"].columns)
        row |= dict(zip(("days", "se", "df", "says"), days, strict=True))
        row |= {"measure": "green_cover", "left": pair[0], "right": pair[1]}
        tables["days_gained"] = pd.DataFrame([row])
    if cover is not None:
        row = dict.fromkeys(tables["differences"].columns)
        row |= dict(zip(("difference", "se", "df"), cover, strict=True))
        row |= {"measure": "green_cover", "date": pd.Timestamp("2026-03-24"), "effect": "cover"}
        row |= {"left": pair[0], "right": pair[1], "within": "", "role": "primary"}
        tables["differences"] = pd.DataFrame([row])
    return tables
