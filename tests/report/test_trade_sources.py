"""Sources that cautions and ways of measuring name: each stands in the list of the page."""

from __future__ import annotations

import re

import pandas as pd
import pytest

from wintersward.analysis.results import empty
from wintersward.climate.risk import RISKS
from wintersward.report.aerating_cautions import SOURCES
from wintersward.report.cautions import UNCHECKED, UNSOURCED, cautions
from wintersward.report.trade_sources import trade_sources
from wintersward.trial import Definition
from wintersward.trial.catalogue import CATALOGUE
from wintersward.trial.schema import LoggerMeasure, SheetMeasure

from .test_aerating import table as aerations
from .test_aerating import with_plans

# An author or a body with a year, a standard, or a law by its place.
NAMED = re.compile(r"([A-Z][a-z]+)(?: and [A-Z][a-z]+| et al\.)?,? (?:\(?\d{4}|F\d{4})")


def with_kind(definition: Definition, kind: str) -> Definition:
    told: dict[str, object] = {"from": "sheet", "kind": kind, "dates": ["visits"]}
    if kind == "surface_hardness":
        told["instrument"] = {"missile": "2.25 kg", "drop_height": "18 in", "drops": 1}
    made = SheetMeasure.model_validate(told, context={"units": "us"})
    return definition.model_copy(update={"measures": {"one": made}})


def listed(definition: Definition) -> str:
    return " ".join(trade_sources(definition))


def test_every_caution_has_its_source_listed(definition: Definition) -> None:
    held = listed(definition)
    for caution in cautions("us"):
        if caution.source in (UNSOURCED, UNCHECKED):
            continue
        names = ("ASTM F1936", "Vavrek", "Dionne", "Rutgers", "Connecticut", "New York")
        named = [name for name in names if name in caution.source]
        assert named, caution.source
        assert all(name in held for name in named), caution.source


@pytest.mark.parametrize("kind", CATALOGUE)
def test_every_way_of_measuring_has_its_sources_listed(definition: Definition, kind: str) -> None:
    source, held = CATALOGUE[kind].source, listed(with_kind(definition, kind))
    for name in NAMED.findall(source):
        assert name in held, (kind, name)
    assert ("Henderson J. (2009)" in held) == (kind == "pull_force")


def test_a_source_is_listed_only_where_it_is_named(
    definition: Definition, tables: dict[str, pd.DataFrame]
) -> None:
    held = listed(definition)
    assert "Henderson" not in held
    assert "Qu et al." not in held
    assert "Karcher" not in held
    scored = with_tables(definition, photo_scores=tables["photo_scores"])
    assert "Crop Science 43, 943–951" in scored


def with_tables(definition: Definition, **tables: pd.DataFrame) -> str:
    found = trade_sources(definition, lambda name: tables.get(name, empty(name)))
    assert len(set(found)) == len(found)
    assert found == sorted(found, key=str.casefold)
    return " ".join(found)


OF_RISKS = {
    "canopy_heat": ["North Carolina State University (2005), quoted by Kent County extension"],
    "pink_snow_mould": ["Rutgers", "Note on turf (2011)"],
    "grey_snow_mould": ["Rutgers", "Kansas State University (2011)", "NC State Extension, page"],
    "frost_after_uncovering": [],
    "dehardening": ["Hoffman et al. (2014) Crop Science, as told in Golf Course Management"],
}


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("name", RISKS)
def test_every_limit_of_a_risk_has_its_sources_listed(
    definition: Definition, name: str, units: str
) -> None:
    row = pd.DataFrame({"source": [RISKS[name].source_for(units)]})
    held = with_tables(definition, risks=row)
    assert [one for one in OF_RISKS[name] if one not in held] == []


def test_what_counts_and_advice_rest_on_is_listed_where_they_are_shown(
    definition: Definition,
) -> None:
    bare = with_tables(definition)
    for name in ("Reda", "Ineichen", "Leinauer", "Hoffman", "Kansas", "Cornell"):
        assert name not in bare
    sun = with_tables(definition, sun_hours=pd.DataFrame({"plot": ["101"]}))
    assert "Reda I., Andreas A. (2004)" in sun
    assert "Ineichen P., Perez R. (2002)" in sun
    raters = pd.DataFrame({"advice": ["blocks", "raters"]})
    assert "Leinauer B. (2015)" in with_tables(definition, next_trial=raters)
    assert "Leinauer" not in with_tables(definition, next_trial=raters.iloc[:1])


def test_a_logger_names_the_source_of_its_depth(definition: Definition) -> None:
    told = {"from": "logger", "what": "soil temperature", "depth": "4 in", "dates": ["visits"]}
    soil = LoggerMeasure.model_validate(told, context={"units": "us"})
    held = with_tables(definition.model_copy(update={"measures": {"soil": soil}}))
    assert "quoted by Kent County extension (2007)" in held


def test_of_aeration_only_what_is_named_is_listed(definition: Definition) -> None:
    plans = with_plans(definition)
    published = with_tables(plans, aeration_options=aerations(plans))
    for name in ("Cornell University, on", "Daniels", "Landreth", "Note of a golf", "Brien"):
        assert name in published, name
    assert "Owen" not in published
    assert "Owen (2013)" in with_tables(plans, aeration_options=aerations(plans, 1.82))
    own = aerations(plans)
    own["days_basis"] = "observed on this trial's plots, scaled by diameter"
    own["days_source"] = "18 units of this trial"
    own["known_diameter"] = 0.019
    own[["known_low", "known_high"]] = (28.0, 36.0)
    seen = with_tables(plans, aeration_options=own)
    assert "golf" not in seen
    assert "Owen" not in seen
    assert "Landreth" in seen


def test_without_ways_to_aerate_their_sources_are_not_listed(definition: Definition) -> None:
    assert not set(SOURCES.values()) & set(trade_sources(with_plans(definition)))
