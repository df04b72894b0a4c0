"""What the days rest on for which the holes of an aeration are open, in words."""

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

__all__ = ["SOLID", "day_words"]

# The tines whose recovery was compared.
_SEEN = {
    "us": {"small": "1/4 inch", "wide": "1/2 inch"},
    "metric": {"small": "6 mm (1/4 inch)", "wide": "13 mm (1/2 inch)"},
}
# A hundredth of a millimetre beyond the wider of them [m].
_WIDEST = 0.01271
_NO_WARMTH = (
    "No degree days of the soil that fit these grasses were there, so nothing was made longer; in "
    "cold soil holes stay open far longer (from memory)."
)
SOLID = (
    "they take no soil out and are said to recover sooner (Pennsylvania State University, quoted "
    "by Cornell University)"
)


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
        said.append(_scaled(found, definition))
    return said


def _scaled(found: pd.DataFrame, definition: Definition) -> Sentence:
    """Say by whom, and within what, days were seen to go by the diameter."""
    form = (
        "Days go in proportion to the diameter: on greens {whose} saw holes of {small} close in "
        "half the time of {wide}, at any spacing."
    )
    parts: dict[str, object] = {"whose": BY_DIAMETER, **_SEEN[definition.units]}
    scaled = [at for at in in_order(found, definition) if basis_of(row_at(found, at)) != "observed"]
    known = {at: value_at(found, at, "known_diameter") for at in scaled}
    own = next((at for at in scaled if known[at] > _WIDEST), None)
    wide = next((at for at in scaled if value_at(found, at, "outside") > _WIDEST), None)
    if own is not None:
        parts["from"] = quantity(known[own], "depth", definition.units)
        form += (
            " The holes of {from} that the others are scaled from are wider than any seen there."
        )
    elif wide is not None:
        parts["label"] = row_at(found, wide)["label"]
        form += " {label}: wider than any seen there, so that its days are assumed."
    return Sentence(form, parts)


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
