from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import pytest

from wintersward.report.views import (
    any_unit,
    averaged_over,
    events,
    factor_label,
    in_sentence,
    level_label,
    main_factor,
    marks_of,
    measure_view,
    others_applied,
    plots_with,
    quantity,
    rater_name,
    stands_on,
    unit_kind,
    unit_of,
    within_label,
)
from wintersward.trial import Definition
from wintersward.trial.schema import SheetMeasure


def with_measure(definition: Definition, **fields: object) -> Definition:
    measure = SheetMeasure.model_validate({"from": "sheet", "dates": ["baseline"], **fields})
    return definition.model_copy(update={"measures": {**definition.measures, "extra": measure}})


def test_cover_is_in_percent_and_differs_by_points(definition: Definition) -> None:
    view = measure_view(definition, "green_cover")
    assert (view.label, view.noun, view.head) == ("Green cover", "green cover", "Green cover [%]")
    assert (view.unit, view.difference_unit, view.limits) == ("%", "points", (0.0, 100.0))
    assert view.value(46.25) == view.difference(46.25) == 46.25
    assert not view.rated


def test_a_rating_has_no_unit_of_difference(definition: Definition) -> None:
    view = measure_view(definition, "colour_rating")
    assert (view.unit, view.difference_unit, view.rated) == ("1–9", "", True)
    assert view.limits == (1.0, 9.0)


@pytest.mark.parametrize(("system", "unit", "shown"), [("us", "lbf", 1.0), ("metric", "N", 4.448)])
def test_forces_follow_the_reader(
    definition: Definition, system: str, unit: str, shown: float
) -> None:
    # One pound-force is 4.4482216152605 N exactly, NIST SP 811, appendix B.8.
    view = measure_view(definition.model_copy(update={"units": system}), "pull_force")
    assert view.unit == unit
    assert view.value(4.4482216152605) == pytest.approx(shown, abs=5e-4)


def test_temperatures_differ_without_the_zero_point(definition: Definition) -> None:
    view = measure_view(with_measure(definition, unit="degC"), "extra")
    assert (view.unit, view.rated) == ("°F", True)
    assert view.value(10.0) == pytest.approx(50.0)
    assert view.difference(10.0) == pytest.approx(18.0)


def test_short_lengths_stay_short(definition: Definition) -> None:
    assert measure_view(with_measure(definition, unit="mm"), "extra").unit == "in"
    assert measure_view(with_measure(definition, unit="ft"), "extra").unit == "ft"


def test_quantities_have_no_idle_digits() -> None:
    assert quantity(0.0254, "depth", "us") == "1 in"
    assert quantity(8.0, "points", "us") == "8 points"
    assert quantity(0.0305151727, "areal mass", "us") == "0.9 oz/yd²"


def test_labels(definition: Definition) -> None:
    assert level_label(definition, "fleece:hollow") == ("Spun-bond fleece with hollow tine 3/4 in")
    assert factor_label(definition, "cover:aeration") == "Cover × aeration"
    assert within_label(definition, "aeration=hollow") == "Hollow tine 3/4 in"
    assert within_label(definition, "") == ""
    assert in_sentence("USGA mix") == "USGA mix"


@pytest.mark.parametrize(
    ("label", "said"),
    [("Open", "open plots"), ("No cover", "plots with no cover"), ("Bare", "bare plots")],
)
def test_plots_are_named_as_a_person_would(definition: Definition, label: str, said: str) -> None:
    cover = definition.treatments["cover"]
    level = cover.levels["open"].model_copy(update={"label": label})
    cover = cover.model_copy(update={"levels": {**cover.levels, "open": level}})
    changed = definition.model_copy(
        update={"treatments": {**definition.treatments, "cover": cover}}
    )
    assert plots_with(changed, "open") == said


def test_the_control_is_grey_and_levels_keep_their_order(definition: Definition) -> None:
    marks = marks_of(definition, main_factor(definition))
    assert list(marks) == ["open", "fleece", "woven"]
    red, green, blue = (int(marks["open"].colour[at : at + 2], 16) for at in (1, 3, 5))
    assert red == green == blue
    assert len({mark.marker for mark in marks.values()}) == 3


def test_days_to_mark(definition: Definition) -> None:
    assert [(e.date, e.label) for e in events(definition)] == [
        (dt.date(2026, 3, 25), "aeration"),
        (dt.date(2026, 4, 18), "first event"),
    ]


def test_no_two_treatments_of_any_factor_look_alike(definition: Definition) -> None:
    marks = [m for name in definition.treatments for m in marks_of(definition, name).values()]
    assert len({mark.colour for mark in marks}) == len(marks) == 5
    assert len({mark.marker for mark in marks}) == len(marks)


def test_a_factor_counts_from_the_day_after_it_was_applied(definition: Definition) -> None:
    assert others_applied(definition, "cover", "2026-03-25") == []
    assert others_applied(definition, "cover", "2026-03-26") == ["aeration"]
    assert averaged_over(definition, "cover", "2026-03-24") == ""
    assert averaged_over(definition, "cover", "2026-04-04") == "averaged over aeration treatments"
    assert averaged_over(definition, "aeration", "2026-04-04") == "averaged over cover treatments"


def test_units_of_a_complete_trial(definition: Definition, blocks_only: Definition) -> None:
    assert unit_of(definition, "cover", "2026-04-04") == ("block", 6)
    assert unit_of(definition, "aeration", "2026-04-04") == ("subplot", 18)
    assert unit_of(blocks_only, "cover", "2026-04-04") == ("block", 6)


def test_one_point_is_not_points(definition: Definition) -> None:
    view = measure_view(definition, "green_cover")
    assert [view.amount(n) for n in ("1", "+1", "−1", "1.0", "2")] == [
        "1 point",
        "+1 point",
        "−1 point",
        "1.0 points",
        "2 points",
    ]


def test_units_of_every_layout(laid_out: Callable[..., Definition]) -> None:
    strips = laid_out("strip plot", True, blocks=4, row_strips="cover", column_strips="aeration")
    assert [unit_kind(strips, name) for name in ("cover", "aeration", "cover:aeration")] == [
        "row strip",
        "column strip",
        "plot",
    ]
    late = "2026-04-17"
    assert unit_of(strips, "cover", late) == ("block", 4)
    assert unit_of(laid_out("latin square"), "cover", late) == ("plot", 3)
    assert unit_of(laid_out("completely random", replicates=5), "cover", late) == ("plot", 5)
    crossed = laid_out("completely random", True, replicates=5)
    assert unit_of(crossed, "cover", late) == ("plot", 10)


def test_who_rated_is_named_in_full(definition: Definition) -> None:
    assert rater_name(definition, "te") == "T. Example"
    assert rater_name(definition, "vy") == "vy"
    assert rater_name(definition, "") == ""


def test_units_have_the_name_of_what_lies_on_the_ground(
    definition: Definition, laid_out: Callable[..., Definition]
) -> None:
    day = dt.date(2026, 3, 10)
    assert stands_on(definition, "cover", day) == "whole plot"
    assert any_unit(definition) == "plot or whole plot"
    blocks = laid_out("randomised blocks", blocks=6, blocks_follow="shade")
    assert stands_on(blocks, "cover", day) == any_unit(blocks) == "plot"
    strips = laid_out(
        "strip plot", both=True, blocks=4, row_strips="cover", column_strips="aeration"
    )
    assert stands_on(strips, "cover", day) == "row strip"
    assert any_unit(strips) == "plot or strip"
