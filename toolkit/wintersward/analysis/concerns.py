"""What is wrong with a plan that its file allows: each thing named, with what to do instead."""

from __future__ import annotations

from collections.abc import Callable
from itertools import chain

import pandas as pd

from wintersward.analysis.aliasing import Alias, aliases
from wintersward.analysis.concern import KINDS, Concern, Found
from wintersward.analysis.expectations import amount_words, level_name, many_words, matters_words
from wintersward.analysis.field_concerns import FIELD_CHECKS, in_feet
from wintersward.analysis.hand_orders import SameOrder, same_orders
from wintersward.analysis.prospect import MOST_BLOCKS, Prospect, prospect
from wintersward.analysis.sun_values import FROM_SHADE
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition, LoggerMeasure, PhotoMeasure, SheetMeasure

__all__ = ["KINDS", "Concern", "plan_concerns"]

# Error degrees of freedom below which an error is hardly known, or thin; the smallest sampled
# part of a plot [m2], and the smallest share of it that photos should show; the seeds below it
# look typed by habit. Common practice, no source.
TOO_FEW, THIN = 6, 10
SAMPLED_M2 = 1.0
SHOWN = 0.1
_TYPED = 100
# What the primary question is judged by, as the lines about it call it.
_DF, _CHANCE, _SEEN = "degrees of freedom", "the randomisation test", "what can be expected"


def plan_concerns(
    definition: Definition,
    plots: pd.DataFrame | None = None,
    values: pd.DataFrame | None = None,
) -> list[Concern]:
    """Name what is wrong with a plan, the worst first.

    Parameters
    ----------
    definition : Definition
        The trial; sound as far as its file is checked.
    plots : DataFrame, optional
        ``plan/plots.csv``, once they are drawn.
    values : DataFrame, optional
        What is known of each plot before treatment: index plot, numbers or words; hours of sun
        that were worked out are called `wintersward.analysis.sun_values.FROM_SHADE`.

    Returns
    -------
    list of Concern
        By kind as in `KINDS`, then field.
    """
    checks: list[Callable[[Definition], Found]] = [
        _demonstration,
        _control,
        _under_covers,
        _baseline,
        _after_play,
        _plot_size,
        _raters,
        _seed,
        *FIELD_CHECKS,
    ]
    found = list(chain.from_iterable(check(definition) for check in checks))
    if definition.layout.tested:
        found += _judged(definition, prospect(definition))
        if plots is not None:
            known = values if values is not None else pd.DataFrame(index=plots["plot"])
            same = same_orders(definition, plots)
            chosen = {factor for one in same for factor in one.factors}
            found += [_by_choice(definition, one) for one in same]
            found += [
                _aliased(definition, one)
                for one in aliases(definition, plots, known)
                # That a place goes with treatments in one order is told already.
                if not (one.place and one.factor in chosen)
            ]
    return sorted(found, key=lambda one: (KINDS.index(one.kind), one.field, one.what))


def _demonstration(definition: Definition) -> Found:
    if not definition.layout.tested:
        yield Concern(
            "demonstration",
            "one area of each treatment, so that a treatment cannot be told from its place, "
            "however many photos are taken of it",
            "to compare treatments, take randomised blocks with smaller plots; keep this to show",
            "layout.kind",
        )


def _judged(definition: Definition, ahead: Prospect) -> Found:
    """Look at what the primary question is judged by."""
    blocks, alpha = ahead.blocks, definition.analysis.alpha
    field = "layout.replicates" if definition.layout.replicates else "layout.blocks"
    field = "layout.kind" if definition.layout.kind == "latin square" else field
    df, needs = ahead.df(blocks), _needs(definition, ahead)
    if df < THIN:
        kind = f"{'too few' if df < TOO_FEW else 'thin'} degrees of freedom"
        word = "the error is hardly known at all" if df < TOO_FEW else "the error is poorly known"
        yield Concern(
            kind,
            f"{df} degrees of freedom for the error of the primary question with "
            f"{many_words(definition, blocks)}: {word}",
            _take(definition, needs, _DF, f", which leave {THIN} or more"),
            field,
        )
    least = ahead.smallest_p(blocks)
    if least > alpha:
        yield Concern(
            "randomisation test",
            f"no randomisation test of the primary question can give less than {least:.2g}, since "
            f"the plan could fall in so few ways, and alpha is {alpha:g}",
            _take(definition, needs, _CHANCE) if _CHANCE in needs else "take another layout",
            field,
        )
    if _sees_too_little(ahead):
        yield _too_small(definition, ahead, field, needs)


def _sees_too_little(ahead: Prospect) -> bool:
    return ahead.known and ahead.detectable(ahead.blocks) > ahead.plan.difference


def _needs(definition: Definition, ahead: Prospect) -> dict[str, int]:
    """Tell how many blocks each thing needs that is wrong with the size; a square, as blocks."""
    square = definition.layout.kind == "latin square"
    larger, blocks = ahead.in_blocks() if square else ahead, ahead.blocks
    found: dict[str, int | None] = {}
    if ahead.df(blocks) < THIN:
        found[_DF] = larger.needed_for_df(THIN)
    if ahead.smallest_p(blocks) > definition.analysis.alpha:
        found[_CHANCE] = larger.needed_by_chance()
    if _sees_too_little(ahead):
        found[_SEEN] = larger.needed()
    return {about: many for about, many in found.items() if many}


def _take(definition: Definition, needs: dict[str, int], about: str, which: str = "") -> str:
    """Name the largest number of blocks once; of the others say where it stands."""
    most = max(needs, key=needs.__getitem__)
    square = definition.layout.kind == "latin square"
    if about != most:
        start = "randomised blocks, as" if square else "as"
        return f"take {start} many as the line on {most} asks for"
    if square:
        return f"take randomised blocks, {needs[about]} of them{which}"
    return f"take {many_words(definition, needs[about])}{which}"


def _too_small(
    definition: Definition, ahead: Prospect, field: str, needs: dict[str, int]
) -> Concern:
    """Say that the difference that matters would be missed, and what to do, the cheapest first."""
    last = (
        f"not even {MOST_BLOCKS} blocks would do: make the plots more alike, or ask for a larger "
        "difference"
    )
    if _SEEN in needs:
        plots = definition.combinations * needs[_SEEN] * ahead.plan.grounds
        last = _take(definition, needs, _SEEN, f", which are {plots} plots")
    instead = "; ".join([*_before_more(definition, ahead), f"and only then: {last}"])
    rests = "" if not ahead.source else ", by a spread that is not your own (see 'planning')"
    seen = amount_words(definition, ahead.detectable(ahead.blocks), up=True)
    return Concern(
        "too small to see",
        f"{many_words(definition, ahead.blocks)} can be expected to show {seen} or more, while "
        f"{matters_words(definition)}{rests}",
        instead,
        field,
    )


def _before_more(definition: Definition, ahead: Prospect) -> list[str]:
    """List what costs less than more blocks, the first thing first."""
    said = []
    if ahead.source:
        said.append(
            "measure how much your own plots differ, by photos of them as they are now, and write "
            "it in 'planning: {sd: ...}'"
            if isinstance(definition.measures[definition.analysis.primary.measure], PhotoMeasure)
            else "measure how much your own plots differ as they are now, and write it in "
            "'planning: {sd: ...}'"
        )
    if definition.analysis.covariate == "none":
        said.append("correct for how the plots were before ('covariate: baseline')")
    factor = definition.factor_of(definition.analysis.primary.levels[0])
    if len(definition.treatments[factor].levels) > 2 or len(definition.treatments) > 1:
        said.append("compare fewer treatments, in more blocks on the same ground")
    said.append("repeat the trial in a second season")
    return [f"first {said[0]}", *(f"then {one}" for one in said[1:])]


def _control(definition: Definition) -> Found:
    question = definition.analysis.primary
    control = definition.treatments[definition.factor_of(question.levels[0])].control
    if control not in question.levels:
        yield Concern(
            "no control",
            f"{' and '.join(level_name(definition, one) for one in question.levels)} are compared, "
            f"and not the control, {level_name(definition, control)}: the "
            "answer will not tell whether either is better than doing nothing",
            f"compare with {control}: 'compare: {{each: [{', '.join(question.levels)}], with: "
            f"{control}}}'",
            "analysis.primary.compare",
        )


def _under_covers(definition: Definition) -> Found:
    on, off = (dates_meant(definition.dates, word)[0] for word in ("covers_on", "covers_off"))
    primary = dates_meant(definition.dates, definition.analysis.primary.on)[0]
    for name, measure in definition.measures.items():
        days = [day for day in dates_meant(definition.dates, measure.dates) if on < day < off]
        if not days or isinstance(measure, LoggerMeasure):
            continue  # loggers lie under the covers
        seen = "photographed" if isinstance(measure, PhotoMeasure) else "observed"
        word = ", the primary date among them," if primary in days else ""
        word = word if name == definition.analysis.primary.measure else ""
        yield Concern(
            "under covers",
            f"it is to be {seen} on {', '.join(map(str, days))}{word} while covers lie "
            f"({on} to {off})",
            "move it to covers_off or later, or plan to lift every cover that day, and log it",
            f"measures.{name}.dates",
        )


def _baseline(definition: Definition) -> Found:
    name = definition.analysis.primary.measure
    on = dates_meant(definition.dates, "covers_on")[0]
    if min(dates_meant(definition.dates, definition.measures[name].dates)) > on:
        yield Concern(
            "no baseline",
            f"{name} is not observed before the covers go on, so that nothing tells whether the "
            "plots were alike then",
            f"add a date on or before covers_on ({on})",
            f"measures.{name}.dates",
        )


def _after_play(definition: Definition) -> Found:
    event = definition.dates.get("first_event")
    primary = dates_meant(definition.dates, definition.analysis.primary.on)[0]
    if event is not None and primary > dates_meant(definition.dates, "first_event")[0]:
        yield Concern(
            "after play",
            f"the primary date, {primary}, lies after the first event, whose wear no treatment "
            "chose its plots for",
            "ask the primary question before the first event, or log the play on each plot",
            "analysis.primary.on",
        )


def _plot_size(definition: Definition) -> Found:
    layout = definition.layout
    sides = [side - 2 * layout.edge_left_out for side in layout.plot_size]
    area = sides[0] * sides[1]
    inside = in_feet(definition, sides)
    if area < SAMPLED_M2:
        yield Concern(
            "small plot",
            f"inside its edge a plot has {inside} to sample, less than 1 m2 (common practice, no "
            "source)",
            "make the plots larger or the edge smaller",
            "layout.plot_size",
        )
    for name, measure in definition.measures.items():
        if not isinstance(measure, PhotoMeasure) or measure.quadrat is None:
            continue
        shown = in_feet(definition, measure.quadrat)
        if any(q > side + 1e-9 for q, side in zip(measure.quadrat, sides, strict=True)):
            yield Concern(
                "small plot",
                f"a photo shows {shown}, and inside its edge a plot has {inside}: the photo shows "
                "the edge, or the next plot",
                "make the plots larger, or go nearer with the camera and give the smaller quadrat",
                f"measures.{name}.quadrat",
            )
        share = measure.per_plot * measure.quadrat[0] * measure.quadrat[1] / area
        if share < SHOWN:
            yield Concern(
                "small sample",
                f"photos show {100 * share:.2g} % of the part of a plot that is sampled",
                f"take more photos of each plot, so that they show {100 * SHOWN:g} % or more "
                "(common practice, no source)",
                f"measures.{name}.per_plot",
            )


def _raters(definition: Definition) -> Found:
    for name, measure in definition.measures.items():
        if isinstance(measure, SheetMeasure) and measure.scale and len(measure.raters) < 2:
            who = f"rated by {measure.raters[0]} alone" if measure.raters else "no rater is named"
            yield Concern(
                "single rater",
                f"{who}: one eye's habits cannot be told from the turf",
                "name a second rater, who rates every plot without seeing the first one's sheet",
                f"measures.{name}.raters",
            )


def _seed(definition: Definition) -> Found:
    layout = definition.layout
    if layout.seed < _TYPED and layout.laid_by_hand is None and layout.tested:
        yield Concern(
            "typed seed",
            f"{layout.seed} looks typed rather than drawn, and a reader may ask how many others "
            "were tried",
            "before the plots are drawn, write a seed that says where it is from, such as the day "
            "the covers go on; keep it once they are drawn",
            "layout.seed",
        )


def _by_choice(definition: Definition, found: SameOrder) -> Concern:
    """Put an order that is the same everywhere into words."""
    order = [
        " with ".join(level_name(definition, level) for level in one.split(":"))
        for one in found.order
    ]
    ways = f"{found.ways:,}" if found.ways < 1_000_000 else "more than a million"
    return Concern(
        "order by choice",
        f"in every {found.within} {' and '.join(found.factors)} lies in the same order "
        f"({', '.join(order)}), as chance does once in {ways} times: it looks like choice and not "
        "chance, and a choice gets no randomisation test and no promise of what can be seen",
        "draw the treatments by chance, block by block, with the command plan; if the plots are "
        "laid already, declare it a demonstration",
        "plan/plots.csv",
    )


def _aliased(definition: Definition, found: Alias) -> Concern:
    """Put an aliased value into words."""
    if found.share > 1 - 1e-9:
        how = f"falls together with {found.factor}"
    else:
        how = f"goes with {found.factor}, which explains {100 * found.share:.0f} % of it"
    within = f" within {found.within}" if found.within else ""
    means = f" ({found.shown})" if found.shown else ""
    instead = (
        f"form blocks by {found.value} (the advice on blocking tells how) and draw anew before "
        f"anything is observed, or name {found.value} as a limit of the trial"
    )
    if found.place:
        instead = "draw the treatments by chance, block by block, with the command plan"
    source = "site.shade" if found.value == FROM_SHADE else "plan/plot_values.csv"
    return Concern(
        "aliased",
        f"{found.value}{within} {how}{means}: the two cannot be told apart afterwards",
        instead,
        "plan/plots.csv" if found.place else source,
    )
