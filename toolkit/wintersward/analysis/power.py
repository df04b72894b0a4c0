"""How many blocks a trial needs: power of the planned analysis, before there are any data."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import prod, sqrt
from typing import Any, Literal

import pandas as pd

from wintersward.analysis.power_formulas import (
    equivalence_power,
    half_width,
    overall_power,
    pair_power,
)
from wintersward.analysis.power_plan import Plan, checked, spread
from wintersward.analysis.power_simulated import PATTERNS, TRIALS, cells_across, with_lost
from wintersward.errors import WinterswardError, listed

__all__ = ["blocks_needed", "power"]

Compared = Literal["first", "second", "first within second", "second within first"]
_COLUMNS = ["blocks", "units", "df", "se", "power", "half_width", "smallest_p", "method"]


class _TooFew(WinterswardError):
    """No number of blocks that was asked for leaves an error."""


def power(
    layout: str = "randomised blocks",
    treatments: int | Sequence[int] = 2,
    blocks: int | Iterable[int] = range(2, 13),
    *,
    difference: float | None = None,
    sd: float | None = None,
    cv: float | None = None,
    mean: float | None = None,
    variances: Mapping[str, float] | pd.DataFrame | None = None,
    unit: str | None = None,
    compare: Compared = "first",
    test: Literal["pair", "overall"] = "pair",
    alpha: float = 0.05,
    purpose: Literal["difference", "equivalence"] = "difference",
    margin: float | None = None,
    true_difference: float = 0.0,
    comparisons: int = 1,
    lost: int = 0,
    seed: int = 1,
    grounds: int = 1,
) -> pd.DataFrame:
    """Give the chance that a trial shows what it should, for each number of blocks.

    Parameters
    ----------
    layout : str
        completely random, randomised blocks, latin square, split plot or strip plot.
    treatments : int or (int, int)
        Number of treatments; of two factors both numbers, in a split plot that of the whole
        plots first.
    blocks : int or iterable of int
        Numbers of blocks; in a completely random layout plots of each treatment, in Latin
        squares rows (a multiple of the treatments: squares with rows and columns of their own).
    difference : float [unit of the measure]
        Smallest difference between two treatments that matters.
    sd : float [unit of the measure]
        Standard deviation of the experimental units of the compared treatments (of whole-plot
        means for whole plots), blocks and treatments allowed for.
    cv : float [%]
        Coefficient of variation in place of `sd`; without a `mean` all differences are in % of
        the mean.
    mean : float [unit of the measure]
        Expected mean, to go with `cv`.
    variances : mapping or DataFrame
        Variances of an earlier run in place of `sd`: by term, or with columns term and variance.
    unit : str, optional
        Random term among `variances` whose levels are the units of the compared treatments.
        Left out: ``whole_plot`` for the whole plots of a split plot where it is there, else
        ``residual``. A strip plot needs it.
    compare : {"first", "second", "first within second", "second within first"}
        Which factor's treatments are compared, and whether within one treatment of the other.
    test : {"pair", "overall"}
        Two treatments, or the F test over all of them: two as far apart as `difference`, the
        rest half-way between, which is the hardest case.
    alpha : float
        Error rate; two-sided for a difference, of each one-sided test for equivalence.
    purpose : {"difference", "equivalence"}
        To see a difference, or to show that there is none beyond the `margin`.
    margin, true_difference : float [unit of the measure]
        For equivalence: the margin, and how large the difference truly is.
    comparisons : int
        Number of comparisons with one control that are declared as one family: each is then
        tested at alpha over their number (Bonferroni). Dunnett's limits, by which a family is
        answered, are slightly nearer, so that the power is slightly more than is said.
    lost : int
        Experimental units that will be lost, any of them.
    seed : int
        For what has to be drawn.
    grounds : int
        Number of grounds, each with the number of blocks of the row; a difference is averaged
        over them.

    Returns
    -------
    DataFrame
        Columns blocks; units (of each compared treatment); df; se (true standard error of the
        difference) and half_width (expected, of the interval that answers), in the unit of the
        measure; power; smallest_p (by randomisation of the treatments compared, whatever the
        data, none lost); method. Sorted by blocks; numbers that leave no error are left out.

    Raises
    ------
    WinterswardError
        With everything that is wrong in the question.

    Notes
    -----
    A comparison in its own stratum is exact: noncentral t for a pair, noncentral F overall, and
    the integral of `wintersward.analysis.power_formulas.equivalence_power` for equivalence. With
    lost units each pattern of loss is exact, and patterns are drawn at random. Treatments of
    whole plots within one treatment of the subplots have an error made of two; there the mean
    squares of the planned analysis are drawn and its approximate test is done on them.

    Examples
    --------
    >>> table = power(treatments=4, blocks=[7, 8], difference=15, cv=10)
    >>> table[["blocks", "df", "power", "smallest_p"]].round(3).values.tolist()
    [[7.0, 18.0, 0.756, 0.016], [8.0, 21.0, 0.816, 0.008]]
    """
    plan = _planned(
        layout,
        treatments,
        (sd, cv, mean, variances, unit),
        compare=compare,
        test=test,
        difference=_number(difference),
        alpha=alpha,
        purpose=purpose,
        margin=_number(margin),
        true_difference=true_difference,
        comparisons=comparisons,
        lost=lost,
        seed=seed,
        grounds=grounds,
    )
    asked = sorted({blocks} if isinstance(blocks, int) else set(blocks))
    usable = [b for b in asked if _usable(plan, b)]
    if not usable:
        rule = "from 2, more units than are lost"
        rule += f", a multiple of {plan.step}" if plan.step > 1 else ""
        raise _TooFew(f"blocks: found {listed(asked) or 'none'}; allowed: {rule}")
    return pd.DataFrame([_row(plan, b) for b in usable], columns=_COLUMNS)


def _number(value: float | None) -> float:
    return float("nan") if value is None else float(value)


def _planned(
    layout: str, treatments: int | Sequence[int], sources: tuple[Any, ...], **asked: Any
) -> Plan:
    """Check the question and find what it is judged by."""
    counted = (treatments,) if isinstance(treatments, int) else tuple(treatments)
    if len(counted) not in (1, 2):
        raise WinterswardError(f"treatments: found {listed(counted)}; allowed: one number or two")
    both = (counted[0], counted[1] if len(counted) == 2 else 1)
    own, within = spread((layout, both, asked["compare"]), *sources)
    return checked(Plan(layout=layout, treatments=both, sd=own, within_sd=within, **asked))


def _usable(plan: Plan, blocks: int) -> bool:
    """Tell whether a number of blocks leaves an error."""
    return blocks >= 2 and blocks % plan.step == 0 and plan.df(blocks) > plan.lost


def _row(plan: Plan, blocks: int) -> dict[str, Any]:
    """Give one row of the table."""
    units, df = plan.units(blocks), float(plan.df(blocks))
    se = plan.sd * sqrt(2 / units)
    if plan.mixed:
        chance, df = cells_across(plan, blocks)
        method = f"drawn: {TRIALS} trials, seed {plan.seed}"
    elif plan.lost:
        chance, se, df = with_lost(plan, blocks)
        method = f"exact over at most {PATTERNS} patterns of loss, seed {plan.seed}"
    elif plan.test == "overall":
        half = plan.difference / 2
        means = [half, -half, *[0.0] * (plan.levels - 2)]
        chance, method = overall_power(means, plan.sd, units, df, plan.alpha), "noncentral F"
    elif plan.purpose == "equivalence":
        chance = equivalence_power(plan.margin, se, df, plan.true_difference, plan.each)
        method = "two one-sided tests, integrated"
    else:
        chance, method = pair_power(plan.difference, se, df, plan.each), "noncentral t"
    if plan.comparisons > 1:
        method += f"; each of {plan.comparisons} comparisons at alpha / {plan.comparisons}"
    level = 1 - plan.each * (2 if plan.purpose == "equivalence" else 1)
    return {
        "blocks": blocks,
        "units": units,
        "df": df,
        "se": se,
        "power": chance,
        "half_width": half_width(se, df, level) if df > 0 else float("nan"),
        "smallest_p": plan.smallest_p(blocks),
        "method": method,
    }


def blocks_needed(
    layout: str = "randomised blocks",
    treatments: int | Sequence[int] = 2,
    *,
    wanted: float = 0.8,
    most: int = 1000,
    **question: Any,
) -> int:
    """Find the smallest number of blocks with the wanted power.

    Parameters
    ----------
    layout, treatments
        As in `power`.
    wanted : float
        Chance that the trial is to have.
    most : int
        Blocks at which to give up.
    **question
        The further arguments of `power`, but for ``blocks``.

    Returns
    -------
    int

    Notes
    -----
    The search takes power to grow with blocks, as it does from about one half on.

    Raises
    ------
    WinterswardError
        Where even the most blocks are not enough, and as in `power`.

    Examples
    --------
    >>> blocks_needed(treatments=4, difference=15, cv=10)
    8
    """
    if not 0 < wanted < 1:
        raise WinterswardError(f"wanted: found {wanted:g}; allowed: between 0 and 1")

    def enough(blocks: int) -> bool:
        try:
            table = power(layout, treatments, blocks, **question)
        except _TooFew:
            return False
        return float(table["power"].iloc[0]) >= wanted

    counted = [treatments] if isinstance(treatments, int) else list(treatments)
    step = prod(counted) if layout == "latin square" else 1
    low, high = 0, step
    while not enough(high):
        low, high = high, high * 2
        if high > most:
            raise WinterswardError(
                f"{most} blocks do not have a power of {wanted:g}; ask for a larger difference"
                " or less power"
            )
    while high - low > step:
        middle = (low + high) // (2 * step) * step
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high
