"""Means of treatments within blocks, taken only over what is alike on all sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import pandas as pd

from wintersward.analysis.results import empty
from wintersward.report.numbers import listed_words

__all__ = ["BlockValues", "block_differences", "block_means", "blocks_without"]
__all__ += ["complete_units", "gaps_text"]


def _other_factors(plot_means: pd.DataFrame, effect: str) -> list[str]:
    """Name the columns of the factors besides one."""
    fixed = {*empty("plot_means").columns, effect}
    return [str(column) for column in plot_means.columns if column not in fixed]


def _combinations(frame: pd.DataFrame, factors: Sequence[str]) -> pd.Series:
    """Join the levels of some factors into one name; one that was not yet applied is empty."""
    if not factors:
        return pd.Series("", index=frame.index)
    first, *others = (frame[factor].fillna("").astype(str) for factor in factors)
    for text in others:
        first = first + ":" + text
    return first


@dataclass(frozen=True)
class BlockValues:
    """What one measure gave within each block, averaged once for all who ask.

    Parameters
    ----------
    plot_means : DataFrame
        Table of a run, in SI.
    measure : str
        What was observed.
    """

    plot_means: pd.DataFrame
    measure: str
    _known: dict[tuple[pd.Timestamp, str], pd.DataFrame] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def means(self, date: object, effect: str, levels: Sequence[str]) -> pd.DataFrame:
        """Average the units of each treatment within each block, as `block_means` does."""
        asked = (pd.Timestamp(str(date)), effect)
        if asked not in self._known:
            self._known[asked] = self._averaged(*asked)
        return pd.DataFrame(self._known[asked].reindex(columns=list(levels)))

    def differences(self, date: object, effect: str, left: str, right: str) -> pd.Series:
        """Subtract treatments within each block, as `block_differences` does."""
        wide = self.means(date, effect, [left, right])
        wide = wide[wide.index != ""]
        return (wide[left] - wide[right]).dropna()

    def without(self, date: object, effect: str, left: str, right: str) -> list[str]:
        """List the blocks of a trial that `differences` leaves out."""
        found = self.differences(date, effect, left, right)
        blocks = dict.fromkeys(self.plot_means["block"].astype(str))
        return [block for block in blocks if block and block not in found.index]

    def _averaged(self, day: pd.Timestamp, effect: str) -> pd.DataFrame:
        """Average every treatment of a factor that was observed on a day."""
        kept = self.plot_means[self.plot_means["measure"] == self.measure]
        kept = kept[pd.to_datetime(kept["date"]) == day]
        if kept.empty or effect not in kept:
            return pd.DataFrame(dtype=float)
        inner = _combinations(kept, _other_factors(self.plot_means, effect))
        keys = [kept["block"].astype(str).rename("block"), kept[effect].astype(str).rename(effect)]
        values = kept["value"].groupby(keys).mean()
        whole = inner.groupby(keys).nunique() == inner.nunique()
        return pd.DataFrame(values.where(whole).unstack())


def block_means(
    plot_means: pd.DataFrame, measure: str, date: object, effect: str, levels: Sequence[str]
) -> pd.DataFrame:
    """Average the units of each treatment within each block.

    Parameters
    ----------
    plot_means : DataFrame
        Table of a run, in SI.
    measure, date, effect : str
        What was observed, when, and the factor.
    levels : sequence of str
        Treatments of the factor.

    Returns
    -------
    DataFrame
        A row a block that has data, a column a level. A mean is taken only where every treatment
        of the other factors that was observed on that date is there: otherwise it would be over
        another mixture of them than its neighbours, and is missing.
    """
    return BlockValues(plot_means, measure).means(date, effect, levels)


def block_differences(
    plot_means: pd.DataFrame, measure: str, date: object, effect: str, left: str, right: str
) -> pd.Series:
    """Subtract the mean of the right treatment from that of the left one within each block.

    Returns
    -------
    Series
        In SI, indexed by block; blocks that lack one of the two, or a part of it, are absent, and
        so is what a layout without blocks holds.
    """
    return BlockValues(plot_means, measure).differences(date, effect, left, right)


def blocks_without(
    plot_means: pd.DataFrame, measure: str, date: object, effect: str, left: str, right: str
) -> list[str]:
    """List the blocks of a trial that `block_differences` leaves out."""
    return BlockValues(plot_means, measure).without(date, effect, left, right)


def gaps_text(blocks: Sequence[str]) -> str:
    """Say which blocks a picture leaves out, and why; empty for none.

    Examples
    --------
    >>> gaps_text(["2", "5"])
    'Blocks 2 and 5 are left out here: not all of their plots have a value.'
    >>> gaps_text([])
    ''
    """
    if not blocks:
        return ""
    if len(blocks) == 1:
        return f"Block {blocks[0]} is left out here: not all of its plots have a value."
    return f"Blocks {listed_words(blocks)} are left out here: not all of their plots have a value."


def complete_units(plot_means: pd.DataFrame, unit: pd.Series, effect: str) -> pd.Series:
    """Tell which units of a date hold every treatment of the factors drawn inside them.

    Parameters
    ----------
    plot_means : DataFrame
        Rows of one measure.
    unit : Series
        Name of the unit that each row is averaged onto, such as its whole plot.
    effect : str
        The factor that the unit carries.

    Returns
    -------
    Series of bool
        One a row.
    """
    inner = _combinations(plot_means, _other_factors(plot_means, effect))
    wanted = inner.groupby(plot_means["date"]).transform("nunique")
    there = inner.groupby([plot_means["date"], unit]).transform("nunique")
    return there == wanted
