"""Days that holes are open: published figures, their scaling, and the warmth of the soil."""

from __future__ import annotations

import datetime as dt
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintersward.decisions.hole_days import (
    GOOD_GROWTH,
    PUBLISHED,
    Known,
    Warmth,
    good_warmth,
    growing_warmth,
    lengthening,
    scaled,
)
from wintersward.trial.aerating import Recovery
from wintersward.units import to_si

ON, EVENT = dt.date(2026, 3, 25), dt.date(2026, 4, 18)


def days(first: str, count: int) -> list[dt.date]:
    start = dt.date.fromisoformat(first)
    return [start + dt.timedelta(days=at) for at in range(count)]


def test_half_inch_hollow_tines_as_published() -> None:
    # Note of a golf course, 2013: 1/2 in hollow tines, 10 to 14 days in good growth.
    half = to_si(0.5, "in")
    assert PUBLISHED.diameter == pytest.approx(half)
    assert scaled(PUBLISHED, half) == pytest.approx((10, 14))


def test_quarter_inch_tines_take_half_the_time_of_half_inch() -> None:
    # Landreth et al. 2007-08, Arkansas.
    assert scaled(PUBLISHED, to_si(0.25, "in")) == pytest.approx((5, 7))


def test_what_a_definition_states_is_taken() -> None:
    told = {"diameter": "0.625 in", "days": [14, 21], "source": "last spring"}
    known = Known.stated(Recovery.model_validate(told))
    assert scaled(known, to_si(0.625, "in")) == (14, 21)
    assert known.source == "last spring"


def test_good_growth_is_as_published() -> None:
    # Owen 2013: cool-season grasses grow best in soil of 13 to 18 degC.
    assert GOOD_GROWTH == (13.0, 18.0)
    assert good_warmth(0.0) == 15.5
    assert good_warmth(0.0, upper=12.0) == 12.0


def test_half_the_warmth_takes_twice_the_time() -> None:
    assert lengthening(7.75, 15.5) == 2.0


def test_more_warmth_than_good_growth_shortens_nothing() -> None:
    assert lengthening(20.0, 15.5) == 1.0


@pytest.mark.parametrize(("a_day", "good"), [(0.0, 15.5), (1.5, 15.5), (5.0, 0.0), (-1.0, 15.5)])
def test_without_warmth_there_is_no_figure(a_day: float, good: float) -> None:
    assert math.isnan(lengthening(a_day, good))


@given(st.floats(1.6, 30.0), st.floats(0.1, 10.0))
def test_colder_soil_is_never_faster(a_day: float, more: float) -> None:
    assert lengthening(a_day, 15.5) >= lengthening(a_day + more, 15.5) >= 1.0


def test_warmth_is_that_of_the_days_in_which_the_holes_close() -> None:
    when = [*days("2026-03-11", 14), *days("2026-03-25", 30)]
    warm = [1.0] * 14 + [8.0] * 24 + [99.0] * 6
    assert growing_warmth(when, warm, ON, EVENT) == Warmth(8.0, ON, dt.date(2026, 4, 17))


def test_plots_are_averaged_day_by_day() -> None:
    # The second plot has half as many days; they count no less for it.
    when = [*days("2026-03-25", 8), *days("2026-03-25", 4)]
    warm = [2.0] * 8 + [6.0] * 4
    found = growing_warmth(when, warm, ON, EVENT)
    assert found is not None
    assert found.a_day == 3.0


def test_before_the_aeration_the_fortnight_before_it_stands_for_what_comes() -> None:
    when = [*days("2026-03-01", 24), *days("2026-03-25", 6)]
    warm = [0.0] * 10 + [4.0] * 14 + [50.0] * 6
    assert growing_warmth(when, warm, ON, EVENT) == Warmth(4.0, days("2026-03-11", 1)[0], when[23])


def test_without_an_event_four_weeks_are_taken() -> None:
    found = growing_warmth(days("2026-03-25", 60), [3.0] * 60, ON, None)
    assert found == Warmth(3.0, ON, dt.date(2026, 4, 21))


def test_few_days_tell_nothing() -> None:
    assert growing_warmth(days("2026-03-25", 6), [3.0] * 6, ON, EVENT) is None
    assert growing_warmth(days("2026-03-25", 9), [math.nan] * 9, ON, EVENT) is None
    assert growing_warmth([], [], ON, EVENT) is None
