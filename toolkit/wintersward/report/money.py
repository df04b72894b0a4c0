"""Money as a reader meets it: rounded to what its spread bears, with separators and signs."""

from __future__ import annotations

import math

from wintersward.report.numbers import MINUS
from wintersward.trial.diary_costs import AREAS
from wintersward.units import from_si, reader_unit

__all__ = ["area_text", "money_step", "money_text", "per_area"]

_PER = {"us": ("1000 ft2", "1000 ft²"), "metric": ("100 m2", "100 m²")}


def money_step(spread: float) -> float:
    """Choose the step that amounts are rounded to: a hundredth of their spread or finer.

    Parameters
    ----------
    spread : float [currency]
        How far the amounts lie apart; nothing sensible gives a hundredth of the currency.

    Examples
    --------
    >>> [money_step(spread) for spread in (1463.0, 84.0, 4.2, 0.0)]
    [10.0, 0.1, 0.01, 0.01]
    """
    if not math.isfinite(spread) or spread <= 0:
        return 0.01
    return float(max(0.01, 10.0 ** (math.floor(math.log10(spread)) - 2)))


def money_text(value: float, step: float = 1.0, signed: bool = False) -> str:
    """Write an amount.

    Examples
    --------
    >>> money_text(-1206.78, 10.0), money_text(521.8, 1.0, signed=True), money_text(-0.001, 0.01)
    ('−1,210', '+522', '0.00')
    """
    if not math.isfinite(value):
        return "–"
    rounded = round(value / step) * step
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    plain = f"{abs(rounded):,.{decimals}f}"
    if rounded == 0 or float(plain.replace(",", "")) == 0:
        return plain
    return (MINUS if rounded < 0 else "+" if signed else "") + plain


def area_text(area: float, units: str) -> str:
    """Write an area [m2] in the reader's unit.

    Examples
    --------
    >>> area_text(2229.67296, "us"), area_text(2229.67296, "metric")
    ('24,000 ft²', '2,230 m²')
    """
    unit = reader_unit("area", units)
    return f"{from_si(area, unit):,.0f} {unit.replace('2', '²')}"


def per_area(area: float, units: str) -> tuple[float, str]:
    """Say what an amount on an area is divided by to be told for the area that a reader knows.

    Examples
    --------
    >>> divided, words = per_area(2229.67296, "us")
    >>> round(divided, 6), words
    (24.0, '1000 ft²')
    """
    name, words = _PER[units]
    return area / AREAS[name], words
