"""Ways to aerate, for a reader: the ground, soil and sand, the days, and what they rest on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from wintersward.analysis.decision_columns_aeration import AERATION
from wintersward.decisions.aeration import SAND_SOURCE
from wintersward.decisions.closure import closure_measures
from wintersward.decisions.planner import aerating_days, options
from wintersward.decisions.rows import framed
from wintersward.report.aerating_cautions import aerating_cautions
from wintersward.report.aerating_days import day_words
from wintersward.report.aerating_rows import DAYS, NAME, in_order, numbered, whole
from wintersward.report.aerating_spare import days_table, spare_words
from wintersward.report.numbers import day_text
from wintersward.report.said import Sentence, row_at, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import quantity
from wintersward.trial import Definition
from wintersward.units import from_si

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["aerating_context", "options_table", "sand_table"]

_GROUPS = {"treatment": "in this trial", "planned": "planned"}
# The ground that amounts are told for, as the trade counts [m2], and the units of what lies on it.
_GROUND = {"us": (1000 * 0.3048**2, "1000 ft²"), "metric": (100.0, "100 m²")}
_VOLUME = {"us": ("ft3", "ft³", 1), "metric": ("m3", "m³", 2)}
_MASS = {"us": ("lb", "lb"), "metric": ("kg", "kg")}


def aerating_context(page: Page) -> dict[str, Any]:
    """Fill the part on ways to aerate; nothing where no treatment has a tine and none is planned.

    Parameters
    ----------
    page : Page
        With the table ``aeration_options``.
    """
    definition = page.definition
    context: dict[str, Any] = {"aeration": {}, "aeration_waiting": ""}
    if not options(definition):
        return context
    if page.waiting:
        said = "What each way to aerate takes is shown once the primary question has its data."
        return context | {"aeration_waiting": said}
    found = page.table(NAME)
    if found.empty:
        return context
    # A demonstration, which sets no treatments side by side, has none of these.
    seen = page.tables[DAYS] if DAYS in page.tables else framed(AERATION[DAYS])
    told = {
        "days": _days_there(definition, found),
        "options": options_table(found, definition),
        "picture": page.figure(NAME),
        "spare": spare_words(found, seen, definition),
        "days_table": days_table(found, seen, definition),
        "tags": [f"measure:{name}" for name in closure_measures(definition) if len(seen)],
        "basis": day_words(found, definition),
        "sand": sand_table(found, definition),
        "topdressing": _topdressing(found, definition, page.table("management")),
        "target": _target(definition),
        "cautions": aerating_cautions(definition.units),
    }
    return context | {"aeration": told}


def options_table(found: pd.DataFrame, definition: Definition) -> Markup:
    """Show the ways to aerate side by side: holes and ground.

    Parameters
    ----------
    found : DataFrame
        The table ``aeration_options``.
    definition : Definition
        The trial.
    """
    system, squares = definition.units, {"us": "1/ft²", "metric": "1/m²"}
    heads = [
        Head("From"),
        Head("Tine"),
        Head("passes", "", True),
        Head("holes", squares[system], True),
    ]
    heads += [
        Head("hit", "%", True, "Ground"),
        Head("taken out", "%", True, "Ground"),
    ]
    rows = []
    for at in in_order(found, definition):
        row = row_at(found, at)
        area = from_si(1.0, "ft2") if system == "us" else 1.0
        cells: list[Cell] = [
            whole(found, at, "passes"),
            numbered(found, at, "holes", float(row["holes"]) / area, 0),
            numbered(found, at, "affected", float(row["affected"]), 1),
            numbered(found, at, "removed", float(row["removed"]), 1),
        ]
        rows.append(Row((_GROUPS[str(row["source"])], str(row["label"])), tuple(cells)))
    note = (
        "Hit is the outside diameter of the tine, taken out the inside one; further passes fall at "
        "random on the first."
    )
    return html_table("Ways to aerate, side by side", heads, rows, note)


def sand_table(found: pd.DataFrame, definition: Definition) -> Markup:
    """Show what each way takes out of the ground, what fills its holes, and passes in a year.

    Parameters
    ----------
    found : DataFrame
        The table ``aeration_options``.
    definition : Definition
        The trial.
    """
    system = definition.units
    ground, named = _GROUND[system]
    (volume, shown, decimals), (mass, shown_mass) = _VOLUME[system], _MASS[system]
    spread = bool(found["filled"].notna().any())
    yearly = bool(found["passes_to_target"].notna().any())
    heads = [Head("Tine"), Head("soil out", shown, True), Head("sand to fill", shown, True)]
    heads.append(Head("the sand, dry", shown_mass, True))
    heads += [Head("filled by topdressing", "%", True)] if spread else []
    group = "Passes to the year’s area"
    heads += [Head(n, "", True, group) for n in ("by their sum", "by ground hit")] if yearly else []
    rows = []
    for at in in_order(found, definition):
        row = row_at(found, at)
        amounts = {n: from_si(float(row[n]) * ground, volume) for n in ("soil_removed", "sand")}
        cells: list[Cell] = [numbered(found, at, n, v, decimals) for n, v in amounts.items()]
        dry = from_si(float(row["sand_mass"]) * ground, mass)
        cells.append(numbered(found, at, "sand_mass", _rounded(dry), 0))
        cells += [numbered(found, at, "filled", float(row["filled"]), 0)] if spread else []
        names = ("passes_to_target", "passes_to_target_union") if yearly else ()
        cells += [whole(found, at, name) for name in names]
        rows.append(Row((str(row["label"]),), tuple(cells)))
    note = (
        "Depths are those of the definition. Soil out: inside diameter by depth. Sand: outside "
        "diameter by depth, to the brim; soil that was pressed aside comes back, so less may go "
        f"in. {SAND_SOURCE}; masses are rounded to two digits."
    )
    if (found["kind"] == "solid").any():
        note += " A solid hole closes from its sides: take far less (common practice, no source)."
    return html_table(f"Soil and sand of one aeration, for {named}", heads, rows, note)


def _rounded(mass: float) -> float:
    """Round a mass to the two digits that the density of sand bears."""
    return float(f"{mass:.2g}")


def _days_there(definition: Definition, found: pd.DataFrame) -> Sentence | str:
    """Say how many days there are between the aeration and the first use."""
    on, event = aerating_days(definition)
    if on is None:
        return ""
    if event is None:
        return f"Aeration on {day_text(on)}; the definition names no day of first use after it."
    at = int(found.index[0])
    days = whole(found, at, "days_available")
    parts = {"on": day_text(on), "event": day_text(event), "days": days}
    parts["unit"] = "day" if str(days) == "1" else "days"
    return Sentence("From the aeration on {on} to the first use on {event}: {days} {unit}.", parts)


def _topdressing(found: pd.DataFrame, definition: Definition, care: pd.DataFrame) -> Sentence | str:
    """Say how much sand the planned topdressing is, and how many make the sand of a year."""
    planned = definition.decisions.aeration if definition.decisions else None
    if planned is None or planned.topdressing is None:
        return ""
    at, system = int(found.index[0]), definition.units
    ground, named = _GROUND[system]
    (unit, shown, decimals), (mass, shown_mass) = _VOLUME[system], _MASS[system]
    volume = planned.topdressing * ground
    parts: dict[str, object] = {
        "depth": quantity(planned.topdressing, "depth", system),
        "volume": numbered(found, at, "topdressing", from_si(volume, unit), decimals),
        "yards": numbered(found, at, "topdressing", from_si(volume, "yd3"), 2),
        "mass": numbered(
            found,
            at,
            "topdressing_mass",
            _rounded(from_si(value_at(found, at, "topdressing_mass") * ground, mass)),
            0,
        ),
    }
    also = " ({yards} yd³)" if system == "us" else ""
    form = (
        f"A topdressing of {{depth}} is {{volume}} {shown}{also} or about {{mass}} {shown_mass} of "
    )
    form += f"dry sand for {named}."
    if planned.sand_each_year is not None:
        parts["times"] = whole(found, at, "topdressings_to_target")
        parts["yearly"] = quantity(planned.sand_each_year, "depth", system)
        form += " Of these {times} come to the {yearly} that the definition wants in a year."
    if not (care["what"] == "topdressing").any():
        form += " By the diary no topdressing was given in this trial."
    return Sentence(form, parts)


def _target(definition: Definition) -> str:
    planned = definition.decisions.aeration if definition.decisions else None
    if planned is None or planned.area_each_year is None:
        return ""
    return (
        f"The definition wants {planned.area_each_year:g} % of the ground hit in a year. Such "
        "targets are usually counted by adding up the passes; holes that fall into holes make the "
        "ground that is really hit smaller."
    )
