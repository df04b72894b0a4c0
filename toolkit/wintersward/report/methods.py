"""How the trial was done, in words that follow from its definition and its skeleton."""

from __future__ import annotations

import datetime as dt

import pandas as pd
from markupsafe import Markup

from wintersward.photos import GreenWindow
from wintersward.photos.named_windows import NAMED_WINDOWS
from wintersward.report.numbers import counted, day_text, days_listed, df_text, listed_words
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import (
    factor_label,
    in_sentence,
    measure_view,
    quantity,
    rater_name,
    unit_kind,
)
from wintersward.scored import window_of
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import (
    Definition,
    LaidByHand,
    Level,
    LoggerMeasure,
    Measure,
    PhotoMeasure,
    SheetMeasure,
)

__all__ = [
    "draw_words",
    "layout_words",
    "material_words",
    "logged_words",
    "measure_words",
    "photo_words",
    "replication_words",
    "skeleton_table",
    "surroundings_words",
    "unit_words",
]


_SAMPLES = (
    "they never count as replicates. A unit that was observed with fewer of them than planned "
    "counts the same as the others, although its mean is less certain."
)


def replication_words(definition: Definition) -> str:
    """Say how often everything is there: six blocks, or 4 rows and 4 columns."""
    layout = definition.layout
    if layout.grounds:
        many = counted(len(layout.grounds), "ground")
        return f"{counted(layout.blocks, 'block')} on each of {many}"
    return counted(layout.blocks, "block") if layout.blocks else definition.replication


def layout_words(definition: Definition) -> str:
    """Say how plots, blocks and treatments lie.

    Parameters
    ----------
    definition : Definition
        The trial.
    """
    layout, system = definition.layout, definition.units
    size = " by ".join(quantity(side, "distance", system) for side in layout.plot_size)
    alley = quantity(layout.alley, "distance", system)
    unit = "subplot" if layout.whole_plot else "plot"
    return (
        f"{_arranged(definition)} A {unit} measures {size}; alleys are {alley} wide, and the "
        f"outermost {quantity(layout.edge_left_out, 'distance', system)} of every plot is left "
        "out of all observations."
    )


def _arranged(definition: Definition) -> str:
    """Say what the layout is."""
    layout, count = definition.layout, definition.combinations
    by = layout.blocks_follow
    follow = f" (laid out by {in_sentence(by)})" if by else ""
    blocks = f"{counted(layout.blocks, 'block')}{follow}"
    if layout.grounds:
        blocks += f" on each of the grounds {listed_words(list(layout.grounds.values()))}"
    if layout.kind == "split plot":
        whole, sub = (
            counted(len(definition.treatments[str(name)].levels), kind)
            for name, kind in ((layout.whole_plot, "whole plot"), (layout.subplot, "subplot"))
        )
        return (
            f"The trial is a split plot in {blocks}. Each block holds {whole}, one for each "
            f"{_factor(definition, layout.whole_plot)} treatment, and each whole plot holds "
            f"{sub}, one for each {_factor(definition, layout.subplot)} treatment."
        )
    if layout.kind == "strip plot":
        rows, columns = (
            counted(len(definition.treatments[str(name)].levels), kind)
            for name, kind in (
                (layout.row_strips, "row strip"),
                (layout.column_strips, "column strip"),
            )
        )
        return (
            f"The trial is a strip plot in {blocks}. Through each block run {rows}, one for each "
            f"{_factor(definition, layout.row_strips)} treatment, and across them {columns}, one "
            f"for each {_factor(definition, layout.column_strips)} treatment; a plot lies where "
            "two of them cross."
        )
    if layout.kind == "latin square":
        return (
            f"The trial is a Latin square of {definition.replication}: every treatment stands once "
            "in each row and once in each column."
        )
    if layout.kind == "completely random":
        return (
            f"The trial is completely random, without blocks: {definition.replication}, anywhere "
            f"among {definition.plot_count} plots."
        )
    if layout.kind == "demonstration":
        return (
            f"This is a demonstration: one plot for each treatment or combination of treatments, "
            f"{counted(count, 'plot')} in all, without blocks and without repetition."
        )
    return (
        f"The trial is laid out in {blocks}. Each block holds every treatment once, on "
        f"{counted(count, 'plot')}."
    )


def draw_words(definition: Definition) -> str:
    """Say how treatments were drawn.

    Parameters
    ----------
    definition : Definition
        The trial.
    """
    layout, seed = definition.layout, definition.layout.seed
    if layout.laid_by_hand is not None:
        return _by_hand(layout.laid_by_hand, seed)
    one, other = (_factor(definition, name) for name in _two(definition))
    how = {
        "split plot": f"in every block, {one} treatments over its whole plots; then, in every "
        f"whole plot, {other} treatments over its subplots",
        "strip plot": f"in every block, {one} treatments over its row strips and, by themselves, "
        f"{other} treatments over its column strips",
        "latin square": "one of the squares in which every treatment stands once in each row "
        "and once in each column",
        "completely random": "all treatments over all plots",
        "randomised blocks": "in every block, all treatments over its plots",
        "demonstration": "each treatment over one of the plots",
    }[layout.kind]
    apart = ", drawn independently on each ground" if layout.grounds else ""
    return (
        f"Treatments were drawn at random by computer with the seed {seed}: {how}{apart}. The same "
        "seed draws the same plan again; a run stops where the plan on file is another."
    )


def _by_hand(laid: LaidByHand, seed: int) -> str:
    """Print who answers for a plan that the seed did not draw: how, who and when."""
    return (
        "Treatments were laid out by hand, not drawn from the seed. The statement signed "
        f"{laid.signed} on {day_text(laid.date)}: “{laid.how}” The plan on file was checked, not "
        f"compared with a draw; the seed {seed} serves the randomisation tests."
    )


def _two(definition: Definition) -> tuple[str, str]:
    """Name the factor of the larger units and the other one; the first twice where plots are all.

    Where each factor has units of its own, the layout names both.
    """
    layout = definition.layout
    if layout.kind == "split plot":
        return str(layout.whole_plot), str(layout.subplot)
    if layout.kind == "strip plot":
        return str(layout.row_strips), str(layout.column_strips)
    first = next(iter(definition.treatments))
    return first, first


def _factor(definition: Definition, name: str | None) -> str:
    return in_sentence(factor_label(definition, str(name)))


def unit_words(definition: Definition) -> str:
    """Say what the experimental units are, and what is only a sample of them."""
    layout = definition.layout
    if not layout.tested:
        return (
            "Each treatment lies on one plot, so there is nothing to compare it with that was "
            "treated alike. Photos, readings and raters within a plot are samples of it and are "
            "averaged first; they never count as replicates."
        )
    one, other = _two(definition)
    given = "drawn" if layout.laid_by_hand is None else "laid out by hand"
    each = " on each ground by itself" if layout.grounds else ""
    if one == other:
        return (
            f"The experimental unit is the plot: treatments were {given} for plots{each}. Photos, "
            "readings and raters within a plot are samples of it and are averaged first; "
            f"{_SAMPLES}"
        )
    kinds = [unit_kind(definition, name) for name in (one, other)]
    first, second = (_factor(definition, name) for name in (one, other))
    both = ", that of both together the plot" if layout.kind == "strip plot" else ""
    said = (
        f"The experimental unit of {first} is the {kinds[0]}, that of {second} the {kinds[1]}"
        f"{both}: for these the treatments were {given}{each}. Photos, readings and raters within "
        f"a plot are samples of it and are averaged first; {_SAMPLES}"
    )
    for name, outer in ((one, kinds[1]), (other, kinds[0])):
        applied = definition.treatments[name].applied
        if applied is None:
            continue
        day = day_text(dates_meant(definition.dates, applied)[0])
        inner = "subplots" if layout.whole_plot else "plots"
        said += (
            f" Until {day}, when {_factor(definition, name)} began, the {inner} of a {outer} were "
            "treated alike and are samples of it as well."
        )
    return said


def surroundings_words(definition: Definition) -> str:
    """Name what lies around the units of each treatment and is taken as fixed; perhaps nothing."""
    blocks = "blocks of each ground" if definition.layout.grounds else "blocks"
    return {
        "split plot": f"{blocks} around whole plots, whole plots around subplots",
        "strip plot": f"{blocks} around strips",
        "latin square": "rows and columns",
        "completely random": "",
        "randomised blocks": f"the {blocks}",
        "demonstration": "",
    }[definition.layout.kind]


def skeleton_table(skeleton: pd.DataFrame, definition: Definition) -> Markup:
    """Show what each treatment term is compared between, for every group of dates alike.

    Parameters
    ----------
    skeleton : DataFrame
        Table of a run.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        Empty where nothing has been observed since the covers went on.
    """
    if skeleton.empty:
        return Markup("")
    groups: dict[tuple[tuple[str, str, float], ...], list[dt.date]] = {}
    for day, rows in skeleton.groupby("date", sort=True):
        terms = tuple(
            dict.fromkeys(
                (str(row["term"]), str(row["unit_kind"]), float(row["df_design"]))
                for _, row in rows[rows["role"].isin(["treatment", "ground"])].iterrows()
            )
        )
        groups.setdefault(terms, []).append(pd.Timestamp(str(day)).date())
    heads = [
        Head("Dates"),
        Head("Term"),
        Head("compared between"),
        Head("df by the layout", "", True),
        Head("df used", "", True),
    ]
    lines = []
    for terms, days in groups.items():
        on = skeleton["date"].isin(pd.to_datetime(days))
        ranked = sorted(terms, key=lambda term: _term_rank(definition, term[0]))
        for term, unit, design in ranked:
            used = skeleton.loc[on & (skeleton["term"] == term), "df_used"].dropna()
            cells = (f"{unit}s", df_text(design), _range(used))
            lines.append(Row((days_listed(days), factor_label(definition, term)), cells))
    return html_table("Terms of the model and their experimental units", heads, lines)


def _term_rank(definition: Definition, term: str) -> tuple[int, int]:
    names = term.split(":")
    return len(names), [*definition.treatments, "ground"].index(names[0])


def _range(values: pd.Series) -> str:
    if values.empty:
        return "–"
    low, high = df_text(float(values.min())), df_text(float(values.max()))
    return low if low == high else f"{low} to {high}"


def measure_words(definition: Definition, name: str) -> str:
    """Say how a measure is taken, how often, and on which dates."""
    measure = definition.measures[name]
    view = measure_view(definition, name)
    days = days_listed(dates_meant(definition.dates, measure.dates))
    each = counted(measure.per_plot, "photo" if isinstance(measure, PhotoMeasure) else "reading")
    if isinstance(measure, PhotoMeasure):
        how = f"{each} a plot, scored by computer"
    elif isinstance(measure, LoggerMeasure):
        how = f"{logged_words(measure, definition.units)}, read by loggers"
    elif measure.raters:
        names = listed_words([rater_name(definition, one) for one in measure.raters])
        low, high = (f"{limit:g}" for limit in measure.scale or (0.0, 0.0))
        how = f"rated by {names} on a scale from {low} to {high}" if measure.scale else each
        how += "" if measure.per_plot == 1 else f", {each} a plot"
    else:
        how = f"{each} a plot, written on sheets"
    unit = f", in {view.unit}" if view.unit and not _rated(measure) else ""
    return f"{how[0].upper()}{how[1:]}{unit}. Dates: {days}."


def logged_words(measure: LoggerMeasure, system: str) -> str:
    """Say which fact of a day is the value of a measure of loggers.

    Examples
    --------
    >>> told = {"from": "logger", "what": "soil temperature", "depth": "4 in", "dates": ["visits"]}
    >>> logged_words(LoggerMeasure.model_validate(told), "us")
    'mean of the day of soil temperature at 4 in'
    """
    deep = f" at {quantity(measure.depth, 'depth', system)}" if measure.depth else ""
    return f"{measure.daily} of the day of {measure.what}{deep}"


def _rated(measure: Measure) -> bool:
    return isinstance(measure, SheetMeasure) and measure.scale is not None


def photo_words(definition: Definition) -> list[str]:
    """Give the rule by which a pixel counts as green, once for each window in use."""
    windows: dict[tuple[GreenWindow, str], list[str]] = {}
    for name, measure in definition.measures.items():
        if isinstance(measure, PhotoMeasure):
            word = measure.window if isinstance(measure.window, str) else ""
            source = f" These limits: {NAMED_WINDOWS[word].source}." if word else ""
            key = (window_of(measure), source)
            windows.setdefault(key, []).append(measure_view(definition, name).noun)
    said = []
    for (window, source), names in windows.items():
        limits = [f"its hue lies from {window.hue[0]:g} to {window.hue[1]:g} degrees"]
        for label, pair in (("saturation", window.saturation), ("brightness", window.value)):
            if pair != (0, 1):
                limits.append(f"its {label} from {pair[0]:g} to {pair[1]:g}")
        said.append(
            f"For {' and '.join(names)}, a pixel counts as green where {' and '.join(limits)}. "
            f"Grey pixels have no hue and never count.{source} Green cover is the share of green "
            "pixels."
        )
    return said


def material_words(level: Level, system: str) -> str:
    """Say what a treatment is made of, in the reader's units."""
    parts = [level.description] if level.description else []
    if level.mass is not None:
        parts.append(quantity(level.mass, "areal mass", system))
    if level.light is not None:
        parts.append(f"lets {level.light:g} % of the light through (as stated, not measured)")
    if level.tine is not None:
        tine = level.tine
        inside = f", {quantity(tine.inside, 'depth', system)} inside" if tine.inside else ""
        spacing = " by ".join(quantity(side, "depth", system) for side in tine.spacing)
        parts.append(
            f"{tine.kind} tine, {quantity(tine.outside, 'depth', system)} outside{inside}, "
            f"{spacing} apart, {quantity(tine.depth, 'depth', system)} deep"
        )
    return "; ".join(parts)
