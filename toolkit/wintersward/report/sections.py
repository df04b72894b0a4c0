"""What each section of a page is filled with."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from wintersward.analysis.demonstration_tables import tables_of
from wintersward.records import first_looks
from wintersward.report import (
    accounts,
    adjusting,
    dates_together,
    holes,
    interactions,
    methods,
    noting,
    rating_words,
    summaries,
    support,
)
from wintersward.report.answers import answers_table
from wintersward.report.baselines import baseline_table
from wintersward.report.cautions import cautions, measures_hardness
from wintersward.report.climate import climate_context, unmeasured_words
from wintersward.report.dates_shown import unshown_words
from wintersward.report.decided import decisions_context
from wintersward.report.frozen import plan_context
from wintersward.report.grounds import grounds_context, several_grounds
from wintersward.report.handing_in import last_day, provenance_context, season_text
from wintersward.report.limits import limits_words
from wintersward.report.meanings import exclusions_answer, meaning
from wintersward.report.measuring import measurements_context
from wintersward.report.modelled import models_table, versions_words
from wintersward.report.numbers import counted, level_text
from wintersward.report.photo_section import photos_context
from wintersward.report.pin_words import pin_alarms
from wintersward.report.point_counting import point_count_context
from wintersward.report.recording import records_context
from wintersward.report.references import references, supporting_words
from wintersward.report.season_weather import season_context
from wintersward.report.tables import frame_table
from wintersward.report.thresholds import thresholds_context
from wintersward.report.trade_sources import trade_sources
from wintersward.report.trial_section import layout_context, trial_context
from wintersward.report.variance_sharing import shares_context
from wintersward.report.views import (
    factor_label,
    in_sentence,
    measure_view,
    picture_name,
)
from wintersward.report.words import answer, basis, matters_text, waiting
from wintersward.trial.schema import PhotoMeasure, SheetMeasure

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["CONTEXTS"]

Context = dict[str, Any]
# Rows of a table that the appendix shows, of one that lists what came in, value by value, and of
# one that a section sums up; the files hold all.
_MOST_ROWS, _MOST_LISTED, _MOST_SUMMED_UP = 1500, 40, 12
# What stands whole in the files beside the page; comparisons stand whole in tables of their own.
_LISTS = (
    *("eye_and_photo", "observations", "photo_scores", "residuals", "season_values"),
    *("closure", "differences", "joint_differences", "plot_means", "season_differences"),
)
_SUMMED_UP = (
    "daily_facts",
    "degree_day_sums",
    "degree_days_by_level",
    "diurnal",
    "growth",
    "logger_sums",
    "removal",
    "risks",
    "sun_hours",
    "thermometer",
    "under_cover",
)
# Tables that tell the values of single plots: not shown while the comparison waits.
_OF_PLOTS = ("observations", "plot_means", "photo_scores", "eye_and_photo", "residuals", "flags")
_SI = {"measure": "SI unit of the measure", "measure squared": "SI unit squared"}


def _answer(page: Page) -> Context:
    definition, primary = page.definition, page.table("primary")
    instead = picture_name("differences", definition.analysis.primary.measure)
    picture = Markup("")
    if page.answered:
        picture = page.figure("answer", "lead") or page.figure(instead, "lead")
    notes, counts = page.table("notes"), page.table("counts")
    return {
        "season": season_text(page),
        "people": [f"{one.name} ({one.role})" for one in definition.people],
        "data_to": last_day(page),
        "notice": getattr(definition, "notice", None) or "",
        "grounds": several_grounds(definition),
        "alarms": pin_alarms(page),
        "answer": answer(primary, definition, notes=notes, counts=counts),
        "basis": basis(primary, definition),
        **support.answer_context(page),
        "meaning": meaning(primary, definition),
        "picture": picture,
        "primary_noun": measure_view(definition, definition.analysis.primary.measure).noun,
    }


def _results(page: Page) -> Context:
    definition = page.definition
    return {
        "waiting": waiting(definition, page.table("counts")) if page.waiting else "",
        "measures": [_measure(page, name) for name in definition.measures],
        "between": "blocks" if definition.layout.blocks else "plots",
        "family": adjusting.counted_words(
            page.table("tests"),
            page.table("differences"),
            definition.analysis.alpha,
            len(page.table("rank_differences")),
        ),
        "over_dates": adjusting.over_dates_words(page.tables),
    }


def _measure(page: Page, name: str) -> Context:
    definition = page.definition
    means, differences, tests = map(page.table, ("means", "differences", "tests"))
    notes, counts, seen = map(page.table, ("notes", "counts", "plot_means"))
    shown = dict.fromkeys(means.loc[means["measure"] == name, "effect"])
    effects = sorted(shown, key=lambda effect: (effect.count(":"), _order(page, effect)))
    view = measure_view(definition, name)
    return {
        "name": name,
        "label": view.label,
        "primary": name == definition.analysis.primary.measure,
        "how": methods.measure_words(definition, name),
        "pictures": [
            picture
            for kind in ("progress", "crossed")
            if (picture := page.figure(picture_name(kind, name)))
        ],
        "apart": page.figure(picture_name("differences", name)),
        "baseline": baseline_table(seen, notes, definition, name),
        "means": [
            summaries.means_table(means, definition, name, e, differences, tests, seen)
            for e in effects
        ],
        "holes": holes.holes_words(means, definition, name),
        "ranks": rating_words.rank_context(page.table("rank_differences"), definition, name),
        "within": summaries.differences_table(differences, definition, name, within=True),
        "crossings": _crossings(page, name),
        "tests": summaries.effects_table(tests, definition, name),
        "together": support.together_context(page, name),
        "joint": dates_together.joint_words(page.table("joint_differences"), definition, name),
        "notes": _notes(page, name),
        "seen": _seen(page, name),
        "unshown": unshown_words(means, notes, counts, definition, name),
    }


def _crossings(page: Page, name: str) -> Context | None:
    """Gather whether one factor's difference depends on the other; None where nothing asks it."""
    definition, differences = page.definition, page.table("differences")
    found = interactions.interactions(differences, name)
    if found.empty:
        return None
    effect = str(found["effect"].iloc[0])
    return {
        "heading": interactions.interaction_heading(definition, effect),
        "words": interactions.interaction_words(differences, definition, name),
        "table": interactions.interactions_table(differences, definition, name),
    }


def _order(page: Page, effect: str) -> int:
    return list(page.definition.treatments).index(effect.split(":")[0])


def _notes(page: Page, name: str) -> list[str]:
    """List the notes about single dates; those of supporting analyses stand beside these."""
    return noting.dated_notes(page.table("notes"), page.table("plot_means"), page.definition, name)


def _seen(page: Page, name: str) -> str:
    observed = first_looks(page.table("observations"))
    kept = observed[observed["measure"] == name]
    if kept.empty:
        return "Nothing has been observed yet."
    dates = counted(int(pd.to_datetime(kept["date"]).nunique()), "date")
    return f"Observed so far: {counted(len(kept), 'value')} on {dates}."


def _methods(page: Page) -> Context:
    definition = page.definition
    return {
        "units": methods.unit_words(definition),
        "models": models_table(page),
        "versions": versions_words(page.provenance.versions),
        "skeleton": methods.skeleton_table(page.table("skeleton"), definition),
        "adjusting": adjusting.adjust_words(definition, _adjust(page)),
        "level": level_text(definition.analysis.alpha),
        "matters": matters_text(definition),
        "surroundings": methods.surroundings_words(definition),
        "supporting": supporting_words(page.table),
        "kenward": any(one.startswith("Kenward") for one in references(page.table)),
    }


def _references(page: Page) -> Context:
    return {
        "references": references(page.table),
        "trade": trade_sources(page.definition, page.table),
    }


def _adjust(page: Page) -> str:
    """Tell how the comparisons of the primary question are adjusted; empty before the answer."""
    primary = page.table("primary")
    return "" if primary.empty else str(primary["adjust"].iloc[0])


def _exclusions(page: Page) -> Context:
    definition, counts = page.definition, page.table("counts")
    primary = page.table("primary")
    totals = {name: int(counts[name].sum()) for name in ("expected", "used", "excluded", "missing")}
    totals["later"] = totals["expected"] - sum(totals[n] for n in ("used", "excluded", "missing"))
    totals["again"] = accounts.second_looks(counts)
    return {
        "totals": totals,
        "gaps": accounts.gaps_words(counts, definition),
        "shared": accounts.shared_words(page.table("observations"), counts),
        "exclusions": accounts.exclusions_table(page.table("exclusions"), definition),
        "answers": answers_table(primary, definition),
        "changed": exclusions_answer(primary, definition) if not primary.empty else "",
    }


def _deviations(page: Page) -> Context:
    return {"deviations": accounts.deviations_table(page.table("deviations"))}


def _limits(page: Page) -> Context:
    measures = page.definition.measures.values()
    return {
        "season": season_text(page),
        "unmeasured": unmeasured_words(page.definition),
        "more": limits_words(page),
        "blocks": methods.replication_words(page.definition),
        "grounds": several_grounds(page.definition),
        "photos": any(isinstance(m, PhotoMeasure) for m in measures),
        "ratings": any(isinstance(m, SheetMeasure) and m.scale is not None for m in measures),
        "holes": holes.holes_limit(page.table("means"), page.definition),
        "species": " and ".join(page.definition.site.turf.species),
        "main": in_sentence(factor_label(page.definition, next(iter(page.definition.treatments)))),
    }


def _cautions(page: Page) -> Context:
    hardness = measures_hardness(page.definition)
    return {"cautions": cautions(page.definition.units, hardness)}


def _appendix(page: Page) -> Context:
    """Show every table; before the primary date none that tells the values of plots."""
    shown = []
    for name, table in tables_of(page.definition).items():
        frame = page.tables.get(name, pd.DataFrame())
        hidden = page.waiting and name in (*_OF_PLOTS, "point_counts")
        if frame.empty or hidden:
            continue
        units = {c.name: _SI.get(c.unit, c.unit) for c in table.columns if c.unit}
        most = _MOST_LISTED if name in _LISTS else _MOST_ROWS
        most = _MOST_SUMMED_UP if name in _SUMMED_UP else most
        made = frame_table(name, frame, table.description, units, most)
        told = {"name": name, "text": table.description, "rows": len(frame), "table": made}
        shown.append(told)
    return {"tables": shown, "waiting": page.waiting, "long": _long(page)}


def _long(page: Page) -> list[Markup]:
    """Gather the longer tables that the sections before speak of."""
    definition, differences = page.definition, page.table("differences")
    made = [
        summaries.differences_table(differences, definition, name) for name in definition.measures
    ]
    made.append(support.replication_context(page)["table"])
    made.append(accounts.counts_table(page.table("counts"), definition))
    return [table for table in made if table]


# In the order of the page.
CONTEXTS: dict[str, Callable[[Page], Context]] = {
    "answer": _answer,
    "trial": trial_context,
    "season": season_context,
    "layout": layout_context,
    "measurements": measurements_context,
    "methods": _methods,
    "support": support.support_context,
    "grounds": grounds_context,
    "results": _results,
    "climate": climate_context,
    "agreement": support.agreement_context,
    "photos": photos_context,
    "point_count": point_count_context,
    "thresholds": thresholds_context,
    "decisions": decisions_context,
    "replication": support.replication_context,
    "shares": shares_context,
    "plan": plan_context,
    "deviations": _deviations,
    "exclusions": _exclusions,
    "records": records_context,
    "limits": _limits,
    "cautions": _cautions,
    "provenance": provenance_context,
    "references": _references,
    "checks": support.checks_context,
    "appendix": _appendix,
}
