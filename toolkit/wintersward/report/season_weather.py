"""The weather of the season in a reader's words and units, beside what is normal."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from wintersward.records.weather_months import QUANTITIES
from wintersward.report.bounds import bounded
from wintersward.report.management import (
    care_words,
    cover_events_table,
    management_table,
    mishaps_table,
)
from wintersward.report.numbers import day_text, listed_words, text
from wintersward.report.said import Said, Sentence, number, row_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.units import from_si

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["gap_words", "month_words", "season_context", "source_words", "weather_table"]

_NAME = "weather_months"
_DEGREES = {"us": ("degF", "°F"), "metric": ("degC", "°C")}
# What a gauge tells of a winter, measured and normal: snow counts as the water it melts to.
_WATER = "rain and melted snow"
# It is shown to a hundredth of an inch or to a millimetre.
_RAIN = {"us": ("in", 2), "metric": ("mm", 0)}
_FREEZING = {"us": "32 °F", "metric": "0 °C"}


def season_context(page: Page) -> dict[str, Any]:
    """Gather what the section about the season is filled with.

    Parameters
    ----------
    page : Page
        Its tables of the diary and of the weather.

    Returns
    -------
    dict
        Tables and sentences; each empty where there is nothing to tell.
    """
    months, system = page.table("weather_months"), page.definition.units
    management = page.table("management")
    return {
        "weather": weather_table(months, system),
        "months": month_words(months, system),
        "source": source_words(months),
        "gaps": gap_words(page.table("weather_gaps")),
        "events": cover_events_table(page.table("cover_events")),
        "care": care_words(management),
        "management": management_table(management),
        "mishaps": mishaps_table(page.table("mishaps")),
    }


def weather_table(months: pd.DataFrame, system: str) -> Markup:
    """Show every month of the trial: what was measured, what is normal, and the difference.

    Parameters
    ----------
    months : DataFrame
        The table ``weather_months`` of a run, in degC, mm and days.
    system : {'us', 'metric'}
        Units of the reader.

    Returns
    -------
    Markup
        Empty where no weather was given.
    """
    if months.empty:
        return Markup("")
    heads = [Head("Month"), Head("What"), Head("measured", "", True), Head("normal", "", True)]
    heads += [Head("difference", "", True), Head("days measured", "", True), Head("Remark")]
    rows, told = [], dict[object, str]()
    for at in _in_order(months):
        row = row_at(months, at)
        remark = _remark(row)
        cells: list[Cell] = [_shown(months, at, name, system) for name in ("value", "normal")]
        cells.append(_shown(months, at, "departure", system))
        cells.append(f"{int(row['days'])} of {int(row['of_days'])}")
        # What holds for the row above in the same month need not be read again.
        cells.append("as above" if remark and told.get(row["month"]) == remark else remark)
        told[row["month"]] = remark or told.get(row["month"], "")
        rows.append(Row((_month(row), _label(str(row["what"]), system)), tuple(cells)))
    note = (
        "Whole calendar months, because normals are of whole months. A mean is held against its "
        "normal unless eleven days or more are missing, or five or more in a row; a sum only "
        "where no day is missing."
    )
    return html_table("Weather of the season, month by month", heads, rows, note)


def _in_order(months: pd.DataFrame) -> list[int]:
    """Order rows by month, and what is told of it from temperatures to rain."""
    told = list(QUANTITIES)
    order = months.assign(_told=[told.index(str(what)) for what in months["what"]])
    return [int(at) for at in order.sort_values(["month", "_told"], kind="stable").index]


def _month(row: pd.Series) -> str:
    return day_text(row["month"]).partition(" ")[2]


def _label(what: str, system: str) -> str:
    return {
        "low": f"mean low [{_DEGREES[system][1]}]",
        "high": f"mean high [{_DEGREES[system][1]}]",
        "rain": f"{_WATER} [{_RAIN[system][0]}]",
        "days_below_zero": f"days below {_FREEZING[system]}",
    }[what]


def _remark(row: pd.Series) -> str:
    why_not = str(row["why_not"])
    return f"not compared: {why_not}" if why_not else ""


def _shown(months: pd.DataFrame, at: int, column: str, system: str) -> Said | str:
    """Show one number of a month in the reader's unit; a dash where there is none."""
    row = row_at(months, at)
    value = float(row[column])
    if not math.isfinite(value):
        return "–"
    return number(_NAME, months, at, column, _written(value, row, column, system))


def _written(value: float, row: pd.Series, column: str, system: str) -> str:
    departed, what = column == "departure", str(row["what"])
    if what in ("low", "high"):
        return text(from_si(value, _DEGREES[system][0], difference=departed), 1, departed)
    if what == "rain":
        unit, decimals = _RAIN[system]
        return text(from_si(value / 1000, unit), decimals, departed)
    decimals = 0 if value == round(value) else 1
    return text(value, decimals, departed)


def month_words(months: pd.DataFrame, system: str) -> list[Sentence]:
    """Say of every month how it was, and how it differed from what is normal.

    Parameters
    ----------
    months : DataFrame
        The table ``weather_months`` of a run.
    system : {'us', 'metric'}
        Units of the reader.

    Returns
    -------
    list of Sentence
        One a month that was measured.
    """
    said = []
    for _, rows in months.groupby("month", sort=True):
        known = [at for at in _in_order(rows) if math.isfinite(float(row_at(months, at)["value"]))]
        spans = {at: _span(row_at(months, at)) for at in known}
        alike = len(set(spans.values())) == 1
        clauses, parts = [], dict[str, object]()
        for at in known:
            # What was measured on other days than the rest says on which.
            where = "" if alike or not spans[at] else f" {spans[at][0].lower()}{spans[at][1:]}"
            clauses.append(_clause(months, at, system, parts) + where)
        if known:
            month = f"In {_month(row_at(months, known[0]))}"
            parts["when"] = spans[known[0]] if alike and spans[known[0]] else month
            said.append(Sentence("{when} " + listed_words(clauses) + ".", parts))
    return said


def _span(row: pd.Series) -> str:
    """Say on which days of its month a quantity was measured; empty where on all."""
    days, length = int(row["days"]), int(row["of_days"])
    if days >= length:
        return ""
    share = f"({days} of {length} days)"
    first, last = int(row["first_day"]), int(row["last_day"])
    if (first, last) == (1, length):
        return f"In {_month(row)} {share}"
    if first == last:
        return f"On {last} {_month(row)} {share}"
    return f"From {first} to {last} {_month(row)} {share}"


def _clause(months: pd.DataFrame, at: int, system: str, parts: dict[str, object]) -> str:
    """Word one quantity of a month; its numbers go into the parts of the sentence."""
    row = row_at(months, at)
    what = str(row["what"])
    # Of a month with days missing, a sum tells only how much it was at least.
    least = what in ("rain", "days_below_zero") and int(row["days"]) < int(row["of_days"])
    parts[what] = _shown(months, at, "value", system)
    unit = {"rain": f" {_RAIN[system][0]}"}.get(what, f" {_DEGREES[system][1]}")
    start = "at least " if least else ""
    form = {
        "low": f"the mean low was {{low}}{unit}",
        "high": f"the mean high was {{high}}{unit}",
        "rain": f"{start}{{rain}}{unit} of {_WATER} fell",
        "days_below_zero": f"{start}{{days_below_zero}} {_nights(row)} below {_FREEZING[system]}",
    }[what]
    unit = "" if what == "days_below_zero" else unit
    if least:
        over = _already_more(row, system)
        return f"{form} (at least {over}{unit} more than normal)" if over else form
    departure = float(row["departure"])
    if not math.isfinite(departure):
        return form
    shown = _written(departure, row, "departure", system).lstrip("+\N{MINUS SIGN}")
    if float(shown) == 0:
        return f"{form} (as normal)"
    name = f"{what}_departure"
    parts[name] = number(_NAME, months, at, "departure", shown)
    more, less = {
        "low": ("warmer", "colder"),
        "high": ("warmer", "colder"),
        "rain": ("more", "less"),
        "days_below_zero": ("more", "fewer"),
    }[what]
    return f"{form} ({{{name}}}{unit} {more if departure > 0 else less} than normal)"


def _already_more(row: pd.Series, system: str) -> str:
    """Write by how much what was measured already lies above the normal; empty where it does not.

    The table holds no such difference, since days are missing; it is one of two of its numbers,
    rounded down.
    """
    above = float(row["value"]) - float(row["normal"])
    if not above > 0:
        return ""
    decimals = 0
    if str(row["what"]) == "rain":
        unit, decimals = _RAIN[system]
        above = from_si(above / 1000, unit)
    shown = bounded(above, decimals, "at least")
    return text(shown, decimals) if shown else ""


def _nights(row: pd.Series) -> str:
    return "day went" if float(row["value"]) == 1 else "days went"


def source_words(months: pd.DataFrame) -> str:
    """Say where the normals come from; empty where none are stated."""
    sources = [source for source in dict.fromkeys(months["source"].fillna("")) if source]
    return f"Normals: {listed_words(sources)}." if sources else ""


def gap_words(gaps: pd.DataFrame) -> str:
    """Say which days the weather file does not hold, and which it holds without values.

    Parameters
    ----------
    gaps : DataFrame
        The table ``weather_gaps`` of a run.

    Returns
    -------
    str
        Empty where it holds all.
    """
    kinds = {
        "no row": ("is not in the file", "are not in the file"),
        "no values": ("is there without values", "are there without values"),
    }
    said = []
    for kind, (one, many) in kinds.items():
        rows = gaps[gaps["what"] == kind]
        spans = []
        for _, row in rows.iterrows():
            first, last = day_text(row["first"]), day_text(row["last"])
            spans.append(first if first == last else f"{first} to {last}")
        if spans:
            said.append(f"{listed_words(spans)} {one if rows['days'].sum() == 1 else many}")
    return f"{'; '.join(said)}." if said else ""
