"""When each treatment factor was applied, and which of them the covers are."""

from __future__ import annotations

import datetime as dt

from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = ["begins", "cover_factor"]


def begins(definition: Definition, factor: str) -> dt.date:
    """Tell on which day a factor was applied; what is seen that day counts as before it.

    Parameters
    ----------
    definition : Definition
        The trial as decided.
    factor : str
        One of its treatment factors.
    """
    when = definition.treatments[factor].applied or "covers_on"
    return dates_meant(definition.dates, when)[0]


def cover_factor(definition: Definition) -> str | None:
    """Name the treatment factor that the covers are; None where that cannot be told.

    Notes
    -----
    It is the one that begins on the day the covers go on. Of several such factors it is the one
    that is named ``cover``, or else the only one with a treatment whose mass or light is given.
    """
    covers_on = dates_meant(definition.dates, "covers_on")[0]
    begun = [name for name in definition.treatments if begins(definition, name) == covers_on]
    if len(begun) > 1 and "cover" in begun:
        return "cover"
    if len(begun) > 1:
        begun = [name for name in begun if _described_as_cover(definition, name)]
    return begun[0] if len(begun) == 1 else None


def _described_as_cover(definition: Definition, factor: str) -> bool:
    levels = definition.treatments[factor].levels.values()
    return any(level.mass is not None or level.light is not None for level in levels)
