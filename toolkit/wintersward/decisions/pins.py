"""Pins and staples counted into the turf and out of it, and how many nobody has found again."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from wintersward.analysis.decision_columns_readiness import READINESS
from wintersward.decisions.rows import framed
from wintersward.study import Trial
from wintersward.trial.diary_counts import PinCount, pin_kind

__all__ = ["ALL_OUT", "MISSING", "MORE_OUT", "NEVER_IN", "NEVER_OUT", "pin_counts"]

ALL_OUT, MISSING = "all counted out", "missing"
MORE_OUT, NEVER_OUT, NEVER_IN = "more out than in", "never counted out", "never counted in"


def pin_counts(trial: Trial) -> pd.DataFrame:
    """Sum the pins and staples that the diary counts, kind by kind.

    Parameters
    ----------
    trial : Trial
        Its diary holds the counts, under ``pins``.

    Returns
    -------
    DataFrame
        The table ``pin_counts``: one row a kind, with ``plots`` empty, and one a kind and list of
        plots where every list was counted in and out by itself. Counts compare no treatments, so
        that they are told whenever they are there.

    Notes
    -----
    A sum that comes out even says that as many were counted out as in. It does not say that the
    turf is clear of them: who counts may miscount.
    """
    kinds: dict[str, list[PinCount]] = {}
    for one in trial.diary.pins:
        kinds.setdefault(pin_kind(one.what), []).append(one)
    rows = []
    for counts in kinds.values():
        name = " ".join(counts[0].what.split())
        rows.append({"what": name, "plots": "", **_summed(counts)})
        places: dict[str, list[PinCount]] = {}
        for one in counts:
            places.setdefault(_place(one), []).append(one)
        summed = {place: _summed(own) for place, own in places.items()}
        # Counts of single plots say something only where each was counted in and out by itself.
        both = all(one["state"] not in (NEVER_OUT, NEVER_IN) for one in summed.values())
        if both and len(places) > 1:
            rows += [{"what": name, "plots": place, **one} for place, one in summed.items()]
    return framed(READINESS["pin_counts"], rows)


def _place(one: PinCount) -> str:
    return one.plots if isinstance(one.plots, str) else ", ".join(sorted(one.plots))


def _summed(counts: Sequence[PinCount]) -> dict[str, Any]:
    """Sum counts of one kind; what nobody counted is not zero."""
    gone = [one.out for one in counts if one.out is not None]
    found = [one.back for one in counts if one.back is not None]
    out, back = (float(sum(each)) if each else np.nan for each in (gone, found))
    days = [pd.Timestamp(one.date) for one in counts]
    return {
        "out": out,
        "back": back,
        "missing": out - back,
        "first": min(days),
        "last": max(days),
        "state": _state(out, back),
    }


def _state(out: float, back: float) -> str:
    if np.isnan(out):
        return NEVER_IN
    if np.isnan(back):
        return NEVER_OUT
    return MISSING if back < out else MORE_OUT if back > out else ALL_OUT
