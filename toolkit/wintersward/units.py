"""Units: SI inside, the reader's units at the edges.

Factors are exact by definition: the international foot and pound (0.3048 m and
0.45359237 kg), standard gravity 9.80665 m/s2 and the Fahrenheit scale. What is a ratio stays
one: shares in percent, and the deceleration of a missile in standard gravities; what is counted
stays a number.

References
----------
Thompson A., Taylor B. N. (2008) Guide for the Use of the International System of Units,
NIST Special Publication 811, appendix B.8.
Schadow G., McDonald C. J., The Unified Code for Units of Measure.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass

from wintersward.errors import closest, listed

__all__ = [
    "KINDS",
    "UNITS",
    "Kind",
    "Unit",
    "from_si",
    "kind_of_unit",
    "read_quantity",
    "reader_unit",
    "sheet_units",
    "stands_for",
    "to_si",
]

_POUND_KG = 0.45359237
_GRAVITY = 9.80665
_POUND_FORCE_N = _POUND_KG * _GRAVITY


@dataclass(frozen=True)
class Unit:
    """A unit of measurement.

    Parameters
    ----------
    symbol : str
        As written in a definition and in a report.
    dimension : str
        What it measures; only units of one dimension convert into each other.
    factor, offset : float
        ``si = (value + offset) * factor``.
    ucum : str
        Code in the Unified Code for Units of Measure.
    """

    symbol: str
    dimension: str
    factor: float
    ucum: str
    offset: float = 0.0


@dataclass(frozen=True)
class Kind:
    """What a quantity is, and the units that it is kept and shown in.

    Parameters
    ----------
    dimension : str
        Dimension of every unit that may be written for it.
    si, us, metric : str
        Unit inside files, for readers of US units, for readers of metric units.
    example : str
        As it may be written in a definition.
    """

    dimension: str
    si: str
    us: str
    metric: str
    example: str


UNITS = {
    unit.symbol: unit
    for unit in (
        Unit("m", "length", 1.0, "m"),
        Unit("cm", "length", 0.01, "cm"),
        Unit("mm", "length", 0.001, "mm"),
        Unit("ft", "length", 0.3048, "[ft_i]"),
        Unit("in", "length", 0.0254, "[in_i]"),
        Unit("yd", "length", 0.9144, "[yd_i]"),
        Unit("m2", "area", 1.0, "m2"),
        Unit("ft2", "area", 0.3048**2, "[ft_i]2"),
        Unit("m3", "volume", 1.0, "m3"),
        Unit("ft3", "volume", 0.3048**3, "[ft_i]3"),
        Unit("yd3", "volume", 0.9144**3, "[yd_i]3"),
        Unit("kg/m2", "areal mass", 1.0, "kg/m2"),
        Unit("g/m2", "areal mass", 0.001, "g/m2"),
        Unit("oz/yd2", "areal mass", _POUND_KG / 16 / 0.9144**2, "[oz_av]/[yd_i]2"),
        Unit("N", "force", 1.0, "N"),
        Unit("kgf", "force", _GRAVITY, "kgf"),
        Unit("lbf", "force", _POUND_FORCE_N, "[lbf_av]"),
        Unit("N.m", "torque", 1.0, "N.m"),
        Unit("ft.lbf", "torque", _POUND_FORCE_N * 0.3048, "[ft_i].[lbf_av]"),
        Unit("in.lbf", "torque", _POUND_FORCE_N * 0.0254, "[in_i].[lbf_av]"),
        Unit("kg", "mass", 1.0, "kg"),
        Unit("g", "mass", 0.001, "g"),
        Unit("lb", "mass", _POUND_KG, "[lb_av]"),
        Unit("oz", "mass", _POUND_KG / 16, "[oz_av]"),
        Unit("gravities", "deceleration", 1.0, "[g]"),
        Unit("degC", "temperature", 1.0, "Cel"),
        Unit("degF", "temperature", 5 / 9, "[degF]", offset=-32.0),
        Unit("%", "share", 1.0, "%"),
        Unit("points", "points", 1.0, "%"),
        Unit("shoots", "count", 1.0, "{shoots}"),
    )
}

KINDS = {
    "distance": Kind("length", "m", "ft", "m", "10 ft"),
    "depth": Kind("length", "m", "in", "mm", "4 in"),
    "area": Kind("area", "m2", "ft2", "m2", "9000 ft2"),
    "volume": Kind("volume", "m3", "ft3", "m3", "10 ft3"),
    "force": Kind("force", "N", "lbf", "N", "45 lbf"),
    "torque": Kind("torque", "N.m", "ft.lbf", "N.m", "15 N.m"),
    "mass": Kind("mass", "kg", "oz", "g", "2.25 kg"),
    "areal mass": Kind("areal mass", "kg/m2", "oz/yd2", "g/m2", "0.9 oz/yd2"),
    "deceleration": Kind("deceleration", "gravities", "gravities", "gravities", "80 gravities"),
    "temperature": Kind("temperature", "degC", "degF", "degC", "50 degF"),
    "share": Kind("share", "%", "%", "%", "80 %"),
    "points": Kind("points", "points", "points", "points", "8 points"),
    "count": Kind("count", "shoots", "shoots", "shoots", "40 shoots"),
}

# A length written in one of these is a depth: nobody wants root length shown in feet.
_SHORT = frozenset(["in", "cm", "mm"])

# Pulls and weights are both read in these, off a hanging scale or a balance: on a sheet the one
# that is meant is written out.
_PULL_OR_WEIGHT = {"kg": ("kgf", "g"), "lb": ("lbf", "oz")}

# Words that people write for a unit, to name the one that is meant. A word may stand for several,
# where no two of them are of one dimension.
_EVERYDAY = {
    symbol: tuple(words.split())
    for symbol, words in {
        "m": "meter meters metre metres",
        "cm": "centimeter centimeters centimetre centimetres",
        "mm": "millimeter millimeters millimetre millimetres",
        "ft": "foot feet '",
        "in": 'inch inches "',
        "yd": "yard yards yds",
        "N": "newton newtons",
        "kgf": "kg kp",
        "lbf": "lb lbs pound pounds",
        "N.m": "nm n-m n*m",
        "ft.lbf": "ft-lb ft-lbs ft-lbf ft.lb ft.lbs lb-ft lbf-ft lbf.ft",
        "in.lbf": "in-lb in-lbs in-lbf in.lb in.lbs lb-in lbf-in lbf.in",
        "kg": "kgs kilo kilos kilogram kilograms",
        "g": "gram grams gramme grammes gm",
        "lb": "lbs pound pounds",
        "oz": "ounce ounces",
        "gravities": "g gs gravity gmax g-max",
        "degC": "c °c celsius",
        "degF": "f °f fahrenheit",
        "%": "percent pct",
        "points": "point pts pt",
        "shoots": "shoot tiller tillers",
    }.items()
}

_QUANTITY = re.compile(r"\s*([-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?)\s*(\S.*?)?\s*")


def to_si(value: float, unit: str, difference: bool = False) -> float:
    """Convert a value into the SI unit of its dimension.

    Parameters
    ----------
    value : float
        In ``unit``.
    unit : str
        One of `UNITS`.
    difference : bool
        A difference between two values converts without the zero point.

    Examples
    --------
    >>> to_si(10, "ft")
    3.048
    >>> to_si(50, "degF")
    10.0
    >>> to_si(18, "degF", difference=True)
    10.0
    """
    known = UNITS[unit]
    return (value + (0.0 if difference else known.offset)) * known.factor


def from_si(value: float, unit: str, difference: bool = False) -> float:
    """Convert a value from SI.

    Parameters
    ----------
    value : float
        In the SI unit of the dimension.
    unit : str
        One of `UNITS`.
    difference : bool
        A difference between two values converts without the zero point.

    Examples
    --------
    >>> round(from_si(10.0, "degF"), 6)
    50.0
    >>> round(from_si(10.0, "degF", difference=True), 6)
    18.0
    """
    known = UNITS[unit]
    return value / known.factor - (0.0 if difference else known.offset)


def read_quantity(text: object, kind: str, difference: bool = False) -> float:
    """Read a value with its unit, such as ``10 ft``, into SI.

    Parameters
    ----------
    text : object
        What stands in the definition.
    kind : str
        One of `KINDS`.
    difference : bool
        A difference between two values converts without the zero point.

    Returns
    -------
    float
        The value in the kind's SI unit.

    Raises
    ------
    ValueError
        With what is allowed and, where one is near, the unit that was meant.

    Examples
    --------
    >>> read_quantity("10 ft", "distance")
    3.048
    """
    wanted = KINDS[kind]
    allowed = [u.symbol for u in UNITS.values() if u.dimension == wanted.dimension]
    rule = f"a number and a unit ({listed(allowed)}), such as '{wanted.example}'"
    match = _QUANTITY.fullmatch(text) if isinstance(text, str) else None
    if match is None or match.group(2) is None:
        raise ValueError(rule)
    unit = match.group(2)
    if unit not in allowed:
        near = _unit_meant(unit, allowed)
        raise ValueError(f"{rule}; {near}" if near else rule)
    value = to_si(float(match.group(1)), unit, difference)
    if not math.isfinite(value):
        raise ValueError(rule)
    return value


def _unit_meant(word: str, allowed: Iterable[str]) -> str:
    """Suggest the unit that a word in everyday use stands for."""
    symbols = list(allowed)
    meant = next((symbol for symbol in symbols if stands_for(word, symbol)), None)
    return f"did you mean {meant}?" if meant else closest(word, symbols)


def stands_for(word: str, unit: str) -> bool:
    """Tell whether a word in everyday use may stand for a unit.

    Parameters
    ----------
    word : str
        As people write it, such as in the heading of a table.
    unit : str
        One of `UNITS`.

    Examples
    --------
    >>> stands_for("lb", "lbf"), stands_for("lb", "N")
    (True, False)
    """
    return word.strip(". ").lower() in _EVERYDAY.get(unit, ())


def kind_of_unit(unit: str) -> str:
    """Name the kind of quantity that a unit of a sheet belongs to.

    Raises
    ------
    ValueError
        When the unit is not known, with those that are.

    Examples
    --------
    >>> kind_of_unit("lbf")
    'force'
    >>> kind_of_unit("in"), kind_of_unit("ft")
    ('depth', 'distance')
    """
    if unit in _SHORT:
        return "depth"
    if unit in UNITS and unit not in _PULL_OR_WEIGHT:
        return next(k for k, v in KINDS.items() if v.dimension == UNITS[unit].dimension)
    known = [symbol for symbol in UNITS if symbol not in _PULL_OR_WEIGHT]
    near = _unit_meant(unit, known)
    if unit in _PULL_OR_WEIGHT:
        pull, weight = _PULL_OR_WEIGHT[unit]
        near = f"write {pull} for a pull, {weight} for a weight"
    raise ValueError(f"one of {listed(known)}" + (f"; {near}" if near else ""))


def sheet_units(kind: str) -> list[str]:
    """List the units that readings of a kind may be written in.

    Parameters
    ----------
    kind : str
        One of `KINDS`.

    Examples
    --------
    >>> sheet_units("torque"), sheet_units("mass")
    (['N.m', 'ft.lbf', 'in.lbf'], ['g', 'oz'])
    """
    dimension = KINDS[kind].dimension
    units = [unit.symbol for unit in UNITS.values() if unit.dimension == dimension]
    return [unit for unit in units if unit not in _PULL_OR_WEIGHT]


def reader_unit(kind: str, system: str) -> str:
    """Name the unit that a reader of ``us`` or ``metric`` units sees.

    Examples
    --------
    >>> reader_unit("force", "us")
    'lbf'
    """
    return KINDS[kind].us if system == "us" else KINDS[kind].metric
