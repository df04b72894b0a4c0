"""Lengths as the reader of a plan sees them."""

from __future__ import annotations

from wintersward.units import from_si, reader_unit

__all__ = ["bare_length", "length", "reader_length"]


def reader_length(metres: float, system: str) -> float:
    """Convert a length [m] into the unit of a reader of ``us`` or ``metric`` units.

    Examples
    --------
    >>> round(reader_length(3.048, "us"), 6)
    10.0
    """
    return from_si(metres, reader_unit("distance", system))


def bare_length(metres: float, system: str) -> str:
    """Write a length [m] without its unit, to a hundredth, no needless zeros.

    Examples
    --------
    >>> bare_length(3.6576, "us"), bare_length(0.762, "metric")
    ('12', '0.76')
    """
    text = f"{reader_length(metres, system):.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def length(metres: float, system: str) -> str:
    """Write a length [m] with its unit.

    Examples
    --------
    >>> length(3.048, "us")
    '10 ft'
    """
    return f"{bare_length(metres, system)} {reader_unit('distance', system)}"
