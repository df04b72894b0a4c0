"""The MIAPPE checklist of a study: every field, its value, and where it stands in the bundle."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Iterable, Iterator, Mapping

import pandas as pd

from wintersward.handin.miappe_fields import FIELDS, VERSION
from wintersward.report.views import factor_label, level_label
from wintersward.trial import Definition, Diary
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import LoggerMeasure, Measure, PhotoMeasure, SheetMeasure

__all__ = ["CHECKLIST", "checklist"]

CHECKLIST = "miappe.csv"

_TRIAL, _DIARY, _PLOTS = "study/trial.yaml", "study/diary.yaml", "study/plan/plots.csv"
# Genera of turf grasses and what grows among them: common names have the same form.
_GENERA = (
    "Agrostis|Axonopus|Bouteloua|Cynodon|Deschampsia|Eremochloa|Festuca|Koeleria|Lolium|"
    "Paspalum|Phleum|Poa|Puccinellia|Schedonorus|Stenotaphrum|Trifolium|Zoysia"
)
_LATIN = re.compile(rf"({_GENERA}) ((?:[x\u00d7] ?)?[a-z][a-z-]+)\b")
_LEVELS = {
    "completely random": "plot",
    "randomised blocks": "block>plot",
    "latin square": "row>column>plot",
    "split plot": "block>whole plot>subplot",
    "strip plot": "block>row strip>column strip>plot",
    "demonstration": "plot",
}

# What is known of a field: its value, and where that stands in the bundle.
Known = Iterator[tuple[str, str, str]]


def checklist(definition: Definition, diary: Diary, plots: pd.DataFrame, run: str) -> str:
    """Fill in the checklist from what a study holds.

    Parameters
    ----------
    definition : Definition
        The study.
    diary : Diary
        What happened since.
    plots : DataFrame
        ``plan/plots.csv``, one row a plot.
    run : str
        Number of the run.

    Returns
    -------
    str
        CSV with the columns field (``section.codename``), value (several parted by ``; ``; those
        of one section in one order), present (yes or no) and where, one row for each of
        `wintersward.handin.miappe_fields.FIELDS`. A field that nothing in a study tells is there
        with ``no``. Dates are ISO 8601, degrees decimal (ISO 6709), lengths in m.
    """
    known: dict[str, tuple[str, str]] = {}
    for part in (
        _study(definition, diary),
        _design(definition),
        _people(definition),
        _files(run),
        _material(definition),
        _environment(definition),
        _factors(definition),
        _events(diary),
        _units(definition, plots),
        _variables(definition),
    ):
        known |= {field: (value, where) for field, value, where in part if value.strip("; ")}
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(["field", "value", "present", "where"])
    for field in FIELDS:
        value, where = known.get(field, ("", ""))
        writer.writerow([field, value, "yes" if value else "no", where])
    return stream.getvalue()


def _study(definition: Definition, diary: Diary) -> Known:
    site, named = definition.site, definition.dates
    days = dates_meant(named, list(named))
    yield "investigation.investigationTitle", definition.title, f"{_TRIAL}: title"
    yield "investigation.investigationDescription", definition.question, f"{_TRIAL}: question"
    yield "investigation.miappeVersion", VERSION, ""
    yield "study.studyTitle", definition.title, f"{_TRIAL}: title"
    yield "study.studyDescription", definition.question, f"{_TRIAL}: question"
    yield "study.studyStartDate", min(days).isoformat(), f"{_TRIAL}: dates"
    yield "study.studyEndDate", max(days).isoformat(), f"{_TRIAL}: dates"
    yield "study.locationCountry", site.country, f"{_TRIAL}: site.country"
    yield "study.siteName", site.name, f"{_TRIAL}: site.name"
    if site.latitude is not None and site.longitude is not None:
        yield "study.locationLatitude", f"{site.latitude:g}", f"{_TRIAL}: site.latitude"
        yield "study.locationLongitude", f"{site.longitude:g}", f"{_TRIAL}: site.longitude"
    use = f"field: {site.use}" if site.use else "field"
    yield "study.growthFacilityDesc", use, f"{_TRIAL}: site.use"
    care = (
        " ".join(word for word in (one.date.isoformat(), one.what, one.amount) if word)
        for one in diary.management
    )
    yield "study.culturalPractice", _joined(care), f"{_DIARY}: management"


def _design(definition: Definition) -> Known:
    layout = definition.layout
    parts = [layout.kind, definition.replication]
    for words, factor in (
        ("whole plots", layout.whole_plot),
        ("subplots", layout.subplot),
        ("row strips", layout.row_strips),
        ("column strips", layout.column_strips),
    ):
        if factor:
            parts.append(f"{words}: {factor_label(definition, factor)}")
    drawn = "laid by hand" if layout.laid_by_hand else f"drawn from the seed {layout.seed}"
    width, length = layout.plot_size
    levels = _LEVELS[layout.kind]
    if layout.grounds:
        levels = f"ground>{levels}"
    yield "study.expeDesignDesc", _joined([*parts, drawn]), f"{_TRIAL}: layout"
    yield "study.obsUnitLevelHierarchy", levels, f"{_TRIAL}: layout"
    said = f"plots of {width:g} m by {length:g} m"
    if layout.edge_left_out:
        said += f", of which an edge of {layout.edge_left_out:g} m is not sampled"
    yield "study.obsUnitDesc", said, f"{_TRIAL}: layout"
    yield "study.expeDesignMap", _joined([_PLOTS, "run/figures/plot_map.svg"]), _PLOTS


def _people(definition: Definition) -> Known:
    where = f"{_TRIAL}: people"
    yield "person.personName", _joined(one.name for one in definition.people), where
    yield "person.personRole", _joined(one.role for one in definition.people), where


def _files(run: str) -> Known:
    tables = ["run/results/observations.csv", "run/results/plot_means.csv"]
    yield "dataFile.dataFileLink", _joined(tables), "datapackage.json"
    yield "dataFile.dataFileDesc", "CSV, UTF-8; columns, types and units in datapackage.json", ""
    yield "dataFile.dataFileVersion", f"run {run}", "inventory.json"


def _material(definition: Definition) -> Known:
    turf = definition.site.turf
    where = f"{_TRIAL}: site.turf"
    latin = [_LATIN.match(name) for name in turf.species]
    yield "biologicalMaterial.organism", _joined(turf.species), f"{where}.species"
    if all(latin):
        found = [match for match in latin if match]
        yield "biologicalMaterial.genus", _joined(m[1] for m in found), f"{where}.species"
        yield "biologicalMaterial.species", _joined(m[2] for m in found), f"{where}.species"
    prepared = turf.established or ""
    yield "biologicalMaterial.biologicalMaterialPreprocessing", prepared, f"{where}.established"


def _environment(definition: Definition) -> Known:
    turf = definition.site.turf
    height = "" if turf.mowing_height is None else f"{turf.mowing_height:g} m"
    told = {"root zone": turf.root_zone or "", "mowing height": height}
    told = {name: value for name, value in told.items() if value}
    yield "environment.envParam", _joined(told), f"{_TRIAL}: site.turf"
    yield "environment.envParamValue", _joined(told.values()), f"{_TRIAL}: site.turf"


def _factors(definition: Definition) -> Known:
    where = f"{_TRIAL}: treatments"
    labels = [factor_label(definition, name) for name in definition.treatments]
    values = [
        f"{factor_label(definition, name)}: "
        + ", ".join(level_label(definition, level) for level in factor.levels)
        for name, factor in definition.treatments.items()
    ]
    told = [
        f"{level.label}: {level.description}"
        for factor in definition.treatments.values()
        for level in factor.levels.values()
        if level.description
    ]
    yield "experimentalFactor.expeFactorType", _joined(labels), where
    yield "experimentalFactor.expeFactorDesc", _joined(told), where
    yield "experimentalFactor.expeFactorValues", _joined(values), where


def _events(diary: Diary) -> Known:
    found = sorted(_happened(diary))
    yield "event.eventType", _joined(what for _, what, _ in found), _DIARY
    yield "event.eventDesc", _joined(note or "-" for *_, note in found), _DIARY
    yield "event.eventDate", _joined(day.isoformat() for day, *_ in found), _DIARY


def _happened(diary: Diary) -> Iterator[tuple[dt.date, str, str]]:
    """List every event of a diary: day, what, and what is told of it."""
    for spell in diary.covers:
        note = _clause(spell.note or "")
        yield spell.on, "covers on", note
        if spell.off is not None:
            yield spell.off, "covers off", note
    for event in diary.cover_events:
        yield event.date, event.what, _clause(event.note or "")
    for care in diary.management:
        told = ", ".join(word for word in (care.amount, care.note) if word)
        yield care.date, care.what, _clause(told)
    for mishap in diary.mishaps:
        yield mishap.date, "mishap", _clause(f"{mishap.what} {mishap.effect}")


def _clause(text: str) -> str:
    """Take the sign that parts values out of a text."""
    return text.replace("; ", ", ")


def _units(definition: Definition, plots: pd.DataFrame) -> Known:
    kind = "subplot" if definition.layout.kind == "split plot" else "plot"
    places = [
        name
        for name in ("ground", "block", "row", "column", "x_m", "y_m")
        if name in plots.columns and (plots[name].astype(str) != "").any()
    ]
    factors = list(definition.treatments)
    yield "observationUnit.obsUnitId", _joined(plots["plot"].astype(str)), f"{_PLOTS}: plot"
    yield "observationUnit.obsUnitType", kind, f"{_TRIAL}: layout"
    said = f"{', '.join(places)} of every plot"
    yield "observationUnit.spatialDistribution", said, f"{_PLOTS}: {', '.join(places)}"
    said = f"{', '.join(factors)} of every plot"
    yield "observationUnit.obsUnitFactorValue", said, f"{_PLOTS}: {', '.join(factors)}"


def _variables(definition: Definition) -> Known:
    where, measures = f"{_TRIAL}: measures", definition.measures
    labels = [one.label or name.replace("_", " ") for name, one in measures.items()]
    yield "observedVariable.variableId", _joined(measures), where
    yield "observedVariable.variableName", _joined(labels), where
    yield "observedVariable.traitName", _joined(labels), where
    yield "observedVariable.methodName", _joined(map(_method, measures.values())), where
    told = [f"{name}: {_described(one)}" for name, one in measures.items()]
    yield "observedVariable.methodDesc", _joined(told), where
    yield "observedVariable.scaleName", _joined(one.unit for one in measures.values()), where
    yield "observedVariable.timeScale", "date", "run/results/observations.csv: date"


def _method(measure: Measure) -> str:
    if isinstance(measure, PhotoMeasure):
        words = {"cover": "share of green pixels", "colour_index": "dark green colour index"}
        return f"photo, {words[measure.score]}"
    if isinstance(measure, LoggerMeasure):
        return f"{measure.what} of loggers, {measure.daily} of the day"
    if measure.scale is not None:
        return "rating by eye"
    return (measure.kind or "reading").replace("_", " ")


def _described(measure: Measure) -> str:
    what = "photos" if isinstance(measure, PhotoMeasure) else "values"
    words = f"{measure.per_plot} {what if measure.per_plot > 1 else what[:-1]} a plot and date"
    if isinstance(measure, SheetMeasure) and measure.raters:
        words += f", each of the raters {', '.join(measure.raters)}"
    if isinstance(measure, SheetMeasure) and measure.destructive:
        words += ", taking turf away"
    return words


def _joined(words: Iterable[str] | Mapping[str, object]) -> str:
    return "; ".join(words)
