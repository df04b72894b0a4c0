"""The measures that a trial may name without describing them: what each is, and how it is taken."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple, Protocol

from wintersward.errors import listed
from wintersward.trial.usual_measures import USUAL_MEASURES, CatalogueMeasure
from wintersward.units import KINDS, UNITS, reader_unit, stands_for

__all__ = [
    "CATALOGUE",
    "CatalogueMeasure",
    "Contradiction",
    "contradictions",
    "filled",
    "kept_apart",
    "kinds_not_measured",
    "measure_kind",
    "reading_unit",
]

CATALOGUE: dict[str, CatalogueMeasure] = {one.name: one for one in USUAL_MEASURES}

# What a field is judged by beside its looks (common practice, no source).
_OF_THE_GROUND = ("surface_hardness", "shear_strength", "soil_moisture", "disease_cover")

# 18 in (457 mm) and 455 mm are one drop height, written in two systems.
_SAME_SETTING = 0.01


class _Instrument(Protocol):
    @property
    def missile(self) -> float: ...
    @property
    def drop_height(self) -> float: ...
    @property
    def drops(self) -> int: ...


class _Described(Protocol):
    @property
    def kind(self) -> str | None: ...
    @property
    def scale(self) -> tuple[float, float] | None: ...
    @property
    def unit_written(self) -> str | None: ...
    @property
    def instrument(self) -> _Instrument | None: ...


class Contradiction(NamedTuple):
    """Something in a measure that its kind does not allow.

    Parameters
    ----------
    field : str
        Field of the measure, as it is written in the file.
    found, allowed, hint : str
        As in `wintersward.errors.Problem`.
    """

    field: str
    found: str
    allowed: str
    hint: str


def measure_kind(name: str) -> CatalogueMeasure:
    """Find a measure of the catalogue.

    Parameters
    ----------
    name : str
        As it may stand after ``kind`` in a definition.

    Raises
    ------
    ValueError
        When there is none of that name, with those that there are and those that are near.

    Examples
    --------
    >>> measure_kind("pull_force").unit
    'N'
    """
    if name in CATALOGUE:
        return CATALOGUE[name]
    near = _near(name)
    hint = f"did you mean {' or '.join(near)}?" if near else ""
    hint = hint or "leave out 'kind' for a measure of your own"
    raise ValueError(f"one of {listed(CATALOGUE)}; {hint}")


def _near(name: str) -> list[str]:
    """List at most three names that share a word with another, or are spelt like it."""
    word = "_".join(name.lower().replace("-", " ").split())
    parts = set(word.split("_"))
    sharing = [known for known in CATALOGUE if word and word in known]
    sharing = sharing or [known for known in CATALOGUE if parts & set(known.split("_"))]
    return sharing[:3] or difflib.get_close_matches(word, CATALOGUE, n=2, cutoff=0.6)


def filled(written: Mapping[str, Any], system: str | None = None) -> dict[str, Any]:
    """Add to a measure of a sheet what its kind says and the definition leaves out.

    Parameters
    ----------
    written : mapping
        The fields as they stand in the file.
    system : str, optional
        ``us`` or ``metric``, as the definition says; without it a unit is added only where
        readers of both have the same.

    Returns
    -------
    dict
        The fields with those added that were absent or empty: ``scale`` and ``acceptable`` of a
        rating, ``unit`` of anything else, ``destructive``, ``per_plot``. Fields of no kind, or of
        one that is not known, come back as they are.

    Notes
    -----
    Nothing is added that would stand beside its contrary (a scale beside a unit), so that
    `contradictions` tells it. On a scale of one's own no mark is acceptable by convention.

    Examples
    --------
    >>> filled({"from": "sheet", "kind": "pull_force"}, "us")
    {'from': 'sheet', 'kind': 'pull_force', 'unit': 'lbf', 'destructive': True, 'per_plot': 3}
    """
    made = dict(written)
    kind = CATALOGUE.get(str(made.get("kind")))
    if kind is None:
        return made
    scale, unit = made.get("scale"), made.get("unit", made.get("unit_written"))
    usual: dict[str, Any] = {}
    if kind.rated:
        usual["scale"] = kind.scale if unit is None else None
        if unit is None and (scale is None or _is_usual(scale, kind)):
            usual["acceptable"] = kind.acceptable
    elif scale is None and unit is None:
        usual["unit"] = _usual_unit(kind, system)
    usual |= {"destructive": kind.destructive, "per_plot": kind.per_plot}
    made |= {k: v for k, v in usual.items() if v is not None and made.get(k) is None}
    return made


def _is_usual(scale: object, kind: CatalogueMeasure) -> bool:
    return scale == kind.range or str(scale).replace(" ", "") == kind.scale


def _usual_unit(kind: CatalogueMeasure, system: str | None) -> str | None:
    us, metric = (reading_unit(kind.name, kind.quantity, one) for one in ("us", "metric"))
    if us == metric:
        return us
    return {"us": us, "metric": metric}.get(str(system))


def reading_unit(kind: str | None, quantity: str, system: str) -> str:
    """Name the unit that a reader sees the values of a measure in.

    Parameters
    ----------
    kind : str or None
        Its kind; None for a measure of one's own.
    quantity : str
        What its unit measures, one of `wintersward.units.KINDS`.
    system : str
        ``us`` or ``metric``.

    Examples
    --------
    >>> reading_unit("clippings", "areal mass", "us"), reading_unit(None, "areal mass", "us")
    ('g/m2', 'oz/yd2')
    """
    usual = CATALOGUE[kind].usual_unit if kind in CATALOGUE else ""
    return usual or reader_unit(quantity, system)


def contradictions(measure: _Described) -> list[Contradiction]:
    """Tell what a measure of a sheet says against its kind.

    Parameters
    ----------
    measure : SheetMeasure
        Its kind, scale, unit and instrument are looked at.

    Returns
    -------
    list of Contradiction
        A unit of another dimension, a unit of a rating, a scale of what is no rating, surface
        hardness without its instrument, an instrument of anything else.
    """
    kind = CATALOGUE.get(measure.kind or "")
    told = _instrument_told(kind, measure.instrument)
    if kind is None:
        return told
    unit, scale = measure.unit_written, measure.scale
    if kind.rated and unit is not None:
        rule = f"a scale, such as 1-9: {kind.name} is a rating"
        told.append(Contradiction("unit", f"'{unit}'", rule, "remove the unit"))
    if not kind.rated and scale is not None:
        found, rule = f"'{scale[0]:g}-{scale[1]:g}'", f"a unit ({listed(kind.units)})"
        hint = "write 'unit: ...', or leave out 'kind' for a rating of your own"
        told.append(Contradiction("scale", found, rule, hint))
    if not kind.rated and unit is not None and not _fits(unit, kind):
        near = next((one for one in kind.units if stands_for(unit, one)), "")
        hint = f"did you mean {near}?" if near else "correct the unit, or the kind"
        told.append(Contradiction("unit", f"'{unit}'", listed(kind.units), hint))
    return told


def _fits(unit: str, kind: CatalogueMeasure) -> bool:
    return UNITS[unit].dimension == KINDS[kind.quantity].dimension


def _instrument_told(
    kind: CatalogueMeasure | None, instrument: _Instrument | None
) -> list[Contradiction]:
    needed = kind is not None and kind.needs_instrument
    if needed and instrument is None:
        rule = "the mass of the missile, its drop height and the number of drops"
        hint = "add 'instrument: {missile: 2.25 kg, drop_height: 455 mm, drops: 1}' as yours is"
        return [Contradiction("instrument", "nothing", rule, hint)]
    if not needed and instrument is not None:
        kinds = listed(one.name for one in USUAL_MEASURES if one.needs_instrument)
        rule = f"only beside 'kind: {kinds}'"
        return [Contradiction("instrument", "a missile", rule, "remove it, or name that kind")]
    return []


def kinds_not_measured(measures: Iterable[object]) -> list[str]:
    """Name what a field is judged by beside its looks and was no measure of a trial.

    Parameters
    ----------
    measures : iterable of measure
        Those of a definition, from sheets or from anywhere else.

    Returns
    -------
    list of str
        Of surface hardness, shear strength, soil moisture and disease cover. One of the first two
        counts as measured by its unit too, under whatever name.
    """
    held = [*measures]
    kinds = {getattr(one, "kind", None) for one in held}
    quantities = {getattr(one, "difference_kind", "") for one in held}
    return [
        kind.label.lower()
        for kind in map(measure_kind, _OF_THE_GROUND)
        if kind.name not in kinds and (kind.quantity == "share" or kind.quantity not in quantities)
    ]


def kept_apart(name: str, one: _Described, other: _Described) -> str:
    """Say why values of a measure, taken in two trials or seasons, are never compared.

    Parameters
    ----------
    name : str
        Of the measure.
    one, other : SheetMeasure
        As each definition has it.

    Returns
    -------
    str
        The reason; empty where nothing of the instrument speaks against it.

    Notes
    -----
    Heights and masses within one percent are the same: 18 in are 457 mm, written for 455 mm.

    References
    ----------
    ASTM F1702, scope: values from another missile mass, drop height or method do not compare.
    """
    first, second = one.instrument, other.instrument
    if first is None and second is None:
        return ""
    if first is not None and second is not None and _same_settings(first, second):
        return ""
    told = [_settings(first), _settings(second)]
    return (
        f"{name} was taken by {told[0]} and by {told[1]}; hardness by different missiles, heights "
        "or numbers of drops does not compare"
    )


def _same_settings(one: _Instrument, other: _Instrument) -> bool:
    return (
        one.drops == other.drops
        and math.isclose(one.missile, other.missile, rel_tol=_SAME_SETTING)
        and math.isclose(one.drop_height, other.drop_height, rel_tol=_SAME_SETTING)
    )


def _settings(instrument: _Instrument | None) -> str:
    if instrument is None:
        return "an instrument that is not stated"
    drops = "1 drop" if instrument.drops == 1 else f"{instrument.drops} drops"
    return (
        f"a missile of {instrument.missile:.3g} kg, {drops} from "
        f"{1000 * instrument.drop_height:.3g} mm"
    )
