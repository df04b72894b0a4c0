"""How a definition's measures, treatments, dates and units look to the reader of a report."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

from wintersward.design import Mark, treatment_marks
from wintersward.trial.catalogue import reading_unit
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition, Factor, Level, LoggerMeasure, SheetMeasure
from wintersward.units import from_si, kind_of_unit, reader_unit

__all__ = [
    "Event",
    "MeasureView",
    "any_unit",
    "averaged_over",
    "begins",
    "carried_by",
    "events",
    "factor_label",
    "in_sentence",
    "level_label",
    "main_factor",
    "marks_of",
    "measure_view",
    "others_applied",
    "picture_name",
    "plots_with",
    "quantity",
    "rater_name",
    "stands_on",
    "unit_kind",
    "unit_of",
    "within_label",
]

_SYMBOLS = {
    "degC": "°C",
    "degF": "°F",
    "kg/m2": "kg/m²",
    "g/m2": "g/m²",
    "oz/yd2": "oz/yd²",
    "N.m": "N·m",
    "ft.lbf": "ft·lbf",
    "index": "",
}
# Labels that are said before "plots"; any other is said after "plots with".
_ADJECTIVE = re.compile(r"(?i)(open|bare|control|covered|untreated|uncovered|unaerated)")


@dataclass(frozen=True)
class MeasureView:
    """A measure in the reader's units.

    Parameters
    ----------
    name, label : str
        As in the definition, and as a heading.
    unit, difference_unit : str
        Symbols for a value and for a difference; empty where there is none.
    kind : str
        Of a difference: one of `wintersward.units.KINDS`, or ``bare``.
    shown_in : str
        Unit of `wintersward.units.UNITS` for values; empty for ratings and indices.
    limits : tuple
        Lowest and highest value that can be, in the reader's unit; None where there is none.
    rated : bool
        Whether a higher value is a higher position rather than a larger amount.
    apart : bool
        Whether a value is itself a difference of two, so that it converts without a zero point.
    """

    name: str
    label: str
    unit: str
    difference_unit: str
    kind: str
    shown_in: str
    limits: tuple[float | None, float | None]
    rated: bool
    apart: bool = False

    @property
    def noun(self) -> str:
        """The label inside a sentence."""
        return in_sentence(self.label)

    @property
    def head(self) -> str:
        """The label with its unit, for an axis."""
        return f"{self.label} [{self.unit}]" if self.unit else self.label

    def value(self, si: float) -> float:
        """Convert a value from SI."""
        return from_si(si, self.shown_in, difference=self.apart) if self.shown_in else si

    def difference(self, si: float) -> float:
        """Convert a difference, or a standard error, from SI."""
        return from_si(si, self.shown_in, difference=True) if self.shown_in else si

    def amount(self, shown: str) -> str:
        """Put the unit of a difference behind a number that is already written."""
        return f"{shown} {self.unit_after(shown)}".rstrip()

    def unit_after(self, shown: str) -> str:
        """Name the unit of a difference behind a number that is already written: 1 point."""
        if self.kind == "points" and shown.lstrip("+\N{MINUS SIGN}") == "1":
            return "point"
        return self.difference_unit


def measure_view(definition: Definition, name: str) -> MeasureView:
    """Look at a measure with the eyes of the reader.

    Parameters
    ----------
    definition : Definition
        The trial; ``units`` decides between US and metric.
    name : str
        A measure of it.
    """
    measure = definition.measures[name]
    label = measure.label or name.replace("_", " ")
    label = label[0].upper() + label[1:]
    kind = measure.difference_kind
    shown_in, unit = "", measure.unit
    if kind == "points":
        unit = shown_in = "%"
    elif kind != "bare":
        own = measure.kind if isinstance(measure, SheetMeasure) else None
        shown_in = reading_unit(own, _reading_kind(measure), definition.units)
        unit = _SYMBOLS.get(shown_in, shown_in)
    else:
        unit = _SYMBOLS.get(unit, unit).replace("-", "–").replace("rating ", "")
    apart = isinstance(measure, LoggerMeasure) and measure.is_difference
    limits = tuple(
        None if limit is None else (from_si(limit, shown_in, apart) if shown_in else limit)
        for limit in measure.limits
    )
    rated = kind in ("bare", "temperature") and not apart
    difference_unit = "points" if kind == "points" else "" if kind == "bare" else unit
    return MeasureView(
        name, label, unit, difference_unit, kind, shown_in, (limits[0], limits[1]), rated, apart
    )


def _reading_kind(measure: object) -> str:
    """Keep short lengths in short units: clippings are not read in feet."""
    if isinstance(measure, LoggerMeasure):
        return measure.difference_kind
    written = measure.unit_written if isinstance(measure, SheetMeasure) else None
    if written in ("mm", "cm", "in"):
        return "depth"
    return kind_of_unit(str(written))


def quantity(si: float, kind: str, system: str) -> str:
    """Write a quantity of the definition in the reader's unit, without idle digits.

    Examples
    --------
    >>> quantity(3.048, "distance", "us"), quantity(0.0254, "depth", "metric")
    ('10 ft', '25.4 mm')
    """
    unit = reader_unit(kind, system)
    return f"{from_si(si, unit):.4g} {_SYMBOLS.get(unit, unit)}"


def rater_name(definition: Definition, initials: str) -> str:
    """Name who rated, as the definition lists the people; the initials where it does not."""
    known = {one.initials: one.name for one in definition.people}
    return known.get(initials, initials)


def in_sentence(label: str) -> str:
    """Lower the first letter of a label, unless it begins an abbreviation or a name in capitals.

    Examples
    --------
    >>> in_sentence("No cover"), in_sentence("PVC sheet")
    ('no cover', 'PVC sheet')
    """
    if len(label) > 1 and (label[1].isupper() or label[1].isdigit()):
        return label
    return label[:1].lower() + label[1:]


def factor_label(definition: Definition, effect: str) -> str:
    """Name a factor, or factors joined by ``:``, for a heading; the ground may be among them."""
    labels = []
    for name in effect.split(":"):
        factor: Factor | None = definition.treatments.get(name)
        if factor is None and name != "ground":
            raise KeyError(name)
        labels.append((factor.label if factor else None) or name.replace("_", " "))
    said = " × ".join([labels[0], *(in_sentence(label) for label in labels[1:])])
    return said[0].upper() + said[1:]


def level_label(definition: Definition, level: str) -> str:
    """Name a treatment, or treatments joined by ``:``, for a reader."""
    labels = []
    for name in level.split(":"):
        one: Level = definition.treatments[definition.factor_of(name)].levels[name]
        labels.append(one.label)
    return " with ".join([labels[0], *(in_sentence(label) for label in labels[1:])])


def within_label(definition: Definition, within: str) -> str:
    """Name what a comparison is taken inside: ``aeration=hollow`` or nothing."""
    return level_label(definition, within.partition("=")[2]) if within else ""


def plots_with(definition: Definition, level: str) -> str:
    """Name the plots of a treatment inside a sentence."""
    said = in_sentence(level_label(definition, level))
    return f"{said} plots" if _ADJECTIVE.fullmatch(said) else f"plots with {said}"


def main_factor(definition: Definition) -> str:
    """Name the factor that pictures colour by: that of the primary question's whole plots."""
    if definition.layout.whole_plot:
        return definition.layout.whole_plot
    return definition.factor_of(definition.analysis.primary.levels[0])


def marks_of(definition: Definition, factor: str) -> dict[str, Mark]:
    """Colour and marker of every treatment of a factor; no other factor has the same ones."""
    main, used = main_factor(definition), list[Mark]()
    for name in [main, *(name for name in definition.treatments if name != main)]:
        held = definition.treatments[name]
        marks = treatment_marks(list(held.levels), held.control, used)
        if name == factor:
            return marks
        used += marks.values()
    raise KeyError(factor)


def begins(definition: Definition, factor: str) -> dt.date:
    """Tell on which day a factor was put on the ground."""
    return dates_meant(definition.dates, definition.treatments[factor].applied or "covers_on")[0]


def others_applied(definition: Definition, factor: str, day: object) -> list[str]:
    """List the other factors on the ground on a day: a factor counts from the day after."""
    on = dt.date.fromisoformat(str(day)[:10])
    return [n for n in definition.treatments if n != factor and on > begins(definition, n)]


def averaged_over(definition: Definition, factor: str, day: object) -> str:
    """Say what a comparison of a factor is averaged over on a day; empty for nothing."""
    others = others_applied(definition, factor, day)
    said = " and ".join(in_sentence(factor_label(definition, name)) for name in others)
    return f"averaged over {said} treatments" if said else ""


def carried_by(definition: Definition, factor: str) -> str:
    """Name what holds several plots and carries one treatment of a factor; empty for plots."""
    layout = definition.layout
    kinds = {
        layout.whole_plot: "whole plot",
        layout.row_strips: "row strip",
        layout.column_strips: "column strip",
    }
    return kinds.get(factor, "")


def unit_kind(definition: Definition, effect: str) -> str:
    """Name the experimental unit of a factor, or of factors joined by ``:``."""
    smallest = "subplot" if definition.layout.whole_plot else "plot"
    return carried_by(definition, effect) or smallest


def unit_of(definition: Definition, factor: str, day: object) -> tuple[str, int]:
    """Name what carries one treatment of a factor on a day, and count it in a complete trial.

    Returns
    -------
    kind : str
        ``block`` where every block holds a treatment on one unit, else ``plot`` or ``subplot``.
    count : int
        Units of one treatment.
    """
    layout = definition.layout
    if carried_by(definition, factor):
        return "block", layout.block_count
    count = layout.block_count or layout.replicates or definition.combinations
    for name in others_applied(definition, factor, day):
        count *= len(definition.treatments[name].levels)
    kind = unit_kind(definition, factor)
    return ("block" if count == layout.block_count else kind), count


def any_unit(definition: Definition) -> str:
    """Name what may be the experimental unit of one date or another: a plot, or what holds some."""
    if definition.layout.whole_plot:
        return "plot or whole plot"
    return "plot or strip" if definition.layout.row_strips else "plot"


def stands_on(definition: Definition, factor: str, day: object) -> str:
    """Name what carries one treatment of a factor on a day, for a reader: never a block."""
    kind = unit_of(definition, factor, day)[0]
    return unit_kind(definition, factor) if kind == "block" else kind


@dataclass(frozen=True, order=True)
class Event:
    """A day that a picture marks.

    Parameters
    ----------
    date : date
        The day.
    label : str
        As written in the picture.
    """

    date: dt.date
    label: str


def events(definition: Definition) -> list[Event]:
    """List the days to mark: when later treatments were applied, and the first event."""
    found = set()
    for name, factor in definition.treatments.items():
        if factor.applied is not None:
            day = dates_meant(definition.dates, factor.applied)[0]
            found.add(Event(day, in_sentence(factor_label(definition, name))))
    if "first_event" in definition.dates:
        found.add(Event(dates_meant(definition.dates, "first_event")[0], "first event"))
    return sorted(found)


def picture_name(kind: str, measure: str) -> str:
    """Name the file of a picture: small letters, as a record wants them.

    Examples
    --------
    >>> picture_name("progress", "Green_cover")
    'progress_green_cover'
    """
    return f"{kind}_{measure}".lower()
