"""What a trial can be expected to see, told from its definition before there are any data."""

from __future__ import annotations

import math

import pandas as pd

from wintersward.analysis.hand_orders import same_orders
from wintersward.analysis.prospect import MOST_BLOCKS, Prospect, prospect
from wintersward.trial.catalogue import reading_unit
from wintersward.trial.schema import Definition, Measure, SheetMeasure
from wintersward.units import from_si

__all__ = [
    "amount_words",
    "expectation_words",
    "expected",
    "level_name",
    "many_words",
    "matters_words",
]

_AROUND = 3
_COLUMNS = [
    "blocks",
    "units",
    "df",
    "detectable",
    "half_width",
    "power",
    "smallest_p",
    "planned",
]
_SYMBOLS = {"degC": "°C", "degF": "°F"}


def expected(definition: Definition) -> pd.DataFrame:
    """Tell what a trial can be expected to see, for the planned number of blocks and others.

    Parameters
    ----------
    definition : Definition
        The trial.

    Returns
    -------
    DataFrame
        Columns blocks (on each ground; plots of each treatment or rows of a square where there
        are no blocks); units (of each compared treatment); df; detectable (the true difference
        seen with the wanted chance) and half_width (expected, of the interval), in the unit of
        the measure; power (chance to see ``matters_from``); smallest_p (of a randomisation
        test); planned (whether the definition asks for this number). Sorted by blocks. NaN where
        no spread is known. A square has one row; a demonstration, which is never tested, none.

    Notes
    -----
    Noncentral t in the stratum of the compared factor, two-sided, each comparison of a declared
    family at alpha over their number (Bonferroni), as in `wintersward.analysis.power.power`.
    """
    if not definition.layout.tested:
        return pd.DataFrame(columns=_COLUMNS)
    ahead = prospect(definition)
    sizes = {ahead.blocks}
    if definition.layout.kind != "latin square":
        low = max(2, ahead.blocks - _AROUND)
        sizes |= set(range(low, min(MOST_BLOCKS, ahead.blocks + _AROUND) + 1))
        sizes |= {found for found in (ahead.needed(),) if found is not None}
    rows = [
        {
            "blocks": blocks,
            "units": ahead.units(blocks),
            "df": ahead.df(blocks),
            "detectable": ahead.detectable(blocks),
            "half_width": ahead.half_width(blocks),
            "power": ahead.power(blocks),
            "smallest_p": ahead.smallest_p(blocks),
            "planned": blocks == ahead.blocks,
        }
        for blocks in sorted(sizes)
    ]
    return pd.DataFrame(rows, columns=_COLUMNS)


def expectation_words(
    definition: Definition, for_paper: bool = False, plots: pd.DataFrame | None = None
) -> list[str]:
    """Say in plain sentences what a trial can be expected to see.

    Parameters
    ----------
    definition : Definition
        The trial.
    for_paper : bool
        Leave out what only tells the planner how to write another number.
    plots : DataFrame, optional
        ``plan/plots.csv``, once they are drawn; tells whether a hand laid them in one order.

    Returns
    -------
    list of str
        One sentence for a demonstration; else what can be seen, what would be needed, how wide
        the interval will be, what chance alone allows, what all of it rests on, and how to plan
        by another number.
    """
    if not definition.layout.tested:
        return [
            "This is a demonstration, one area of each treatment: no difference, however large, "
            "can be told by a test from the difference between the places themselves."
        ]
    ahead = prospect(definition)
    said = _seen(definition, ahead) if ahead.known else []
    said = [*said, _by_chance(definition, ahead), *_rests_on(definition, ahead)]
    if plots is not None and same_orders(definition, plots):
        said.insert(
            0,
            "What follows holds only if chance decided where each treatment lies: these plots were "
            "laid by hand, in the same order everywhere.",
        )
    return said if for_paper or not ahead.source and ahead.known else [*said, _own(definition)]


def _own(definition: Definition) -> str:
    """Tell the planner how to plan by another spread."""
    measure = definition.measures[definition.analysis.primary.measure]
    kind = measure.difference_kind
    unit = "" if kind == "bare" else f" {_shown_in(measure, definition.units)}"
    example = 6 if kind == "points" else 2
    written = f"planning: {{sd: {example}{unit}}}"
    return f"To plan by your own number, write it in trial.yaml as '{written}'."


def _seen(definition: Definition, ahead: Prospect) -> list[str]:
    question = definition.analysis.primary
    lefts = [level_name(definition, left) for left, _ in question.pairs]
    right = level_name(definition, question.pairs[0][1])
    between = f"{lefts[0]} and {right}"
    if len(lefts) > 1:
        between = f"{right} and each of {_listed(lefts)}"
    name = _name(definition, question.measure)
    least = amount_words(definition, ahead.detectable(ahead.blocks), up=True)
    here, wanted = many_words(definition, ahead.blocks), _chance(ahead.wanted)
    one = (
        f"With {here} you can expect to see a difference of {least} or more in {name} between "
        f"{between}, {wanted}."
    )
    reach = amount_words(definition, ahead.half_width(ahead.blocks), up=True)
    level = f"{100 * (1 - definition.analysis.alpha):g} %"
    held = f", {len(lefts)} comparisons held together," if len(lefts) > 1 else ""
    width = f"The {level} interval of a difference{held} will reach about {reach} to either side."
    return [one, _matters(definition, ahead), width]


def _matters(definition: Definition, ahead: Prospect) -> str:
    """Say how many blocks the difference that matters needs."""
    matters = amount_words(definition, ahead.plan.difference)
    found, wanted = ahead.power(ahead.blocks), _chance(ahead.wanted)
    square = definition.layout.kind == "latin square"
    needed = (ahead.in_blocks() if square else ahead).needed()
    now = f"A difference of {matters}, the least that matters, would be seen {_chance(found)}"
    if found >= ahead.wanted:
        fewer = needed is not None and needed < ahead.blocks and not square
        return (
            f"{now}; {many_words(definition, needed)} would do." if fewer and needed else f"{now}."
        )
    if needed is None:
        return (
            f"{now}; not even {MOST_BLOCKS} blocks would show it {wanted}: ask for a larger "
            "difference, or make the plots more alike."
        )
    if square:
        return f"{now}; to see it {wanted} take randomised blocks, {needed} of them."
    return f"{now}; to see it {wanted} you need {many_words(definition, needed)}."


def _by_chance(definition: Definition, ahead: Prospect) -> str:
    """Say how small the p of a randomisation test can be."""
    share, alpha = ahead.smallest_p(ahead.blocks), definition.analysis.alpha
    here = many_words(definition, ahead.blocks)
    ways = f"1 of {round(1 / share) if share > 1e-6 else 'more than a million'} ways"
    if share <= alpha:
        return (
            f"With {here} chance alone could deal the treatments as far apart as they can lie in "
            f"{ways}, so the randomisation test can reach {alpha:g}."
        )
    needed = ahead.needed_by_chance()
    square = definition.layout.kind == "latin square"
    instead = f": take {needed}" if needed is not None else ""
    instead = ": take randomised blocks" if square else instead
    return (
        f"With {here} chance alone could deal the treatments as they will lie in {ways}, so the "
        f"randomisation test cannot reach {alpha:g}{instead}."
    )


def _rests_on(definition: Definition, ahead: Prospect) -> list[str]:
    """Say which spread was taken, and from where."""
    name = _name(definition, definition.analysis.primary.measure)
    units, df = ahead.units(ahead.blocks), ahead.df(ahead.blocks)
    counted = (
        f"{units} {ahead.unit_kind}s of each treatment and {df} degrees of freedom for the error"
    )
    if not ahead.known:
        return [
            f"There will be {counted}.",
            f"How much {name} differs between {ahead.unit_kind}s treated alike is not known here, "
            "so what can be seen cannot be told.",
        ]
    spread = amount_words(definition, ahead.plan.sd)
    inside = " in one block" if definition.layout.blocks else ""
    taken = (
        f"This takes {ahead.unit_kind}s treated alike{inside} to differ by a standard deviation "
        f"of {spread}"
    )
    said = [f"It rests on {counted}."]
    if not ahead.source:
        return [*said, f"{taken}, as 'planning' in trial.yaml says."]
    return [*said, f"{taken}: {ahead.source}."]


def level_name(definition: Definition, level: str) -> str:
    """Name a treatment as readers know it."""
    return definition.treatments[definition.factor_of(level)].levels[level].label


def matters_words(definition: Definition) -> str:
    """Say which difference matters: ``8 points matter``, ``1 point matters``."""
    amount = amount_words(definition, definition.analysis.primary.matters_from.value)
    return f"{amount} {'matters' if amount.split()[0] == '1' else 'matter'}"


def amount_words(definition: Definition, si: float, up: bool = False) -> str:
    """Write a difference of the primary measure in the reader's unit.

    Parameters
    ----------
    definition : Definition
        The trial.
    si : float [unit of the measure]
        The difference.
    up : bool
        Round up to two digits that count, so that no more is promised than is there.
    """
    measure = definition.measures[definition.analysis.primary.measure]
    kind, unit = measure.difference_kind, ""
    if kind == "points":
        unit = "points"
    elif kind != "bare":
        unit = _shown_in(measure, definition.units)
        si = from_si(si, unit, difference=True)
    shown = f"{_rounded_up(si) if up else si:.4g}"
    unit = "point" if unit == "points" and shown == "1" else _SYMBOLS.get(unit, unit)
    return f"{shown} {unit}".rstrip()


def _shown_in(measure: Measure, system: str) -> str:
    own = measure.kind if isinstance(measure, SheetMeasure) else None
    return reading_unit(own, measure.difference_kind, system)


def _rounded_up(value: float) -> float:
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    # A hair below a step is that step: 11.000000001 points are 11.
    return math.ceil(value / step - 1e-9) * step


def _chance(share: float) -> str:
    """Say a chance as so many times in ten or a hundred.

    Examples
    --------
    >>> _chance(0.8), _chance(0.816), _chance(0.9999)
    ('8 times in 10', '82 times in 100', 'more than 99 times in 100')
    """
    if share > 0.99:
        return "more than 99 times in 100"
    many = max(1, round(100 * share))
    if many % 10 == 0:
        return f"{many // 10} {'time' if many == 10 else 'times'} in 10"
    return f"{many} {'time' if many == 1 else 'times'} in 100"


def many_words(definition: Definition, blocks: int) -> str:
    """Say a number of blocks, or what stands for it in layouts without."""
    layout = definition.layout
    if layout.kind == "completely random":
        return f"{blocks} plots of each treatment"
    if layout.kind == "latin square":
        return f"a square of {blocks} rows"
    where = f" on each of {len(layout.ground_names)} grounds" if layout.grounds else ""
    return f"{blocks} blocks{where}"


def _name(definition: Definition, measure: str) -> str:
    label = definition.measures[measure].label or measure.replace("_", " ")
    return label if label[1:2].isupper() else label[0].lower() + label[1:]


def _listed(words: list[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]])
