"""The protocol: the plan of a trial on paper, to be signed before the covers go on."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd
from markupsafe import Markup

from wintersward.analysis.skeleton import skeleton_for
from wintersward.design import map_alt
from wintersward.papers.field_methods import (
    ALIKE,
    EARLY,
    UNSOURCED,
    blinding_words,
    photo_facts,
    photo_rules,
    plan_holders,
    readings,
    site_facts,
)
from wintersward.papers.pages import printable
from wintersward.papers.planned_analysis import AnalysisStep, hypotheses, planned_analysis
from wintersward.papers.weaknesses import prospects, weaknesses
from wintersward.report import methods
from wintersward.report.cautions import cautions
from wintersward.report.decided import WHO_DECIDES, decided_words
from wintersward.report.numbers import counted, day_text, days_listed, df_text, listed_words
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import (
    factor_label,
    in_sentence,
    level_label,
    measure_view,
    quantity,
)
from wintersward.report.words import question_text
from wintersward.trial import Definition
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import LoggerMeasure, PhotoMeasure, SheetMeasure
from wintersward.units import reader_unit

__all__ = ["protocol"]


@dataclass(frozen=True)
class _Size:
    """How much of everything there is: what, and how many."""

    what: str
    many: str


def protocol(
    definition: Definition,
    plots: pd.DataFrame,
    plan_map: bytes,
    document: str,
    late: Sequence[str] = (),
    paper: str = "a4",
    study: Path | None = None,
    values: pd.DataFrame | None = None,
) -> str:
    """Write the protocol of a trial.

    Parameters
    ----------
    definition : Definition
        The trial as decided.
    plots : DataFrame
        ``plan/plots.csv``.
    plan_map : bytes
        Map of the plots with their treatments, SVG.
    document : str
        Hash of definition and plots, which a report repeats.
    late : sequence of str
        What had happened already when it was frozen.
    paper : {'letter', 'a4'}
        What it is printed on.
    study : Path, optional
        Study folder whose own copy of the template goes first.
    values : DataFrame, optional
        What is known of each plot before treatment: index plot, numbers or words.

    Returns
    -------
    str
        One HTML page that needs nothing else.
    """
    tested, units = definition.layout.tested, definition.units
    return printable(
        "protocol",
        definition,
        paper,
        study,
        document=document,
        late=" and ".join(late),
        question=question_text(definition) if tested else "",
        hypotheses=hypotheses(definition) if tested else [],
        site=site_facts(definition),
        corners=list((definition.layout.grounds or {"": ""}).values()),
        distance_unit=reader_unit("distance", units),
        alike=ALIKE,
        early=EARLY,
        tested=tested,
        limits=decided_words(definition),
        who_decides=WHO_DECIDES,
        unsourced=UNSOURCED,
        treatments=_treatments(definition),
        dates=_dates(definition),
        layout=methods.layout_words(definition) if tested else _areas(definition),
        drawn=_drawn(definition),
        map=base64.b64encode(plan_map).decode("ascii"),
        map_alt=map_alt(plots, definition),
        plots=_plots(definition, plots),
        measures=_measures(definition),
        sizes=_sizes(definition, plots),
        photo_facts=photo_facts(definition),
        photo_rules=photo_rules(definition),
        readings=readings(definition),
        blinding=blinding_words(definition),
        raters_hold=bool(plan_holders(definition)),
        expected=prospects(definition, plots),
        concerns=weaknesses(definition, plots, values),
        units=methods.unit_words(definition) if tested else "",
        skeleton=_skeleton(definition) if tested else Markup(""),
        steps=planned_analysis(definition) if tested else _shown_only(),
        # The same cautions as in every report, which this is not.
        cautions=[
            replace(one, text=one.text.replace("This report", "This protocol"))
            for one in cautions(units)
        ],
    )


def _areas(definition: Definition) -> str:
    """Say how large the areas of a demonstration are."""
    layout = definition.layout
    size = " by ".join(quantity(side, "distance", definition.units) for side in layout.plot_size)
    edge = quantity(layout.edge_left_out, "distance", definition.units)
    return (
        f"A demonstration on {counted(definition.plot_count, 'area')}, one of each treatment, each "
        f"{size}; the outermost {edge} of every area is left out of all observations."
    )


def _drawn(definition: Definition) -> str:
    """Say how the treatments came to their plots: by the seed, or by whose statement."""
    laid, seed = definition.layout.laid_by_hand, definition.layout.seed
    if laid is not None:
        said = (
            f"The plots were not drawn by computer. Statement signed {laid.signed} on "
            f'{day_text(laid.date)}: "{laid.how}"'
        )
        if not definition.layout.tested:
            return said
        return f"{said} The seed {seed} serves the randomisation test."
    if not definition.layout.tested:
        return f"Which area gets which treatment was drawn at random by computer, seed {seed}."
    return methods.draw_words(definition)


def _shown_only() -> list[AnalysisStep]:
    words = (
        "Each treatment lies on one area, so that nobody can tell its effect from that of the "
        "place. Values are listed and pictured; nothing is tested and no interval is given."
    )
    return [AnalysisStep("Demonstration", words)]


def _treatments(definition: Definition) -> Markup:
    heads = [Head("Factor"), Head("Treatment"), Head("What it is"), Head("From")]
    rows = []
    for name, factor in definition.treatments.items():
        day = day_text(dates_meant(definition.dates, factor.applied or "covers_on")[0])
        for level, held in factor.levels.items():
            label = held.label + (", control" if level == factor.control else "")
            what = methods.material_words(held, definition.units) or "–"
            rows.append(Row((factor_label(definition, name), label), (what, day)))
    return html_table("What is compared", heads, rows)


def _dates(definition: Definition) -> Markup:
    rows = []
    for name in definition.dates:
        days = dates_meant(definition.dates, name)
        label = name.replace("_", " ").capitalize()
        rows.append(Row((label,), (days_listed(days),)))
    return html_table("Dates", [Head("What"), Head("When")], rows)


def _plots(definition: Definition, plots: pd.DataFrame) -> Markup:
    """List what was drawn for every plot."""
    factors = list(definition.treatments)
    blocked = bool(definition.layout.blocks)
    first = [Head("Block")] if blocked else [Head("Row")]
    heads = [*first, Head("Plot"), *(Head(factor_label(definition, name)) for name in factors)]
    rows = []
    for _, plot in plots.iterrows():
        side = str(plot["block" if blocked else "row"])
        if grounds := definition.layout.grounds:
            side = f"{side}, {grounds[str(plot['ground'])]}"
        cells = tuple(level_label(definition, str(plot[name])) for name in factors)
        rows.append(Row((side, str(plot["plot"])), cells))
    return html_table("What every plot gets", heads, rows)


def _measures(definition: Definition) -> Markup:
    heads = [Head("Measure"), Head("How"), Head("a plot", "", True), Head("By"), Head("Dates")]
    rows = []
    # A demonstration is judged by nothing.
    primary = definition.analysis.primary.measure if definition.layout.tested else ""
    for name, measure in definition.measures.items():
        view = measure_view(definition, name)
        days = days_listed(dates_meant(definition.dates, measure.dates))
        label = view.label + (", primary" if name == primary else "")
        cells = (_how(definition, name), str(measure.per_plot), _by(definition, name), days)
        rows.append(Row((label,), cells, strong=name == primary))
    return html_table("What is observed", heads, rows)


def _how(definition: Definition, name: str) -> str:
    measure, view = definition.measures[name], measure_view(definition, name)
    if isinstance(measure, PhotoMeasure):
        return f"photos, scored by computer{f' [{view.unit}]' if view.unit else ''}"
    if isinstance(measure, LoggerMeasure):
        return f"{methods.logged_words(measure, definition.units)}, by loggers [{view.unit}]"
    if measure.scale is not None:
        low, high = measure.scale
        return f"rating from {low:g} to {high:g}"
    return f"reading on a sheet [{view.unit}]" + (
        ", takes turf away" if measure.destructive else ""
    )


def _by(definition: Definition, name: str) -> str:
    measure = definition.measures[name]
    if not isinstance(measure, SheetMeasure) or not measure.raters:
        return "–"
    said = " and ".join(measure.raters) + (", each alone" if len(measure.raters) > 1 else "")
    if measure.repeat_share:
        said += f"; {measure.repeat_share:g} % of the plots twice"
    return said


def _sizes(definition: Definition, plots: pd.DataFrame) -> list[_Size]:
    """Count plots, blocks, the units of the primary question and planned observations."""
    primary = definition.analysis.primary
    found = [
        _Size("Plots", f"{len(plots)}, {definition.replication}"),
        _Size("Combinations of treatments", str(definition.combinations)),
    ]
    if definition.layout.tested:
        for level in primary.levels:
            name, what = level_label(definition, level), "Units of the primary question"
            found.append(_Size(f"{what}, {in_sentence(name)}", _units(definition, plots, level)))
    for name, measure in definition.measures.items():
        raters = len(getattr(measure, "raters", [])) or 1
        days = len(dates_meant(definition.dates, measure.dates))
        many = len(plots) * measure.per_plot * raters * days
        each = f"{many}, on {counted(days, 'date')}"
        found.append(_Size(f"{measure_view(definition, name).label}, observations", each))
    return found


def _units(definition: Definition, plots: pd.DataFrame, level: str) -> str:
    """Count what carries a treatment of the primary question on its date."""
    day = dates_meant(definition.dates, definition.analysis.primary.on)[0]
    factor, found = definition.factor_of(level), skeleton_for(definition, day)
    if factor not in found.factors:
        return "none on that date"
    here = plots[plots[factor].astype(str) == level]
    return counted(
        len(here[found.unit(factor).split(":")].drop_duplicates()), found.unit_of(factor)
    )


def _skeleton(definition: Definition) -> Markup:
    """Show the terms of the primary date, what each is compared between, and its df."""
    day = dates_meant(definition.dates, definition.analysis.primary.on)[0]
    found = skeleton_for(definition, day)
    heads = [Head("Term"), Head("stands for"), Head("compared between"), Head("df", "", True)]
    roles = {
        "treatment": "a treatment",
        "ground": "a ground, or what a treatment does on each",
        "random": "what surrounds the units",
        "residual": "the error",
    }
    rows = []
    for term in found.terms:
        treatment = term.role in ("treatment", "ground")
        name = term.name.replace("_", " ")
        label = factor_label(definition, term.name) if treatment else name.capitalize()
        between = f"{term.unit_kind}s" if treatment else "–"
        df = "–" if term.df_design is None else df_text(float(term.df_design))
        rows.append(Row((label,), (roles[term.role], between, df)))
    note = f"Error degrees of freedom (df) with no observation missing, on {day_text(day)}."
    if waits := _later(definition, found.factors):
        note += f" {waits}"
    return html_table("Terms of the model on the primary date", heads, rows, note)


def _later(definition: Definition, factors: Sequence[str]) -> str:
    names = [factor_label(definition, name) for name in definition.treatments]
    names = [n for n, key in zip(names, definition.treatments, strict=True) if key not in factors]
    if not names:
        return ""
    return f"{listed_words(names)} begins later and takes no part on that date."
