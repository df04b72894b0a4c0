"""The primary question of a definition as something to be planned: what will judge it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from wintersward.analysis.power_formulas import detectable, half_width, pair_power
from wintersward.analysis.power_plan import Plan, checked
from wintersward.trial.schema import Definition, SheetMeasure

__all__ = ["COVER_SD", "MOST_BLOCKS", "RATING_CV", "Prospect", "prospect"]

# Spread that is planned by where the definition has no ``planning``.
RATING_CV = 20.0
RATING_SOURCE = (
    "ratings of turf under traffic from January to April varied by 19.6 to 21.3 % of their mean "
    "in variety trials in Oregon (NTEP tables), so 20 % is taken"
)
COVER_SD = 8.2
COVER_SOURCE = (
    "ground cover varied by 3.3 to 8.2 % of its mean in variety trials (NTEP tables); the upper "
    "end is taken as points, since patchy winter turf varies more than settled turf"
)
# As many as a definition may ask for.
MOST_BLOCKS = 60


@dataclass(frozen=True)
class Prospect:
    """The primary question of a definition, as something to be planned.

    Parameters
    ----------
    plan : Plan
        The comparison, but for the number of blocks; its ``sd`` is 1 where none is known.
    blocks : int
        Blocks on each ground; plots of each treatment, or rows of a square, where there are none.
    wanted : float
        Chance that the trial is to have, from 0 to 1.
    known : bool
        Whether a standard deviation is known.
    source : str
        Where it comes from, as a sentence goes on; empty where it stands in the definition.
    unit_kind : str
        What the compared treatments are dealt to: plot, whole plot, subplot, row strip.
    """

    plan: Plan
    blocks: int
    wanted: float
    known: bool
    source: str
    unit_kind: str

    def units(self, blocks: int) -> int:
        """Count the experimental units of each compared treatment."""
        return self.plan.units(blocks)

    def df(self, blocks: int) -> int:
        """Count the error degrees of freedom."""
        return self.plan.df(blocks)

    def se(self, blocks: int) -> float:
        """Give the true standard error of a difference [unit of the measure]."""
        return self.plan.sd * math.sqrt(2 / self.units(blocks))

    def detectable(self, blocks: int) -> float:
        """Give the true difference that is seen with the wanted chance [unit of the measure]."""
        if not self.known:
            return math.nan
        return detectable(self.se(blocks), self.df(blocks), self.wanted, self.plan.each)

    def half_width(self, blocks: int) -> float:
        """Give the expected half-width of the interval [unit of the measure]."""
        if not self.known:
            return math.nan
        return half_width(self.se(blocks), self.df(blocks), 1 - self.plan.each)

    def power(self, blocks: int) -> float:
        """Give the chance to see the smallest difference that matters."""
        if not self.known:
            return math.nan
        return pair_power(self.plan.difference, self.se(blocks), self.df(blocks), self.plan.each)

    def smallest_p(self, blocks: int) -> float:
        """Give the smallest p that a randomisation test can give."""
        return self.plan.smallest_p(blocks)

    def needed(self) -> int | None:
        """Find the blocks with which the difference that matters is seen; None beyond the most."""
        sizes = range(2, MOST_BLOCKS + 1) if self.known else ()
        return next((b for b in sizes if self.power(b) >= self.wanted), None)

    def needed_by_chance(self) -> int | None:
        """Find the blocks with which a randomisation test can reach alpha."""
        sizes = range(2, MOST_BLOCKS + 1)
        return next((b for b in sizes if self.smallest_p(b) <= self.plan.alpha), None)

    def needed_for_df(self, least: int) -> int:
        """Find the blocks that leave at least so many degrees of freedom."""
        return next(b for b in range(2, least + 2) if self.df(b) >= least)

    def in_blocks(self) -> Prospect:
        """Give the same question in randomised blocks, for layouts that cannot grow."""
        return replace(self, plan=replace(self.plan, layout="randomised blocks"))


def prospect(definition: Definition) -> Prospect:
    """Find what the primary question will be judged by.

    Parameters
    ----------
    definition : Definition
        The trial; its layout is tested, not a demonstration.

    Returns
    -------
    Prospect

    Notes
    -----
    The standard deviation is between experimental units treated alike within a block: of
    whole-plot means for a factor of whole plots. It is that of ``planning``; without it
    `RATING_CV` of the acceptable mark, or of the middle of the scale, for ratings, and `COVER_SD`
    for a measure in percent; for anything else none is known.

    References
    ----------
    National Turfgrass Evaluation Program, progress reports bu96 (table 1B) and ff14 (table 9D):
    coefficients of variation.
    """
    layout, treatments = definition.layout, definition.treatments
    question = definition.analysis.primary
    factor = definition.factor_of(question.levels[0])
    order = {
        "split plot": [layout.whole_plot, layout.subplot],
        "strip plot": [layout.row_strips, layout.column_strips],
    }.get(layout.kind, list(treatments))
    counts = [len(treatments[str(name)].levels) for name in order]
    second = len(order) == 2 and factor == order[1]
    sd, source = _spread(definition)
    plan = Plan(
        layout=layout.kind,
        treatments=(counts[0], counts[1] if len(counts) == 2 else 1),
        compare="second" if second else "first",
        test="pair",
        sd=1.0 if sd is None else sd,
        within_sd=math.nan,
        difference=question.matters_from.value,
        alpha=definition.analysis.alpha,
        purpose="difference",
        margin=math.nan,
        true_difference=0.0,
        comparisons=len(question.pairs),
        lost=0,
        seed=1,
        grounds=len(layout.ground_names),
    )
    kinds = {
        "split plot": ("whole plot", "subplot"),
        "strip plot": ("row strip", "column strip"),
    }.get(layout.kind, ("plot", "plot"))
    wanted = (definition.planning.power if definition.planning else 80.0) / 100
    many = layout.blocks or layout.replicates or definition.combinations
    return Prospect(checked(plan), many, wanted, sd is not None, source, kinds[int(second)])


def _spread(definition: Definition) -> tuple[float | None, str]:
    """Find the standard deviation to plan by [unit of the measure], and where it comes from."""
    planning = definition.planning
    if planning is not None and planning.sd is not None:
        return planning.sd.value, ""
    if planning is not None and planning.cv is not None and planning.mean is not None:
        return planning.cv * abs(planning.mean.value) / 100, ""
    measure = definition.measures[definition.analysis.primary.measure]
    if isinstance(measure, SheetMeasure) and measure.scale is not None:
        mark, named = measure.acceptable, "the acceptable mark"
        if mark is None:
            mark, named = sum(measure.scale) / 2, "the middle of the scale"
        return RATING_CV * mark / 100, f"{RATING_SOURCE}, of {named}, {mark:g}"
    if measure.unit == "%":
        return COVER_SD, COVER_SOURCE
    return None, ""
