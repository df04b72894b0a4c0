"""How long the holes of an aeration are open, in words: what is left over, and what it rests on."""

from __future__ import annotations

import math

import pandas as pd

from wintersward.decisions.hole_days import BY_DIAMETER, GOOD_GROWTH, GOOD_GROWTH_SOURCE
from wintersward.report.aerating_rows import basis_of, ends, in_order, numbered
from wintersward.report.numbers import day_text
from wintersward.report.said import Said, Sentence, row_at, value_at
from wintersward.report.views import quantity
from wintersward.trial import Definition
from wintersward.units import from_si

__all__ = ["day_words", "spare_words"]

# The tines whose recovery was compared.
_SEEN = {
    "us": {"small": "1/4 inch", "wide": "1/2 inch"},
    "metric": {"small": "6 mm (1/4 inch)", "wide": "13 mm (1/2 inch)"},
}
_NO_WARMTH = (
    "No degree days of the soil that fit these grasses were there, so nothing was made longer; in "
    "cold soil holes stay open far longer (from memory)."
)
_SOLID = (
    "they take no soil out and are said to recover sooner (Pennsylvania State University, quoted "
    "by Cornell University)"
)


def spare_words(found: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say of every way to aerate whether its holes have closed at the first use, by the figures.

    Parameters
    ----------
    found : DataFrame
        The table ``aeration_options``.
    definition : Definition
        The trial.
    """
    said = []
    for at in in_order(found, definition):
        row = row_at(found, at)
        low, high = (float(row[name]) for name in ("spare_low", "spare_high"))
        parts: dict[str, object] = {"label": row["label"], "why": _why_none(row)}
        parts |= {
            "low": numbered(found, at, "spare_low", abs(low), 0),
            "high": numbered(found, at, "spare_high", abs(high), 0),
        }
        parts |= {
            f"unit_{end}": "day" if str(parts[end]) == "1" else "days" for end in ("low", "high")
        }
        said.append(Sentence("{label}: " + _spare_form(low, high, float(row["days_low"])), parts))
    return said


def _spare_form(low: float, high: float, fewest: float) -> str:
    if not math.isfinite(fewest):
        return "{why}."
    if not math.isfinite(high):
        return "without a day of first use nothing can be left over."
    if not math.isfinite(low):
        end = "{high} {unit_high} to spare" if high >= 0 else "{high} {unit_high} too few"
        return f"at best {end}; some holes were still open when they were last seen."
    if low >= 0:
        return "by these figures its holes have closed with {low} to {high} {unit_high} to spare."
    if high < 0:
        return (
            "by these figures its holes are open {high} to {low} {unit_low} longer than there are."
        )
    return "by these figures it may be either, from {low} {unit_low} too few to {high} to spare."


def _why_none(row: pd.Series) -> str:
    said = str(row["days_basis"])
    return f"{said}; {_SOLID}" if basis_of(row) == "solid" else said


def day_words(found: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say what the days of the table rest on: each kind once.

    Parameters
    ----------
    found : DataFrame
        The table ``aeration_options``.
    definition : Definition
        The trial.
    """
    said, told = [], set[tuple[str, str]]()
    for at in in_order(found, definition):
        row = row_at(found, at)
        basis = basis_of(row)
        # What was seen here is told of every tine, what others saw once.
        what = str(row["label" if basis == "observed" else "days_source"])
        if basis == "solid" or (basis, what) in told:
            continue
        told.add((basis, what))
        said.append(_known(found, at, basis, definition.units))
        if basis in ("lengthened", "cold") or math.isfinite(float(row["warmth"])):
            said.append(_warm(found, at, definition.units))
        elif basis == "published":
            said.append(Sentence(_NO_WARMTH))
    if any(basis != "observed" for basis, _ in told):
        said.append(
            Sentence(
                "Days go in proportion to the diameter: {whose} saw holes of {small} close in half "
                "the time of {wide}, at any spacing. Wider ones go beyond what was seen.",
                {"whose": BY_DIAMETER} | _SEEN[definition.units],
            )
        )
    return said


def _known(found: pd.DataFrame, at: int, basis: str, system: str) -> Sentence:
    row = row_at(found, at)
    forms = {
        "observed": "{label}: the holes of single units closed in {days} days ({source}).",
        "observed, scaled": "For other hollow tines the {days} days of holes of {wide} are taken "
        "({source}).",
        "stated": "The definition states {days} days for holes of {wide} ({source}). They are "
        "taken as written, whatever the warmth of the soil.",
    }
    form = forms.get(basis, "Published are {days} days for holes of {wide} ({source}).")
    parts = {
        "label": row["label"],
        "wide": quantity(value_at(found, at, "known_diameter"), "depth", system),
        "days": ends(found, at, "known_low", "known_high"),
        "source": row["days_source"],
    }
    return Sentence(form, parts)


def _warm(found: pd.DataFrame, at: int, system: str) -> Sentence:
    """Say how the warmth of the soil was reckoned in."""
    row = row_at(found, at)
    unit, shown = ("degF", "°F") if system == "us" else ("degC", "°C")

    def degrees(column: str) -> Said | str:
        value = from_si(float(row[column]), unit, difference=True)
        return numbered(found, at, column, value, 1)

    low, high = (from_si(one, unit) for one in GOOD_GROWTH)
    parts = {
        "had": degrees("warmth"),
        "good": degrees("good_warmth"),
        "unit": shown,
        "first": day_text(row["warmth_from"]),
        "last": day_text(row["warmth_to"]),
        "range": f"{low:.0f} to {high:.0f} {shown}",
        "source": GOOD_GROWTH_SOURCE,
        "times": numbered(found, at, "lengthening", float(row["lengthening"]), 1),
    }
    form = (
        "Between {first} and {last} the soil had {had} degree days [{unit}] a day, on the mean of "
        "the plots; in good growth, in the middle of {range} ({source}), it would have {good}."
    )
    if basis_of(row) == "cold":
        return Sentence(f"{form} That is hardly any, so no days are told.", parts)
    if basis_of(row) == "published":
        return Sentence(f"{form} So nothing was made longer.", parts)
    more = "So the days are {times} times as many; that holes close in proportion is assumed."
    return Sentence(f"{form} {more}", parts)
