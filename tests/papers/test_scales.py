"""What a rater is told about marks and limits."""

from __future__ import annotations

from typing import Any

import pytest

from wintersward.papers.scales import marks, remarks, rule, scale_words
from wintersward.trial import Definition
from wintersward.trial.catalogue import CATALOGUE
from wintersward.trial.schema import SheetMeasure


def measure(**fields: Any) -> SheetMeasure:
    return SheetMeasure.model_validate({"from": "sheet", "dates": ["2026-03-24"], **fields})


@pytest.mark.parametrize(
    ("scale", "count"), [("1-9", 17), ("0-10", 21), ("0-100", 0), ("1-5.25", 0), ("1-5.5", 10)]
)
def test_a_short_scale_is_listed_by_halves(scale: str, count: int) -> None:
    told = measure(scale=scale)
    listed = marks(told)
    assert len(listed) == count
    if listed:
        assert (listed[0], listed[-1]) == told.scale


def test_what_has_a_unit_has_no_marks() -> None:
    assert marks(measure(unit="lbf")) == []


def test_a_wide_scale_is_checked_by_its_ends() -> None:
    check = rule("density", measure(scale="0-100"), "")
    assert (check.choices, check.low, check.high) == ("", 0.0, 100.0)
    assert check.error.startswith("A mark from 0 to 100. Leave")


@pytest.mark.parametrize(
    ("unit", "low", "high", "said"),
    [
        ("lbf", 0.0, None, "A number in lbf, 0 or more; write the number alone."),
        ("in", 0.0, None, "A number in in, 0 or more; write the number alone."),
        ("%", 0.0, 100.0, "A number in %, 0 to 100; write the number alone."),
        ("degF", None, None, "A number in degF; write the number alone."),
    ],
)
def test_limits_are_told_in_the_unit_of_the_sheet(
    unit: str, low: float | None, high: float | None, said: str
) -> None:
    check = rule("reading", measure(unit=unit), "")
    assert (check.low, check.high, check.prompt) == (low, high, said)


def test_the_acceptable_mark_is_named() -> None:
    told = measure(scale="1-9", acceptable=6, label="Colour")
    words = "Colour: 1 worst, 9 best, 6 just good enough; half marks allowed"
    assert scale_words("c", told) == words
    assert scale_words("c", measure(scale="0-100")) == "C: 0 worst, 100 best"


def test_the_marks_stand_where_the_drop_down_looks(definition: Definition) -> None:
    several = {
        "colour": measure(scale="1-9", acceptable=6),
        "force": measure(unit="lbf"),
        "share": measure(scale="0-100"),
        "stand": measure(scale="1-3", acceptable=1),
    }
    rows, places = remarks(definition, several)
    assert list(places) == ["colour", "stand"]
    for name, place in places.items():
        first, last = (int(end.rpartition("$")[2]) for end in place.split(":"))
        assert [mark for mark, _ in rows[first - 1 : last]] == marks(several[name])
    meanings = dict(rows[int(places["stand"].split("$")[2].strip(":")) - 1 :])
    assert meanings == {
        1.0: "worst: as poor as it could be on this ground; just good enough: the lowest mark "
        "that you would be content with",
        1.5: "",
        2.0: "",
        2.5: "",
        3.0: "best: you could wish for nothing better",
    }


def told_of(definition: Definition, second: bool = False, **due: SheetMeasure) -> str:
    rows, _ = remarks(definition, due, second)
    return " ".join(str(said) for _, said in rows)


def test_the_trials_own_words_for_a_mark_go_first(definition: Definition) -> None:
    words = {1: "all straw", 2: "green, gaps shut"}
    own = measure(scale="1-3", acceptable=2, anchors=words)
    said = told_of(definition, colour=own)
    assert "all straw" in said
    assert "worst: as poor" not in said
    assert "green, gaps shut; just good enough" in said
    assert "best: you could wish for nothing better" in said


def test_a_rating_and_a_reading_have_steps_of_their_own(definition: Definition) -> None:
    rated = told_of(definition, colour=measure(scale="1-9"))
    assert "Go by what you see now" in rated
    assert "Half marks are allowed" in rated
    assert "peak" not in rated
    read = told_of(definition, pull=measure(unit="lbf", destructive=True))
    assert "Go by what you see" not in read
    assert "marks" not in read
    assert "at the spots of the map, never where photos are taken, and at least 6 in" in read
    assert "same speed each time, and read the peak" in read
    assert "how wet the soil is" in read
    assert "common practice, no source" in read
    assert "drop" not in read
    both = told_of(definition, colour=measure(scale="1-9"), pull=measure(unit="lbf"))
    assert "Go by what you see now" in both
    assert "read the peak" in both


def test_pulled_turned_and_dropped_have_words_of_their_own(definition: Definition) -> None:
    turned = told_of(definition, vane=measure(unit="ft.lbf"))
    assert "Turn at the same speed each time, and read the peak." in turned
    several = told_of(definition, vane=measure(unit="N.m"), pull=measure(unit="lbf"))
    assert "Pull or turn at the same speed" in several
    dropped = told_of(definition, hardness=measure(unit="gravities"))
    assert "Let the missile drop freely, from the same height each time" in dropped
    assert "same speed" not in dropped


def test_a_usual_kind_is_told_with_how_it_is_taken_and_what_to_note(
    definition: Definition,
) -> None:
    due = {
        "clippings": measure(kind="clippings", unit="g/m2", label="Clippings"),
        "weeds": measure(unit="%"),
        "colour": measure(kind="colour", scale="1-9"),
    }
    rows, places = remarks(definition, due)
    at = rows.index(("Clippings", ""))
    assert rows[at + 1] == ("how", CATALOGUE["clippings"].protocol)
    assert rows[at + 2][0] == "note"
    assert str(rows[at + 2][1]).startswith("Width and length of the pass, mowing height")
    assert not any(name == "Weeds" for name, _ in rows)
    first = int(places["colour"].split("$")[2].strip(":"))
    assert [name for name, _ in rows[first - 4 : first]] == ["Colour", "how", "note", 1.0]
    assert "in the definition" not in " ".join(str(said) for _, said in rows)


def test_what_has_no_peak_and_no_spots_is_not_told_of_them(definition: Definition) -> None:
    metric = definition.model_copy(update={"units": "metric"})
    said = told_of(metric, warmth=measure(unit="degC"))
    assert "peak" not in said
    assert "spots" not in said
    assert "at least 15 cm" in said


def test_the_second_round_begins_when_the_first_is_given_in(definition: Definition) -> None:
    due = {"colour": measure(scale="1-9")}
    assert "first round is given in" in told_of(definition, True, **due)
    assert "first round" not in told_of(definition, **due)


def test_the_edge_that_is_left_out_is_told_in_the_readers_unit(definition: Definition) -> None:
    rows, _ = remarks(definition, {})
    assert rows[2] == (2, "Leave out the outer 1 ft along each side of a plot.")
    layout = definition.layout.model_copy(update={"edge_left_out": 0.0})
    rows, _ = remarks(definition.model_copy(update={"layout": layout}), {})
    assert not any("outer" in str(said) for _, said in rows)


def test_marks_have_the_words_of_the_definition() -> None:
    words = {1: "straw", 6: "green enough for a game"}
    told = measure(scale="1-9", acceptable=6, label="Colour", anchors=words)
    assert scale_words("c", told) == (
        "Colour: 1 straw, 6 green enough for a game, 9 best, 6 just good enough; half marks allowed"
    )


def test_a_kind_narrows_what_may_be_written() -> None:
    check = rule("soil", measure(kind="soil_temperature", unit="degF"), "")
    assert (check.low, check.high) == (-22.0, 140.0)
