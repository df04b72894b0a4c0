"""Words for what happens to covers and turf: known ones, everyday ones, and others."""

from __future__ import annotations

import pytest
from pydantic import BaseModel, ValidationError

from wintersward.trial.diary import CoverEvent, Management
from wintersward.trial.happenings import CARE, COVER_EVENTS


def words_of(model: type[BaseModel]) -> tuple[str, ...]:
    return tuple(model.model_json_schema()["properties"]["what"]["enum"])


def test_the_words_that_are_told_are_those_of_the_schema() -> None:
    assert words_of(CoverEvent) == COVER_EVENTS
    assert words_of(Management) == CARE


@pytest.mark.parametrize("what", COVER_EVENTS)
def test_every_event_is_read_and_only_two_open_a_plot(what: str) -> None:
    event = CoverEvent.model_validate({"date": "2026-02-05", "what": what, "note": "n"})
    assert event.opens == (what in ("lifted", "blown off"))
    assert event.closes == (what == "laid again")
    assert event.on_covers == (what in COVER_EVENTS[:5])


@pytest.mark.parametrize(
    ("model", "said", "end"),
    [
        (Management, "rolled", "or other with a note; did you mean rolling?"),
        (Management, "overseeding", "or other with a note; did you mean seeding?"),
        (Management, "PGR", "or other with a note; did you mean growth regulator?"),
        (
            Management,
            "fertilizer",
            "or other with a note; did you mean nitrogen or other nutrients?",
        ),
        (Management, "weeding", "or other with a note"),
        (Management, "scarifying", "or other with a note"),
        (Management, "shovelled", "or other with a note"),
        (CoverEvent, "shovelled", "or other with a note; did you mean snow cleared?"),
        (CoverEvent, "rolling", "or other with a note"),
        (CoverEvent, "lift", "or other with a note; did you mean lifted?"),
    ],
)
def test_another_word_is_refused_with_the_one_that_is_meant(
    model: type[BaseModel], said: str, end: str
) -> None:
    with pytest.raises(ValidationError) as refused:
        model.model_validate({"date": "2026-02-05", "what": said})
    (error,) = refused.value.errors()
    assert error["msg"].endswith(end)
