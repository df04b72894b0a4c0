"""From when on differences and means are averaged over another factor, in one sentence."""

from __future__ import annotations

import datetime as dt

import pandas as pd

from wintersward.report.numbers import day_text
from wintersward.report.views import averaged_over, factor_label, in_sentence
from wintersward.trial.schema import Definition

__all__ = ["over_words"]


def over_words(rows: pd.DataFrame, definition: Definition, what: str) -> str:
    """Say from when on, and over what, rows of single factors are averaged.

    Parameters
    ----------
    rows : DataFrame
        With the columns date and effect, perhaps within; rows of several factors, or within one
        treatment, are averaged over nothing.
    definition : Definition
        The trial.
    what : str
        What the rows of a factor are, with ``{name}`` for it: ``differences of {name} are``.

    Returns
    -------
    str
        A sentence with a space before it, or one each where the factors begin apart; empty where
        nothing is averaged over.
    """
    begun: dict[str, tuple[dt.date, str]] = {}
    for _, row in rows.sort_values("date", kind="stable").iterrows():
        effect, day = str(row["effect"]), pd.Timestamp(str(row["date"])).date()
        if ":" in effect or effect in begun or str(row.get("within", "") or ""):
            continue
        if over := averaged_over(definition, effect, day):
            begun[effect] = day, over
    days = {day for day, _ in begun.values()}
    if len(begun) == 2 and len(definition.treatments) == 2 and len(days) == 1:
        return f" From {day_text(days.pop())} on, each factor is averaged over the other."
    return "".join(
        f" From {day_text(day)} on, "
        f"{what.format(name=in_sentence(factor_label(definition, effect)))} {over}."
        for effect, (day, over) in begun.items()
    )
