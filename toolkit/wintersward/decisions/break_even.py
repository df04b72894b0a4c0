"""Where a budget breaks even: what a gain would have to be worth, how long material to last."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wintersward.decisions.budget_lines import Gain, Line
from wintersward.decisions.futures import Spread

__all__ = ["life_needed", "worth_needed"]

Floats = NDArray[np.float64]
Row = dict[str, Any]

# A gain that is known as at least so much would break even at no more than the worth found.
_TURNED = {"at least": "at most", "at most": "at least"}


def worth_needed(alone: Floats, gain: Gain, seed: int, of: str) -> Row:
    """Find what one step of a gain would have to be worth.

    Parameters
    ----------
    alone : (n,) float [currency]
        Net change of the entries alone, future by future.
    gain : Gain
        The estimate and its step; its own worth is not looked at.
    seed : int
        Of the futures.
    of : str
        ``days gained`` or ``primary``.

    Returns
    -------
    dict
        Columns of ``break_even`` but treatment, currency and unit.

    Notes
    -----
    With a net change N of the entries alone and g steps gained a future breaks even at -N / g;
    at 0 where N is not below zero; at no worth where it is and nothing was gained.
    """
    steps = gain.steps(seed)
    with np.errstate(divide="ignore", invalid="ignore"):
        needed = np.where(steps > 0, -alone / steps, np.inf)
    needed = np.where(alone >= 0, 0.0, needed)
    says = gain.estimate.says
    text = f"what one step of {of} would have to be worth, if nothing else were paid for"
    if not gain.estimate.carried:
        text += "; the estimate is taken as it stands, without an error"
        text += f": it is {says} so much" if says in _TURNED else ""
    told = {"of": of, "counting": "entries alone", "step": gain.step}
    return {**told, **_ends(needed), "says": _TURNED.get(says, says), "text": text}


def life_needed(net: Floats, lines: Sequence[Line], seed: int) -> Row:
    """Find how many seasons all that is spread over seasons would have to last alike.

    Parameters
    ----------
    net : (n,) float [currency]
        Net change of one season, future by future.
    lines : sequence of Line
        Those of the budget.
    seed : int
        Of the futures.

    Returns
    -------
    dict
        Columns of ``break_even`` but treatment, currency, counting and unit.

    Notes
    -----
    With P the price of all that is spread, less what is spared of the kind, and A the net change
    without it, a future breaks even at P / A seasons where both are above zero; at 0 where A is
    not below zero and P not above; else at none.
    """
    spread = [line for line in lines if line.seasons is not None]
    price = -sum((line.sign * line.prices(seed) for line in spread), np.zeros_like(net))
    rest = net - sum((line.sign * line.drawn(seed) for line in spread), np.zeros_like(net))
    with np.errstate(divide="ignore", invalid="ignore"):
        needed = np.where((rest > 0) & (price > 0), price / rest, np.inf)
    needed = np.where((rest >= 0) & (price <= 0), 0.0, needed)
    text = "how many seasons all that is spread over seasons would have to last, each alike"
    told = {"of": "seasons", "step": float("nan"), "says": "exactly", "text": text}
    return {**told, **_ends(needed)}


def _ends(needed: Floats) -> Row:
    """Sum up; what no number can be given for is not a number."""
    found = Spread.of(needed)
    ends = {"low": found.low, "median": found.median, "high": found.high}
    kept = {name: end if np.isfinite(end) else float("nan") for name, end in ends.items()}
    return {**kept, "never": found.never}
