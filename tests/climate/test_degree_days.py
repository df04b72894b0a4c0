from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import wintersward
from wintersward.climate.degree_days import METHODS, degree_days
from wintersward.errors import WinterswardError

ROUNDING = 1e-9
temperatures = st.floats(-40, 50, allow_nan=False)
methods = st.sampled_from(sorted(METHODS))


@st.composite
def days(draw: st.DrawFn) -> tuple[float, float]:
    low, high = sorted((draw(temperatures), draw(temperatures)))
    return low, high


@settings(deadline=None)
@given(days(), temperatures)
def test_methods_are_ordered_without_an_upper_limit(day: tuple[float, float], base: float) -> None:
    # The same mean, spread ever wider: one value, even, a sine wave, the two ends alone. What lies
    # above a base is convex, so its mean grows with the spread.
    found = [degree_days(*day, base, method=m) for m in ("average", "triangle", "sine", "modified")]
    assert all(a <= b + ROUNDING for a, b in zip(found, found[1:], strict=False))


@settings(deadline=None)
@given(days(), temperatures, st.floats(0.1, 60))
def test_modified_is_never_below_average(
    day: tuple[float, float], base: float, above: float
) -> None:
    upper = base + above
    average, modified = (degree_days(*day, base, upper, m) for m in ("average", "modified"))
    assert modified >= average - ROUNDING


@settings(deadline=None)
@given(days(), temperatures, st.floats(0.1, 60), methods)
def test_an_upper_limit_never_adds(
    day: tuple[float, float], base: float, above: float, method: str
) -> None:
    limited = degree_days(*day, base, base + above, method)
    assert -ROUNDING <= limited <= degree_days(*day, base, method=method) + ROUNDING
    assert limited <= above + ROUNDING


@settings(deadline=None)
@given(days(), temperatures, methods, st.floats(-20, 20))
def test_a_shift_of_everything_changes_nothing(
    day: tuple[float, float], base: float, method: str, shift: float
) -> None:
    moved = degree_days(day[0] + shift, day[1] + shift, base + shift, method=method)
    assert moved == pytest.approx(degree_days(*day, base, method=method), abs=1e-6)


@settings(deadline=None)
@given(days(), temperatures, methods, st.floats(0, 20))
def test_a_lower_base_never_takes_away(
    day: tuple[float, float], base: float, method: str, down: float
) -> None:
    lower = degree_days(*day, base - down, method=method)
    higher = degree_days(*day, base, method=method)
    assert higher - ROUNDING <= lower <= higher + down + ROUNDING


@settings(deadline=None)
@given(st.lists(days(), min_size=1, max_size=20), temperatures, methods)
def test_days_add_up(many: list[tuple[float, float]], base: float, method: str) -> None:
    low, high = np.array(many).T
    each = [degree_days(*day, base, method=method) for day in many]
    found = degree_days(low, high, base, method=method)
    assert found.shape == (len(many),)
    np.testing.assert_allclose(found, each)


@pytest.mark.parametrize("method", ["sine", "triangle", "average", "modified"])
def test_a_day_of_hardly_any_amplitude_is_a_day_without(method: str) -> None:
    day = (0.0, 2.225073858507203e-309)
    for base in (-1.0, 0.0, 1.0):
        assert degree_days(*day, base, method=method) == pytest.approx(max(-base, 0.0))


@settings(deadline=None)
@given(days(), methods)
def test_a_day_wholly_above_the_base_has_its_mean(day: tuple[float, float], method: str) -> None:
    base = day[0] - 1
    assert degree_days(*day, base, method=method) == pytest.approx(sum(day) / 2 - base)


@settings(deadline=None)
@given(days(), methods)
def test_a_day_wholly_below_the_base_has_none(day: tuple[float, float], method: str) -> None:
    assert degree_days(*day, day[1], method=method) == 0


@pytest.mark.parametrize(("method", "wave"), [("sine", True), ("triangle", False)])
def test_the_curves_are_what_they_are_called(method: str, wave: bool) -> None:
    # A fine sum under the curve itself, with a lower and an upper limit.
    at = (np.arange(200_000) + 0.5) / 200_000
    shape = np.sin(np.pi * (at - 0.5)) if wave else 2 * at - 1
    curve = 15.5 + 20.5 * shape
    summed = np.mean(np.clip(curve, 10, 30) - 10)
    assert degree_days(-5, 36, 10, 30, method) == pytest.approx(summed, abs=1e-6)


def test_an_unknown_temperature_leaves_its_day_unknown() -> None:
    for method in METHODS:
        found = degree_days([np.nan, 2.0, 2.0], [9.0, np.nan, 9.0], 0, 20, method)
        assert np.isnan(found[:2]).all()
        assert np.isfinite(found[2])


def test_one_number_gives_one_number() -> None:
    assert isinstance(degree_days(1, 9, 5), float)
    assert degree_days(5.0, 5.0, 5.0) == 0
    assert degree_days([], [], 5).shape == (0,)


def test_it_is_public() -> None:
    assert wintersward.degree_days(4, 8, 5) == degree_days(4, 8, 5)
    assert wintersward.degree_days is degree_days


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"method": "sinus"}, "found 'sinus'; allowed: average, modified, triangle, sine; did you"),
        ({"minimum": [1, 9], "maximum": [2, 3]}, "day 2: found a minimum of 9 and a maximum of 3"),
        ({"minimum": [1, 2], "maximum": [2, 3, 4]}, "allowed: one shape"),
        ({"upper": 5}, "upper: found 5; allowed: a temperature above the base, 5"),
        ({"upper": float("nan")}, "upper: found nan"),
        ({"base": float("nan")}, "base: found nan"),
    ],
)
def test_what_is_wrong_is_said(given: dict[str, object], said: str) -> None:
    with pytest.raises(WinterswardError) as caught:
        degree_days(**{"minimum": 1, "maximum": 2, "base": 5, **given})
    assert said in str(caught.value)
