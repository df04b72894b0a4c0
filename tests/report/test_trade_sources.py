"""Sources that cautions and ways of measuring name: each stands in the list of the page."""

from __future__ import annotations

import re

import pandas as pd
import pytest

from wintersward.analysis.results import empty
from wintersward.report.aerating_cautions import SOURCES
from wintersward.report.cautions import UNCHECKED, UNSOURCED, cautions
from wintersward.report.trade_sources import trade_sources
from wintersward.trial import Definition
from wintersward.trial.catalogue import CATALOGUE
from wintersward.trial.schema import SheetMeasure

NO_PHOTOS = empty("photo_scores")
# An author or a body with a year, a standard, or a law by its place.
NAMED = re.compile(r"([A-Z][a-z]+)(?: and [A-Z][a-z]+| et al\.)?,? (?:\(?\d{4}|F\d{4})")


def with_kind(definition: Definition, kind: str) -> Definition:
    told: dict[str, object] = {"from": "sheet", "kind": kind, "dates": ["visits"]}
    if kind == "surface_hardness":
        told["instrument"] = {"missile": "2.25 kg", "drop_height": "18 in", "drops": 1}
    made = SheetMeasure.model_validate(told, context={"units": "us"})
    return definition.model_copy(update={"measures": {"one": made}})


def listed(definition: Definition) -> str:
    return " ".join(trade_sources(definition, NO_PHOTOS))


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
    assert "Crop Science 43, 943–951" in " ".join(trade_sources(definition, tables["photo_scores"]))


@pytest.mark.parametrize("aerated", [False, True])
def test_the_list_is_by_name(definition: Definition, aerated: bool) -> None:
    found = trade_sources(definition, NO_PHOTOS, aerated)
    assert set(SOURCES) <= set(found) if aerated else not set(SOURCES) & set(found)
    assert found == sorted(found, key=str.casefold)
    assert len(set(found)) == len(found)
