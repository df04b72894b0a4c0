"""What the protocol says of ground, photos and readings follows from the definition."""

from __future__ import annotations

import pytest

from papers.trial_papers import sound
from wintersward.papers.field_methods import (
    blinding_words,
    photo_facts,
    photo_rules,
    plan_holders,
    readings,
    site_facts,
)
from wintersward.trial import Definition
from wintersward.trial.catalogue import CATALOGUE


def with_roles(*roles: str) -> Definition:
    made = sound()
    people = [
        one.model_copy(update={"role": role}) for one, role in zip(made.people, roles, strict=True)
    ]
    return made.model_copy(update={"people": people})


def test_a_site_without_a_position_has_no_line_for_it() -> None:
    made = sound()
    site = made.site.model_copy(update={"latitude": None})
    facts = {one.what: one.words for one in site_facts(made.model_copy(update={"site": site}))}
    assert "Position" not in facts
    assert facts["Root zone"] == "sand cap, 4 in over loam"
    assert facts["Use"] == facts["North on the map"] == ""


def test_what_a_photo_shows_is_told_where_the_quadrat_is() -> None:
    made = sound("green_cover", quadrat=["2 ft", "3 ft"], per_plot=2)
    facts = {one.what: one.words for one in photo_facts(made)}
    assert facts["Ground that a photo shows"] == "2 ft by 3 ft"
    assert facts["Camera"] == ""
    first = photo_rules(made)[0]
    assert first.startswith("The same two spots of every plot on every visit in the middle")


def test_without_photos_nothing_is_said_of_them() -> None:
    made = sound()
    measures = {name: one for name, one in made.measures.items() if name != "green_cover"}
    without = made.model_copy(update={"measures": measures})
    assert photo_rules(without) == photo_facts(without) == []


def test_a_measure_of_the_catalogue_has_its_protocol_and_source() -> None:
    made = sound()
    for kind in CATALOGUE.values():
        # The field is set beside the checks of a definition: what is tested is the wording.
        measure = made.measures["colour_rating"].model_copy()
        object.__setattr__(measure, "kind", kind.name)
        (found,) = readings(made.model_copy(update={"measures": {"colour_rating": measure}}))
        assert found.how == f"{kind.protocol} Whole and half marks are allowed."
        assert found.source == kind.source
        assert found.record
        assert "definition" not in found.record


def test_a_measure_of_ones_own_leaves_room() -> None:
    found = {one.label: one for one in readings(sound())}
    assert (found["Pull force"].how, found["Pull force"].record) == ("", "")


@pytest.mark.parametrize(
    ("roles", "held"),
    [
        (("groundskeeper", "extension agent"), 2),
        (("Head groundskeeper", "student"), 1),
        (("volunteer", "student"), 0),
    ],
)
def test_who_rates_and_holds_the_plan(roles: tuple[str, str], held: int) -> None:
    made = with_roles(*roles)
    assert len(plan_holders(made)) == held
    said = blinding_words(made)
    assert ("not blind" in said) == bool(held)
    if held == 1:
        assert "R. Example (Head groundskeeper) holds this plan and rates as well" in said
