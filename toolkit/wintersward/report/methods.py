"""How the trial was done, in words that follow from its definition and its skeleton."""

from __future__ import annotations

import datetime as dt

import pandas as pd
from markupsafe import Markup

from wintersward.report.numbers import counted, day_text, days_listed, df_text, listed_words
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
    "draw_words",
    "family_words",
    "layout_words",
    "material_words",
    "measure_words",
    "photo_words",
    "skeleton_table",
    "unit_words",
]


_SAMPLES = (
    "they never count as replicates. A unit that was observed with fewer of them than planned "
    "counts the same as the others, although its mean is less certain."
)


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


def draw_words(definition: Definition) -> str:
    """Say how treatments were drawn.

    Parameters
    ----------
    definition : Definition
        The trial.
    """
    layout, seed = definition.layout, definition.layout.seed
    if layout.whole_plot and layout.subplot:
        whole, sub = (_factor(definition, name) for name in (layout.whole_plot, layout.subplot))
        how = (
            f"in every block, {whole} treatments over its whole plots; then, in every whole plot, "
            f"{sub} treatments over its subplots"
        )
    else:
        how = "in every block, all treatments over its plots"
    return (
        f"Treatments were drawn at random by computer with the seed {seed}: {how}. The same seed "
        "draws the same plan again; a run stops where the plan on file is another."
    )


def _factor(definition: Definition, name: str | None) -> str:
    return in_sentence(factor_label(definition, str(name)))


def unit_words(definition: Definition) -> str:
    """Say what the experimental units are, and what is only a sample of them."""
    layout = definition.layout
    if not (layout.whole_plot and layout.subplot):
        return (
            "The experimental unit is the plot: treatments were drawn for plots. Photos, readings "
            f"and raters within a plot are samples of it and are averaged first; {_SAMPLES}"
        )
    whole, sub = (_factor(definition, name) for name in (layout.whole_plot, layout.subplot))
    said = (
        f"The experimental unit of {whole} is the whole plot, that of {sub} the subplot: for "
        "these the treatments were drawn. Photos, readings and raters within a plot are samples "
        f"of it and are averaged first; {_SAMPLES}"
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
    crossed = within = ""
    pairs_only = any(len(factor.levels) == 2 for factor in definition.treatments.values())
    alone = "; the one pair of a factor with two treatments is not adjusted" if pairs_only else ""
    if len(definition.treatments) > 1:
        within = " (within one treatment of the other factor, where they are taken within)"
        crossed = (
            " Whether the difference of one factor depends on the other is asked on every date "
            "too; these comparisons are adjusted by Bonferroni's method."
        )
    return (
        "The primary question, as the definition names it, stands alone; it is not adjusted. All "
        f"pairs of one factor in one measure on one date{within} are one family, adjusted by "
        f"{method}{alone}.{crossed} Nothing is adjusted across measures and dates."
    )


def family_words(tests: pd.DataFrame, differences: pd.DataFrame, alpha: float) -> str:
    """Say how many tests the report holds, so that the odd small p is seen in proportion.

    The adjusted copy of the primary contrast is not counted: it asks nothing new.
    """
    secondary = differences[differences["role"] == "secondary"]
    asked = ["measure", "date", "effect", "left", "right"]
    first = differences.loc[differences["role"] == "primary", asked]
    known = set(first.itertuples(index=False, name=None))
    overall = secondary["within"].fillna("") == ""
    rows = list(secondary[asked].itertuples(index=False, name=None))
    copy = overall & pd.Series([row in known for row in rows], index=secondary.index, dtype=bool)
    crossed = secondary["effect"].astype(str).str.contains(":")
    pairs, deeper = int((~crossed & ~copy).sum()), int(crossed.sum())
    if not pairs and tests.empty:
        return ""
    share = round(1 / alpha)
    parts = [counted(len(tests), "F test"), counted(pairs, "comparison")]
    parts += [counted(deeper, "difference of differences", "differences of differences")][:deeper]
    return (
        f"This report holds {listed_words(parts)} besides the primary one. Were no treatment "
        f"different from any other, about one in {share} unadjusted p values would still lie below "
        f"{alpha:g}. Secondary comparisons are therefore leads to follow up, not answers."
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
