"""How the trial was done, in words that follow from its definition and its skeleton."""

from __future__ import annotations

import datetime as dt

import pandas as pd
from markupsafe import Markup

from wintersward.report.numbers import counted, day_text, days_listed, df_text
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import (
    factor_label,
    in_sentence,
    measure_view,
    quantity,
)
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition, Level, PhotoMeasure, SheetMeasure, Window

__all__ = [
    "adjust_words",
    "family_words",
    "layout_words",
    "material_words",
    "measure_words",
    "photo_words",
    "skeleton_table",
    "unit_words",
]


def layout_words(definition: Definition) -> str:
    """Say how plots, blocks and treatments lie.

    Parameters
    ----------
    definition : Definition
        The trial.
    """
    layout, system = definition.layout, definition.units
    size = " by ".join(quantity(side, "distance", system) for side in layout.plot_size)
    by = layout.blocks_follow
    follow = f" (laid out by {in_sentence(by)})" if by else ""
    blocks = counted(layout.blocks, "block")
    if layout.whole_plot and layout.subplot:
        whole, sub = (
            counted(len(definition.treatments[name].levels), kind)
            for name, kind in ((layout.whole_plot, "whole plot"), (layout.subplot, "subplot"))
        )
        kind = (
            f"The trial is a split plot in {blocks}{follow}. Each block holds {whole}, one for "
            f"each {_factor(definition, layout.whole_plot)} treatment, and each whole plot holds "
            f"{sub}, one for each {_factor(definition, layout.subplot)} treatment. A subplot"
        )
    else:
        count = 1
        for factor in definition.treatments.values():
            count *= len(factor.levels)
        kind = (
            f"The trial is laid out in {blocks}{follow}. Each block holds every treatment once, "
            f"on {counted(count, 'plot')}. A plot"
        )
    return (
        f"{kind} measures {size}; alleys are {quantity(layout.alley, 'distance', system)} wide, "
        f"and the outermost {quantity(layout.edge_left_out, 'distance', system)} of every plot is "
        "left out of all observations."
    )


def _factor(definition: Definition, name: str | None) -> str:
    return in_sentence(factor_label(definition, str(name)))


def unit_words(definition: Definition) -> str:
    """Say what the experimental units are, and what is only a sample of them."""
    layout = definition.layout
    if not (layout.whole_plot and layout.subplot):
        return (
            "The experimental unit is the plot: treatments were drawn for plots. Photos, readings "
            "and raters within a plot are samples of it and are averaged first; they never count "
            "as replicates."
        )
    whole, sub = (_factor(definition, name) for name in (layout.whole_plot, layout.subplot))
    said = (
        f"The experimental unit of {whole} is the whole plot, that of {sub} the subplot: for "
        "these the treatments were drawn. Photos, readings and raters within a plot are samples "
        "of it and are averaged first; they never count as replicates."
    )
    applied = definition.treatments[layout.subplot].applied
    if applied is None:
        return said
    day = day_text(dates_meant(definition.dates, applied)[0])
    return (
        f"{said} Until {day}, when {sub} began, the subplots of a whole plot were treated alike "
        "and are samples of it as well."
    )


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
                for _, row in rows[rows["role"] == "treatment"].iterrows()
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
    return len(names), list(definition.treatments).index(names[0])


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
    elif measure.raters:
        initials = " and ".join(measure.raters)
        low, high = (f"{limit:g}" for limit in measure.scale or (0.0, 0.0))
        how = f"rated by {initials} on a scale from {low} to {high}" if measure.scale else each
        how += "" if measure.per_plot == 1 else f", {each} a plot"
    else:
        how = f"{each} a plot, written on sheets"
    unit = f", in {view.unit}" if view.unit and not _rated(measure) else ""
    return f"{how[0].upper()}{how[1:]}{unit}. Dates: {days}."


def _rated(measure: PhotoMeasure | SheetMeasure) -> bool:
    return isinstance(measure, SheetMeasure) and measure.scale is not None


def photo_words(definition: Definition) -> list[str]:
    """Give the rule by which a pixel counts as green, once for each window in use."""
    windows: dict[Window, list[str]] = {}
    for name, measure in definition.measures.items():
        if isinstance(measure, PhotoMeasure):
            window = measure.window if isinstance(measure.window, Window) else Window()
            windows.setdefault(window, []).append(measure_view(definition, name).noun)
    said = []
    for window, names in windows.items():
        limits = [f"its hue lies from {window.hue[0]:g} to {window.hue[1]:g} degrees"]
        for label, pair in (("saturation", window.saturation), ("brightness", window.value)):
            if pair != (0.0, 1.0):
                limits.append(f"its {label} from {pair[0]:g} to {pair[1]:g}")
        said.append(
            f"For {' and '.join(names)}, a pixel counts as green where {' and '.join(limits)}. "
            "Grey pixels have no hue and never count. Green cover is the share of green pixels."
        )
    return said


def adjust_words(definition: Definition) -> str:
    """Say which comparisons are adjusted, and why the primary one is not."""
    method = {
        "tukey": "Tukey's method",
        "holm": "Holm's method",
        "bonferroni": "Bonferroni's method",
    }[definition.analysis.among_treatments]
    return (
        "The primary question was fixed before the first observation and stands alone; it is not "
        f"adjusted. Comparisons among three or more treatments of one factor are adjusted by "
        f"{method}, within each measure and date. Nothing is adjusted across measures and dates."
    )


def family_words(tests: pd.DataFrame, differences: pd.DataFrame, alpha: float) -> str:
    """Say how many tests the report holds, so that the odd small p is seen in proportion."""
    secondary = int((differences["role"] == "secondary").sum())
    if not secondary and tests.empty:
        return ""
    share = round(1 / alpha)
    return (
        f"This report holds {counted(len(tests), 'F test')} and {counted(secondary, 'comparison')} "
        "besides the primary one. Were no treatment different from any other, about one in "
        f"{share} unadjusted p values would still lie below {alpha:g}. Secondary comparisons are "
        "therefore leads to follow up, not answers."
    )


def material_words(level: Level, system: str) -> str:
    """Say what a treatment is made of, in the reader's units."""
    parts = [level.description] if level.description else []
    if level.mass is not None:
        parts.append(quantity(level.mass, "areal mass", system))
    if level.light is not None:
        parts.append(f"lets {level.light:g} % of the light through")
    if level.tine is not None:
        tine = level.tine
        inside = f", {quantity(tine.inside, 'depth', system)} inside" if tine.inside else ""
        spacing = " by ".join(quantity(side, "depth", system) for side in tine.spacing)
        parts.append(
            f"{tine.kind} tine, {quantity(tine.outside, 'depth', system)} outside{inside}, "
            f"{spacing} apart, {quantity(tine.depth, 'depth', system)} deep"
        )
    return "; ".join(parts)
