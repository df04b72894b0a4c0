"""The card of the crew: what to do on each day of work, the cautions, map and lists overleaf."""

from __future__ import annotations

import base64
import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING

from wintersward.design import map_alt
from wintersward.design.lengths import length
from wintersward.papers.crew_lists import unit_names
from wintersward.papers.looks import walks
from wintersward.papers.pages import paper_named, printable
from wintersward.report.cautions import UNSOURCED, Caution, cautions
from wintersward.report.numbers import counted, day_text, days_listed
from wintersward.report.views import carried_by, factor_label, measure_view, quantity, unit_kind
from wintersward.trial import Definition
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Level, SheetMeasure

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Given", "Overleaf", "Work", "card_cautions", "crew_card"]

# Columns of the lists overleaf, height of a row and of a heading there, what else the page has
# beside the map, and the least height that a map is still read at [mm].
_ABREAST, _ROW_MM, _HEAD_MM, _ELSE_MM, _LEAST_MM = 4, 3.7, 9.0, 48.0, 100.0
# How the cautions begin that speak of the report and not of work on the ground.
_OF_THE_REPORT = ("Passing a limit", "Whether a field is opened")


@dataclass(frozen=True)
class Given:
    """One treatment, as the crew puts it on the ground.

    Parameters
    ----------
    label : str
        As the definition calls it.
    details : str
        Mass, light, tine: what tells it from the others; may be empty.
    on : str
        On how many units it goes: ``six whole plots``.
    control : bool
        Whether it is what the others are compared with.
    """

    label: str
    details: str
    on: str
    control: bool


@dataclass(frozen=True)
class Work:
    """A later day of work on the plots.

    Parameters
    ----------
    day : str
        When, for a reader.
    title : str
        What is done.
    tines : bool
        Whether turf is aerated.
    given : list of Given
        The treatments that are put on; empty where every plot gets the same.
    """

    day: str
    title: str
    tines: bool
    given: list[Given]


@dataclass(frozen=True)
class Overleaf:
    """A page for the back of the card: the map of a ground, and what goes on which piece of it.

    Parameters
    ----------
    ground : str
        Name of the ground; empty for the only one.
    data : str
        The map for an address that begins with ``data:``; empty for none.
    alt : str
        The map in words.
    high_mm : float
        How high the map may be, so that the lists have room beside it [mm].
    lists : list of (str, list of (str, str))
        For each factor a heading, and in walking order each piece of turf with its treatment.
    """

    ground: str
    data: str
    alt: str
    high_mm: float
    lists: list[tuple[str, list[tuple[str, str]]]]


def card_cautions(definition: Definition) -> list[Caution]:
    """Choose the report's cautions that concern work on the ground.

    Returns
    -------
    list of Caution
        All but those that speak of the report itself, in its words and with its sources.
    """
    found = cautions(definition.units)
    return [caution for caution in found if not caution.text.startswith(_OF_THE_REPORT)]


def crew_card(
    definition: Definition,
    plots: pd.DataFrame,
    paper: str,
    map_svg: Mapping[str, str] | None = None,
    study: Path | None = None,
) -> str:
    """Make the card that the crew carries: one page, and one for its back for each ground.

    Parameters
    ----------
    definition : Definition
        The trial.
    plots : DataFrame
        ``plan/plots.csv``.
    paper : {'letter', 'a4'}
        What it is printed on.
    map_svg : mapping of str to str, optional
        From the short name of each ground, empty for the only one, to its map with treatments,
        as SVG; without it the lists stand alone.
    study : Path, optional
        Study folder whose own copies of the templates go first.

    Returns
    -------
    str
        HTML. It names treatments, and says that raters are not to see it.

    Raises
    ------
    WinterswardError
        For a paper that is not known.
    """
    on, off = (dates_meant(definition.dates, word)[0] for word in ("covers_on", "covers_off"))
    first = [name for name, f in definition.treatments.items() if f.applied is None]
    content = {
        "covers_on": _day_of_week(on),
        "covers_off": _day_of_week(off),
        "first": [given for name in first for given in _given(definition, plots, name)],
        "later": _later(definition, plots),
        "visits": _visits(definition),
        "baseline": _baseline(definition, on),
        "edge": length(definition.layout.edge_left_out, definition.units)
        if definition.layout.edge_left_out
        else "",
        "second": any(
            isinstance(measure, SheetMeasure) and measure.repeat_share > 0
            for measure in definition.measures.values()
        ),
        "whole": next((kind for name in first if (kind := carried_by(definition, name))), "plot"),
        "cautions": card_cautions(definition),
        "unsourced": UNSOURCED,
        "backs": _backs(definition, plots, paper_named(paper).height_mm, map_svg or {}),
    }
    return printable("crew_card", definition, paper, study, **content)


def _backs(
    definition: Definition, plots: pd.DataFrame, height_mm: float, maps: Mapping[str, str]
) -> list[Overleaf]:
    """Make the page of each ground."""
    made = []
    names = definition.layout.grounds or {}
    for walk in walks(plots):
        ground = str(walk["ground"].iloc[0]) if "ground" in walk else ""
        lists = [_listed(definition, walk, name) for name in definition.treatments]
        taken = sum(_HEAD_MM + _ROW_MM * ceil(len(rows) / _ABREAST) for _, rows in lists)
        drawing = maps.get(ground, "")
        made.append(
            Overleaf(
                names.get(ground, ground),
                base64.b64encode(drawing.encode("utf-8")).decode("ascii"),
                map_alt(plots, definition, True, ground) if drawing else "",
                round(max(height_mm - _ELSE_MM - taken, _LEAST_MM), 1),
                lists,
            )
        )
    return made


def _listed(
    definition: Definition, walk: pd.DataFrame, name: str
) -> tuple[str, list[tuple[str, str]]]:
    """List each piece of turf that gets a treatment of a factor, as it is walked to."""
    factor = definition.treatments[name]
    unit = carried_by(definition, name) or unit_kind(definition, name)
    given = dict(zip(unit_names(definition, name, walk), walk[name].astype(str), strict=True))
    rows = [(where, factor.levels[level].label) for where, level in given.items()]
    return f"{factor_label(definition, name)} by {unit}, in walking order", rows


def _day_of_week(day: dt.date) -> str:
    """Write a day with its weekday: a crew plans by weekdays."""
    # Not strftime: its words follow the computer's language.
    names = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
    return f"{names[day.weekday()]} {day_text(day)}"


def _given(definition: Definition, plots: pd.DataFrame, name: str) -> list[Given]:
    """List the treatments of a factor, with the number of units that each goes on."""
    factor = definition.treatments[name]
    kind = carried_by(definition, name)
    by = {
        "whole plot": ["whole_plot"],
        "row strip": ["block", "row"],
        "column strip": ["block", "column"],
    }.get(kind, ["plot"])
    unit = kind or unit_kind(definition, name)
    made = []
    for level, held in factor.levels.items():
        count = len(plots.loc[plots[name] == level, by].drop_duplicates())
        details = _details(held, definition.units)
        made.append(Given(held.label, details, counted(count, unit), level == factor.control))
    return made


def _details(level: Level, system: str) -> str:
    said = [level.description] if level.description else []
    if level.mass is not None:
        said.append(quantity(level.mass, "areal mass", system))
    if level.light is not None:
        said.append(f"lets {level.light:g} % of the light through")
    if level.tine is not None:
        tine = level.tine
        outside, deep = (quantity(x, "depth", system) for x in (tine.outside, tine.depth))
        apart = " by ".join(quantity(x, "depth", system) for x in tine.spacing)
        said.append(f"{tine.kind}, {outside} outside, {apart} apart, {deep} deep")
    return ", ".join(said)


def _later(definition: Definition, plots: pd.DataFrame) -> list[Work]:
    """List the days of work after the covers: factors applied later, and aeration of all plots."""
    found = []
    for name, factor in definition.treatments.items():
        if factor.applied is not None:
            day = dates_meant(definition.dates, factor.applied)[0]
            tines = any(level.tine for level in factor.levels.values())
            title = factor_label(definition, name)
            found.append((day, title, tines, _given(definition, plots, name)))
    alike = definition.dates.get("aeration")
    if isinstance(alike, dt.date) and alike not in {day for day, *_ in found}:
        found.append((alike, "Aeration", True, []))
    found.sort(key=lambda one: one[0])
    return [Work(_day_of_week(day), title, tines, given) for day, title, tines, given in found]


def _visits(definition: Definition) -> list[tuple[str, str]]:
    """Say of each measure on which days it is observed; those with the same days together."""
    days: dict[tuple[dt.date, ...], list[str]] = {}
    for name, measure in definition.measures.items():
        noun = measure_view(definition, name).noun
        if isinstance(measure, SheetMeasure) and measure.destructive:
            noun += " (last of all, since it harms the turf)"
        days.setdefault(tuple(dates_meant(definition.dates, measure.dates)), []).append(noun)
    said = ((", ".join(nouns), days_listed(list(on))) for on, nouns in days.items())
    return [(nouns[0].upper() + nouns[1:], on) for nouns, on in said]


def _baseline(definition: Definition, on: dt.date) -> str:
    """Name the last day before the covers on which anything is observed; empty for none."""
    before = [
        day
        for measure in definition.measures.values()
        for day in dates_meant(definition.dates, measure.dates)
        if day <= on
    ]
    return day_text(max(before)) if before else ""
