"""Invented readings of loggers, for the tests."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

ZONE = "America/New_York"


def logged(
    times: pd.DatetimeIndex | Sequence[str],
    values: object,
    plot: str = "101",
    measure: str = "canopy_temperature",
    position: str = "",
    zone: str = ZONE,
) -> pd.DataFrame:
    """Make the readings of one logger; times without a zone are local."""
    index = pd.DatetimeIndex(times)
    index = index.tz_localize(zone) if index.tz is None else index
    read = np.broadcast_to(np.asarray(values, dtype=float), (len(index),))
    names = {"plot": plot, "measure": measure, "position": position}
    return pd.DataFrame({**names, "time": index, "value": read})


def through(first: str, last: str, step: str = "1h", zone: str = ZONE) -> pd.DatetimeIndex:
    """Give evenly spaced instants from one local midnight to another, the last left out."""
    return pd.date_range(first, last, freq=step, tz=zone, inclusive="left", unit="us")
