"""What the primary comparisons come to by all windows of green, counted."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from wintersward.report.verdicts import verdict
from wintersward.trial.schema import Definition

__all__ = ["Hanging", "hangings"]


@dataclass(frozen=True)
class Hanging:
    """What one comparison of the primary question comes to by all the windows.

    Parameters
    ----------
    left, right : str
        The treatments.
    declared, least, most : int
        Labels of rows of the table ``window_answers``: of the declared window, and of those with
        the smallest and the largest difference.
    windows, answered : int
        Windows in all, and those by which the comparison could be made.
    alike : int
        Of these, with an interval that stands to zero as that of the declared window does.
    same : int
        Of these, with the same verdict on the size too.
    side : int
        Where the declared interval lies: 1 above zero, -1 below, 0 where it holds zero.
    """

    left: str
    right: str
    declared: int
    least: int
    most: int
    windows: int
    answered: int
    alike: int
    same: int
    side: int

    @property
    def hangs(self) -> str:
        """What hangs on the threshold: ``zero``, ``size``, or nothing."""
        if self.alike < self.answered:
            return "zero"
        return "size" if self.same < self.answered else ""


def _side(lower: float, upper: float) -> int:
    return 1 if lower > 0 else -1 if upper < 0 else 0


def hangings(answers: pd.DataFrame, definition: Definition) -> list[Hanging]:
    """Tell of each primary comparison whether its conclusion hangs on the threshold of green.

    Parameters
    ----------
    answers : DataFrame
        Table ``window_answers`` of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    list of Hanging
        Those that the declared window answers, in the order of the definition.
    """
    matters = definition.analysis.primary.matters_from.value
    found = []
    for left, right in definition.analysis.primary.pairs:
        rows = answers[(answers["left"] == left) & (answers["right"] == right)]
        usable = rows[rows[["difference", "lower", "upper"]].notna().all(axis=1)]
        declared = usable.index[usable["declared"] == "yes"]
        if not len(declared):
            continue
        told = {
            int(at): (_side(low, high), verdict(low, high, matters), str(code))
            for at, low, high, code in zip(
                usable.index, usable["lower"], usable["upper"], usable["verdict"], strict=True
            )
        }
        own = told[int(declared[0])]
        apart = usable["difference"].astype(float)
        found.append(
            Hanging(
                left,
                right,
                int(declared[0]),
                int(str(apart.idxmin())),
                int(str(apart.idxmax())),
                len(rows),
                len(usable),
                sum(one[0] == own[0] for one in told.values()),
                sum(one == own for one in told.values()),
                own[0],
            )
        )
    return found
