"""Limits of a study that follow from its plots, its play and its turf."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pandas as pd

from wintersward.report.numbers import day_text
from wintersward.report.views import quantity
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["dated_words", "limits_words"]

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
# Turf that was laid or sown less than a year before the covers went on is in its first winter.
_YEAR_DAYS = 365


def limits_words(page: Page) -> list[str]:
    """Say what follows from small plots, from little play and from young turf.

    Parameters
    ----------
    page : Page
        Its definition and the table ``management``.

    Returns
    -------
    list of str
        Sentences for the limits of the study.
    """
    definition = page.definition
    said = [_small(definition), _play(page.table("management")), _young(definition)]
    return [words for words in said if words]


def dated_words(told: str) -> str:
    """Write the ISO days of a sentence of the definition as readers are told days.

    Examples
    --------
    >>> dated_words("sod, laid 2025-10-06")
    'sod, laid 6 October 2025'
    """

    def written(found: re.Match[str]) -> str:
        day = pd.to_datetime(found[0], errors="coerce")
        return found[0] if pd.isna(day) else day_text(day)

    return _DAY.sub(written, told)


def _small(definition: Definition) -> str:
    layout, system = definition.layout, definition.units
    size = " by ".join(quantity(side, "distance", system) for side in layout.plot_size)
    return f"Plots of {size}: a cover over a whole field may lie, warm and dry otherwise."


def _play(management: pd.DataFrame) -> str:
    """Say what play there was, as far as the diary tells."""
    many = int((management["what"] == "traffic").sum())
    if not many:
        return (
            "The diary tells of no play on the plots: nothing here tells how the turf bears a "
            "season."
        )
    times = "once" if many == 1 else "twice" if many == 2 else f"{many} times"
    return (
        f"The diary tells of play or traffic on the plots {times} (see Care): how the turf bears a "
        "season of play, that does not tell."
    )


def _young(definition: Definition) -> str:
    """Say that turf is in its first winter, where the definition gives the day it was laid."""
    told = definition.site.turf.established or ""
    found = _DAY.search(told)
    if not found:
        return ""
    laid = pd.to_datetime(found[0], errors="coerce")
    first = pd.Timestamp(dates_meant(definition.dates, "covers_on")[0])
    if pd.isna(laid) or not 0 <= (first - laid).days < _YEAR_DAYS:
        return ""
    kind = "Sod" if "sod" in told.lower() else "Turf"
    return f"{kind} in its first winter ({dated_words(told)}) may answer otherwise than old turf."
