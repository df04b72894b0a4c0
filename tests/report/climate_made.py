"""Small tables of temperature, light and risk, made by hand, and a definition that asks for them.

The numbers are round in degC, so that what a page shows in either unit follows by hand.
"""

from __future__ import annotations

from pathlib import Path

import pandas as pd
from bs4 import BeautifulSoup
from markupsafe import Markup

from logged_study import changed
from wintersward.analysis.demonstration_tables import tables_of
from wintersward.analysis.results import empty
from wintersward.trial import Definition, read_definition

__all__ = ["COVERS", "LEVELS", "by_hand", "cells", "definition_for", "plots"]

COVERS = ("open", "fleece", "woven")
# One logger in a plot of each treatment, and one more under fleece.
LEVELS = {"1A": "open", "1B": "fleece", "2B": "fleece", "1C": "woven"}
# What is added under each cover [degC].
MORE = {"open": 0.0, "fleece": 1.5, "woven": -0.5}
DAYS = pd.date_range("2026-01-20", "2026-04-17", freq="D")
REACHED = "100 degree days (°F d)"


def cells(table: Markup) -> list[list[str]]:
    """Give the cells of the rows of a table, heads of rows first."""
    soup = BeautifulSoup(str(table), "html.parser")
    body = [row for part in soup.find_all("tbody") for row in part.find_all("tr")]
    return [[cell.get_text() for cell in row.find_all(["th", "td"])] for row in body]


def definition_for(folder: Path, units: str = "us", *changes: tuple[str, str]) -> Definition:
    """Read a definition with loggers."""
    text = changed(*changes).replace("units: us", f"units: {units}")
    (folder / "trial.yaml").write_text(text, encoding="utf-8")
    definition, problems = read_definition(folder)
    if definition is None:
        raise ValueError(problems)
    return definition


def plots() -> pd.DataFrame:
    """Lay three plots beside one another."""
    return pd.DataFrame(
        {
            "plot": ["101", "102", "103"],
            "whole_plot": ["1A", "1B", "1C"],
            "cover": list(COVERS),
            "x_m": [0.0, 4.0, 8.0],
            "y_m": 0.0,
            "width_m": 3.0,
            "length_m": 2.0,
        }
    )


def _days() -> dict[str, pd.DataFrame]:
    """Make a soil that warms by 0.1 degC a day, and hours that follow the clock."""
    warm = pd.Series(range(len(DAYS))) * 0.1
    facts = [
        pd.DataFrame({"date": DAYS, "plot": plot, "mean": warm + MORE[level]})
        for plot, level in LEVELS.items()
    ]
    daily = [
        pd.DataFrame({"date": DAYS, "level": level, "mean": warm + MORE[level], "plots": 1})
        for level in COVERS
    ]
    sums = [
        pd.DataFrame({"date": DAYS, "level": level, "sum": (warm + MORE[level]).cumsum()})
        for level in COVERS
    ]
    by_level = pd.concat(sums, ignore_index=True)
    control = by_level.loc[by_level["level"] == "open"].set_index("date")["sum"]
    more = by_level["sum"] - by_level["date"].map(control)
    by_level = by_level.assign(plots=1, more=more.where(by_level["level"] != "open"))
    hours = [
        pd.DataFrame({"level": level, "hour": range(24), "days": 40}).assign(
            mean=lambda f, up=MORE[level]: f["hour"] * 0.1 + up,
            lower=lambda f: f["mean"] - 1,
            upper=lambda f: f["mean"] + 1,
        )
        for level in COVERS
    ]
    plot_sums = pd.DataFrame({"date": DAYS, "plot": "1A", "sum": warm.cumsum()})
    return {
        "daily_facts": pd.concat(facts).assign(
            measure="soil", position="", completeness=100.0, excluded=""
        ),
        "under_cover": pd.concat(daily).assign(measure="soil", covered=1),
        "diurnal": pd.concat(hours).assign(measure="soil"),
        "degree_days_by_level": by_level,
        "degree_day_sums": plot_sums,
    }


def _means() -> pd.DataFrame:
    rows = [
        (
            "soil",
            level,
            fact,
            40,
            at + MORE[level],
            at,
            MORE[level],
            MORE[level] - 1,
            MORE[level] + 1,
        )
        for level in COVERS[1:]
        for fact, at in (("minimum", -1.0), ("mean", 0.0), ("maximum", 1.0))
    ]
    made = pd.DataFrame(rows, columns=list(empty("under_cover_means").columns)[:9])
    return made.assign(blocks=6, least=made["more"] - 0.5, most=made["more"] + 0.5)


def _risks() -> dict[str, pd.DataFrame]:
    counted = {"1A": 5.0, "1B": 12.0, "2B": 20.0, "1C": 7.5}
    rows = [
        ("pink_snow_mould", "canopy", plot, "", LEVELS[plot], covered, hours, "h", 2, 40, 960.0)
        for plot, total in counted.items()
        for covered, hours in (("yes", total - 2), ("no", 2.0))
        if LEVELS[plot] != "open" or covered == "no"
    ]
    told = "Counted: hours with the canopy from 35.6 °F to 55.4 °F; a count is not a diagnosis."
    names = list(empty("risks").columns)
    each = pd.DataFrame(rows, columns=names[:-2]).assign(limit=told, source="an invented source")
    each.loc[each["level"] == "open", "counted"] = 5.0
    by_level = [
        ("pink_snow_mould", "canopy", "open", 1, 63.0, 5.0, 5.0, 5.0, 0.0, 2.0, "h"),
        ("pink_snow_mould", "canopy", "fleece", 2, 63.0, 16.0, 12.0, 20.0, 14.0, 4.0, "h"),
        ("pink_snow_mould", "canopy", "woven", 1, 63.0, 7.5, 7.5, 7.5, 5.5, 4.0, "h"),
    ]
    columns = list(empty("risks_by_level").columns)
    return {"risks": each, "risks_by_level": pd.DataFrame(by_level, columns=columns)}


def _gained() -> pd.DataFrame:
    none = float("nan")
    rows = [
        (REACHED, "fleece", "open", 3.25, 1.0, 5.5, 1.0, 10.0, 0.01, "whole plot", ""),
        (REACHED, "woven", "open", -2.0, none, none, none, none, none, "whole plot",
         "one logger a treatment: described"),
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=list(empty("thermometer_gained").columns))


def _light() -> pd.DataFrame:
    rows = []
    for month, days in (("2026-02-01", 28), ("2026-03-01", 31)):
        for plot, sun, light, turf in (("101", 8.0, 18.0, 18.0), ("102", 9.0, 19.0, 15.2)):
            covered = days if plot == "102" else 0
            rows.append((plot, month, days, sun, 10.0, 20.0, light, turf, covered))
        rows.append(("103", month, days, 10.0, 10.0, 20.0, 20.0, 12.0, days))
    columns = [n for n in empty("sun_hours").columns if n not in ("lost", "factor", "light_from")]
    made = pd.DataFrame(rows, columns=columns)
    lost = 100 * (1 - made["light"] / made["open_light"])
    return made.assign(lost=lost, factor="0.5 x 4.6", light_from="clear sky")


def _removal() -> pd.DataFrame:
    days = pd.date_range("2026-03-06", "2026-03-09", freq="D")
    made = pd.DataFrame(
        {"source": "record", "date": days, "value": [4.0, 5.5, 6.0, 6.5], "in_a_row": [0, 1, 2, 3]}
    ).assign(threshold=5.0, days_needed=3, came_off="2026-03-09")
    made["fired"], made["why"] = ["", "", "", "yes"], ["", "", "", "held"]
    return made


def _read() -> dict[str, pd.DataFrame]:
    sums = pd.DataFrame(
        [
            {"file": "loggers/a.csv", "column": "Soil", "used": 1000, "declared_missing": 4},
            {"file": "loggers/a.csv", "column": "Canopy", "used": 1002, "spike": 2},
        ]
    )
    flag = {"kind": "gap", "file": "loggers/a.csv", "measure": "soil", "plot": "1A"}
    flag |= {"from": "2026-02-01T09:00-05:00", "to": "2026-02-03T09:00-05:00"}
    return {"logger_sums": sums, "logger_flags": pd.DataFrame([flag])}


def by_hand(definition: Definition) -> dict[str, pd.DataFrame]:
    """Make the tables, with every column that a run of the trial has, and no other."""
    photos = {"measure": "soil", "value": [4.0, 5.0], "degree_days": [100.0, 120.0]}
    growth = pd.DataFrame({"date": ["2026-03-10"] * 2, "plot": ["101", "102"], **photos})
    by_level = pd.DataFrame({"date": growth["date"], "level": ["open", "fleece"], **photos})
    arrived = pd.DataFrame(
        {"criterion": REACHED, "plot": ["1A", "1B"], "start": "2026-01-19", "day": [60.5, 57.5]}
    ).assign(level=["open", "fleece"], reached=["2026-03-20", None], last="2026-04-17")
    arrived["state"] = ["reached", "after"]
    made = {**_days(), "under_cover_means": _means(), **_risks(), "thermometer_gained": _gained()}
    made |= {"sun_hours": _light(), "removal": _removal(), "growth": growth, **_read()}
    made["growth_by_level"] = by_level.assign(plots=6)
    made["thermometer"] = arrived
    held = tables_of(definition)
    return {name: _typed(name, one, definition) for name, one in made.items() if name in held}


def _typed(name: str, frame: pd.DataFrame, definition: Definition) -> pd.DataFrame:
    """Give the columns of a run their types; what was not made is zero or empty."""
    types = empty(name).dtypes
    columns = [column.name for column in tables_of(definition)[name].columns]
    filled = {}
    for column in columns:
        kind = types[column]
        blank = "" if kind == "str" or kind == "object" else 0 if kind.kind in "iuf" else pd.NaT
        values = frame[column] if column in frame else pd.Series(blank, frame.index)
        if kind.kind in "iu" or kind == "Int64":
            values = values.fillna(0)
        filled[column] = values.astype(kind)
    return pd.DataFrame(filled).reset_index(drop=True)
