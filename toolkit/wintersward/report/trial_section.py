"""What the sections on the trial and its layout are filled with."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from wintersward.report import accounts, methods
from wintersward.report.covers import covers_table
from wintersward.report.limits import dated_words
from wintersward.report.numbers import day_text
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import factor_label, level_label, quantity
from wintersward.report.words import question_text
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import SheetMeasure

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["days_of", "layout_context", "trial_context"]

Context = dict[str, Any]


def days_of(days: dt.date | list[dt.date]) -> list[dt.date]:
    """Give the days of an entry of the definition's dates."""
    return [days] if isinstance(days, dt.date) else days


def trial_context(page: Page) -> Context:
    """Tell the question, the site, the treatments and the dates."""
    definition, system = page.definition, page.definition.units
    treatments = []
    for name, factor in definition.treatments.items():
        for level, held in factor.levels.items():
            label = held.label + (", control" if level == factor.control else "")
            what = methods.material_words(held, system) or "–"
            treatments.append((factor_label(definition, name), label, what))
    height = definition.site.turf.mowing_height
    return {
        "question": question_text(definition),
        "treatments": accounts.treatments_table(treatments),
        "people": [
            f"{one.name}, {one.role}" + (f" ({one.initials})" if one.initials else "")
            for one in definition.people
        ],
        "begins": [
            (factor_label(definition, name), day_text(_one(page, factor.applied)))
            for name, factor in definition.treatments.items()
            if factor.applied is not None
        ],
        "dates": _dates_table(page),
        "covered": [(day_text(on), day_text(off)) for on, off in page.covered],
        "covers": covers_table(page.covers),
        "position": _position(page),
        "established": dated_words(definition.site.turf.established or ""),
        "mowing": "" if height is None else quantity(height, "depth", system),
    }


def _position(page: Page) -> str:
    site = page.definition.site
    if site.latitude is None or site.longitude is None:
        return ""
    north = "N" if site.latitude >= 0 else "S"
    east = "E" if site.longitude >= 0 else "W"
    return f"{abs(site.latitude):g}° {north}, {abs(site.longitude):g}° {east}"


def _one(page: Page, word: dt.date | str | None) -> dt.date:
    return dates_meant(page.definition.dates, word or "covers_on")[0]


def _dates_table(page: Page) -> Markup:
    entries = sorted(
        (day, _each(name, days))
        for name, days in page.definition.dates.items()
        for day in days_of(days)
    )
    primary = _one(page, page.definition.analysis.primary.on)
    rows = []
    for day, name in entries:
        label = name + (", primary date" if day == primary else "")
        rows.append(Row((day_text(day),), (label,), strong=day == primary))
    return html_table("Dates of the trial, as planned", [Head("Date"), Head("What")], rows)


def _each(name: str, days: dt.date | list[dt.date]) -> str:
    """Name one day of an entry: of several visits each is a visit."""
    said = name.replace("_", " ")
    several = isinstance(days, list) and said.endswith("s") and not said.endswith("ss")
    return said[:-1] if several else said


def layout_context(page: Page) -> Context:
    """Tell the layout, its map and what was drawn for every plot."""
    table = Markup("") if page.plots is None else _plots_table(page, page.plots)
    return {
        "layout": methods.layout_words(page.definition),
        "drawn": methods.draw_words(page.definition),
        "map": page.figure("plot_map", "map"),
        "ratings_ahead": _ratings_ahead(page),
        "plots": table,
    }


def _ratings_ahead(page: Page) -> bool:
    """Tell whether anyone still rates plots, who should not know what lies where."""
    definition, seen = page.definition, page.table("observations")
    last = dt.date.min if seen.empty else pd.Timestamp(str(seen["date"].max())).date()
    rated = (one for one in definition.measures.values() if isinstance(one, SheetMeasure))
    return any(
        day > last
        for measure in rated
        if measure.raters
        for day in dates_meant(definition.dates, measure.dates)
    )


def _plots_table(page: Page, plots: pd.DataFrame) -> Markup:
    factors = list(page.definition.treatments)
    split = page.definition.layout.whole_plot is not None
    # Where there are no blocks, rows hold the plots together.
    side = "block" if page.definition.layout.blocks else "row"
    heads = [Head(side.capitalize()), Head("Plot"), *([Head("Whole plot")] if split else [])]
    heads += [Head(factor_label(page.definition, name)) for name in factors]
    rows = []
    for _, plot in plots.iterrows():
        cells = [str(plot["whole_plot"])] if split else []
        cells += [level_label(page.definition, str(plot[name])) for name in factors]
        rows.append(Row((str(plot[side]), str(plot["plot"])), tuple(cells)))
    return html_table("What was drawn for every plot", heads, rows)
