"""What a rater is told: the marks of a scale, the limits of a reading, what to do."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from wintersward.design.spots import SPACING_M
from wintersward.papers.workbooks import REMARKS, Check
from wintersward.report.cautions import UNSOURCED
from wintersward.trial import Definition
from wintersward.trial.catalogue import CATALOGUE
from wintersward.trial.schema import SheetMeasure
from wintersward.units import from_si, reader_unit

__all__ = ["apart_words", "marks", "remarks", "rule", "scale_words", "scales"]

# A scale that is wider than this is not listed mark by mark.
_WIDEST = 10
# What is pulled, turned or dropped shows its most for a moment only (SI units, or a ratio).
_MOVED = {"N": "pull", "N.m": "turn"}
_DROPPED = "gravities"
_WORST = "worst: as poor as it could be on this ground"
_BEST = "best: you could wish for nothing better"


def marks(measure: SheetMeasure) -> list[float]:
    """List the whole and half marks of a scale; none where it is too wide for a list.

    Examples
    --------
    >>> told = {"from": "sheet", "scale": "1-3", "dates": ["2026-03-24"]}
    >>> marks(SheetMeasure.model_validate(told))
    [1.0, 1.5, 2.0, 2.5, 3.0]
    """
    low, high = measure.scale or (0.0, 0.0)
    if measure.scale is None or high - low > _WIDEST or (high - low) * 2 % 1:
        return []
    return [low + half / 2 for half in range(int(2 * (high - low)) + 1)]


def scales(measures: Mapping[str, SheetMeasure]) -> list[tuple[str, SheetMeasure]]:
    """List the measures that are rated on a scale."""
    return [(name, measure) for name, measure in measures.items() if measure.scale is not None]


def scale_words(name: str, measure: SheetMeasure) -> str:
    """Say in a line what the marks of a scale mean.

    Examples
    --------
    >>> told = {"from": "sheet", "scale": "1-9", "acceptable": 6, "dates": ["2026-03-24"]}
    >>> scale_words("colour_rating", SheetMeasure.model_validate(told))
    'Colour rating: 1 worst, 9 best, 6 just good enough; half marks allowed'
    """
    low, high = measure.scale or (0.0, 0.0)
    words = {low: "worst", high: "best", **measure.anchors}
    said = ", ".join(f"{mark:g} {words[mark]}" for mark in sorted(words))
    enough = "" if measure.acceptable is None else f", {measure.acceptable:g} just good enough"
    halves = "; half marks allowed" if marks(measure) else ""
    return f"{_label(name, measure)}: {said}{enough}{halves}"


def _label(name: str, measure: SheetMeasure) -> str:
    words = name.replace("_", " ")
    return measure.label or words[0].upper() + words[1:]


def rule(name: str, measure: SheetMeasure, choices: str) -> Check:
    """Say what a cell of a measure may hold, in its own unit.

    Parameters
    ----------
    name : str
        Name of the measure.
    measure : SheetMeasure
        The measure.
    choices : str
        Where the marks of its scale are listed; empty where they are not.
    """
    title, unable = _label(name, measure), "Leave the cell empty where it could not be taken."
    if measure.scale is not None:
        low, high = measure.scale
        steps = ", whole or half" if choices else ""
        error = f"A mark from {low:g} to {high:g}{steps}. {unable}"
        return Check(title, f"{scale_words(name, measure)}.", error, choices, low, high)
    unit = str(measure.unit_written)
    ends = [None if end is None else from_si(end, unit) for end in measure.readings]
    low_end, high_end = (None if end is None else round(end, 9) for end in ends)
    what = f"a number in {unit}"
    what += "" if low_end is None else f", {low_end:g} or more"
    what = f"a number in {unit}, {low_end:g} to {high_end:g}" if high_end is not None else what
    return Check(
        title,
        f"{what[0].upper()}{what[1:]}; write the number alone.",
        f"Only {what}, without the unit. {unable}",
        low=low_end,
        high=high_end,
    )


def remarks(
    definition: Definition, measures: Mapping[str, SheetMeasure], second: bool = False
) -> tuple[list[tuple[Any, Any]], dict[str, str]]:
    """Write the tab that says what to do, and lists the marks of each scale.

    Parameters
    ----------
    definition : Definition
        Says how wide the edge is that is left out.
    measures : mapping of str to SheetMeasure
        What is due.
    second : bool
        Whether the sheet is that of the second round.

    Returns
    -------
    rows : list of (value, value)
        Rows of two cells.
    places : dict of str to str
        From each measure whose marks are listed whole to the cells that list them.
    """
    rows: list[tuple[Any, Any]] = [(REMARKS, "")]
    rows += list(enumerate(_steps(definition, measures, second), 1))
    places = {}
    for name, measure in measures.items():
        taken = list(_taken(measure))
        if not taken and measure.scale is None:
            continue
        rows += [("", ""), (_label(name, measure), ""), *taken]
        first = len(rows) + 1
        rows += [] if measure.scale is None else _meanings(measure)
        if marks(measure):
            places[name] = f"'{REMARKS}'!$A${first}:$A${len(rows)}"
    return rows, places


def _taken(measure: SheetMeasure) -> Iterator[tuple[str, str]]:
    """Say how a measure of a usual kind is taken, and what is written down beside it."""
    kind = CATALOGUE.get(measure.kind or "")
    if kind is not None:
        record = kind.record_on_paper
        yield "how", kind.protocol
        yield "note", f"{record[0].upper()}{record[1:]}."


def _steps(
    definition: Definition, measures: Mapping[str, SheetMeasure], second: bool
) -> Iterator[str]:
    """Say what to do, a rating and a reading each in its own way."""
    unit = reader_unit("distance", definition.units)
    edge = from_si(definition.layout.edge_left_out, unit)
    rated = scales(measures)
    if second:
        yield (
            "This round begins when the sheet of the first round is given in. Whoever hands it "
            "out keeps the first sheet."
        )
    yield "Walk the plots in the order of the rows, and fill in every white cell."
    if edge:
        yield f"Leave out the outer {edge:.3g} {unit} along each side of a plot."
    if rated:
        yield (
            "Go by what you see now. Do not look up what you or others wrote before, not for this "
            "plot nor on an earlier visit, and do not talk about marks on the way."
        )
    if any(marks(measure) for _, measure in rated):
        yield "Half marks are allowed, such as 4.5."
    yield from _reading_steps(definition, [m for m in measures.values() if m.scale is None])
    yield "A value that could not be taken: leave the cell empty and tell who keeps the diary."
    yield "Then save the file, as .xlsx or .csv, into the folder sheets of the study."


def _reading_steps(definition: Definition, read: list[SheetMeasure]) -> Iterator[str]:
    if not read:
        return
    where = "Spread the readings over the plot"
    if any(measure.destructive for measure in read):
        where = "Take readings that harm the turf at the spots of the map"
    yield (
        f"{where}, never where photos are taken, and at least {apart_words(definition.units)} from "
        "any earlier reading, also of an earlier visit."
    )
    yield "The same instrument and the same hand on all plots, in the same direction each time."
    units = {measure.unit for measure in read}
    moved = " or ".join(word for unit, word in _MOVED.items() if unit in units)
    if moved:
        yield f"{moved.capitalize()} at the same speed each time, and read the peak."
    if _DROPPED in units:
        yield "Let the missile drop freely, from the same height each time, and read the peak."
    yield "Note in the diary how wet the soil is: by a meter, or as dry, moist or wet to the hand."
    yield f"How readings are taken, as told in these steps, is {UNSOURCED}."


def apart_words(system: str) -> str:
    """Write how far readings stay from one another, in the reader's unit.

    Examples
    --------
    >>> apart_words("us"), apart_words("metric")
    ('6 in', '15 cm')
    """
    unit = "in" if system == "us" else "cm"
    return f"{from_si(SPACING_M, unit):.0f} {unit}"


def _meanings(measure: SheetMeasure) -> Iterable[tuple[Any, Any]]:
    low, high = measure.scale or (0.0, 0.0)
    told = {low: _WORST, high: _BEST}
    # Words of the trial's own for a mark go before those that suit any scale.
    told |= measure.anchors
    if measure.acceptable is not None:
        enough = "just good enough: the lowest mark that you would be content with"
        told[measure.acceptable] = "; ".join(filter(None, [told.get(measure.acceptable), enough]))
    listed = sorted({*marks(measure), *told})
    return [(mark, told.get(mark, "")) for mark in listed]
