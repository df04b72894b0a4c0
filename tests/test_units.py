"""Units against the published factors, and as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintersward.units import (
    KINDS,
    UNITS,
    from_si,
    kind_of_unit,
    read_quantity,
    reader_unit,
    sheet_units,
    stands_for,
    to_si,
)

# NIST Special Publication 811 (2008), appendix B.8: "to convert from ... multiply by".
PUBLISHED = [
    ("ft", 3.048e-1, 0.0),
    ("in", 2.54e-2, 0.0),
    ("yd", 9.144e-1, 0.0),
    ("oz/yd2", 3.390575e-2, 5e-9),
    ("lbf", 4.448222, 5e-7),
    ("kgf", 9.80665, 0.0),
    ("ft.lbf", 1.355818, 5e-7),
    ("in.lbf", 1.129848e-1, 5e-8),
    ("lb", 4.535924e-1, 5e-8),
    ("oz", 2.834952e-2, 5e-9),
]


@pytest.mark.parametrize(("unit", "factor", "rounding"), PUBLISHED)
def test_factors_are_the_published_ones(unit: str, factor: float, rounding: float) -> None:
    assert to_si(1.0, unit) == pytest.approx(factor, abs=rounding, rel=1e-15)


# The defining points of the Fahrenheit scale: t(degC) = (t(degF) - 32) / 1.8, as above.
@pytest.mark.parametrize(("fahrenheit", "celsius"), [(32.0, 0.0), (212.0, 100.0), (-40.0, -40.0)])
def test_fahrenheit_has_its_zero_point(fahrenheit: float, celsius: float) -> None:
    assert to_si(fahrenheit, "degF") == pytest.approx(celsius, abs=1e-12)
    assert from_si(celsius, "degF") == pytest.approx(fahrenheit, abs=1e-12)


def test_a_difference_of_temperature_has_no_zero_point() -> None:
    assert to_si(9.0, "degF", difference=True) == pytest.approx(5.0)
    assert from_si(5.0, "degF", difference=True) == pytest.approx(9.0)
    assert read_quantity("9 degF", "temperature", difference=True) == pytest.approx(5.0)


@given(st.sampled_from(sorted(UNITS)), st.floats(-1e6, 1e6), st.booleans())
def test_conversion_there_and_back(unit: str, value: float, difference: bool) -> None:
    there = to_si(value, unit, difference)
    assert from_si(there, unit, difference) == pytest.approx(value, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_kind_has_units_of_its_own_dimension(kind: str) -> None:
    wanted = KINDS[kind]
    units = {wanted.si, wanted.us, wanted.metric}
    assert {UNITS[unit].dimension for unit in units} == {wanted.dimension}
    assert UNITS[wanted.si].factor == 1.0
    assert read_quantity(wanted.example, kind) > 0
    assert (reader_unit(kind, "us"), reader_unit(kind, "metric")) == (wanted.us, wanted.metric)


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("10 ft", "distance", 3.048),
        ("10ft", "distance", 3.048),
        (" 0.5  m ", "distance", 0.5),
        (".5 m", "distance", 0.5),
        ("1e1 m", "distance", 10.0),
        ("-4 degF", "temperature", -20.0),
        ("80 %", "share", 80.0),
        ("80%", "share", 80.0),
        ("0.9 oz/yd2", "areal mass", 0.9 * 3.390575e-2),
        ("12 ft.lbf", "torque", 12 * 1.355818),
        ("5 lb", "mass", 5 * 4.535924e-1),
        ("500 g", "mass", 0.5),
        ("85 gravities", "deceleration", 85.0),
    ],
)
def test_quantities_as_people_write_them(text: str, kind: str, value: float) -> None:
    assert read_quantity(text, kind) == pytest.approx(value, rel=1e-7)


LENGTHS = "a number and a unit (m, cm, mm, ft, in, yd), such as '10 ft'"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("10", LENGTHS),
        (10, LENGTHS),
        (None, LENGTHS),
        (True, LENGTHS),
        ("ten ft", LENGTHS),
        ("", LENGTHS),
        ("10 lbf", LENGTHS),
        ("1e999 m", LENGTHS),
        ("10 feet", LENGTHS + "; did you mean ft?"),
        ('10 "', LENGTHS + "; did you mean in?"),
        ("10 Meter", LENGTHS + "; did you mean m?"),
        ("10 fot", LENGTHS + "; did you mean ft?"),
        ("10 ft x 6 ft", LENGTHS),
        ("\u0661\u0660 ft", LENGTHS),
    ],
)
def test_other_quantities_are_refused(text: object, said: str) -> None:
    with pytest.raises(ValueError, match="number and a unit") as refused:
        read_quantity(text, "distance")
    assert str(refused.value) == said


@given(st.text(max_size=20))
def test_any_text_is_a_number_or_refused(text: str) -> None:
    try:
        value = read_quantity(text, "distance")
    except ValueError:
        return
    assert abs(value) < float("inf")


# Codes of the Unified Code for Units of Measure: international customary units (_i), avoirdupois
# units (_av), and [g], the standard acceleration of free fall; a dot multiplies.
@pytest.mark.parametrize(
    ("unit", "code"),
    [
        ("N.m", "N.m"),
        ("ft.lbf", "[ft_i].[lbf_av]"),
        ("in.lbf", "[in_i].[lbf_av]"),
        ("kg", "kg"),
        ("g", "g"),
        ("lb", "[lb_av]"),
        ("oz", "[oz_av]"),
        ("gravities", "[g]"),
    ],
)
def test_units_have_the_codes_of_the_unified_code(unit: str, code: str) -> None:
    assert UNITS[unit].ucum == code


@pytest.mark.parametrize(
    ("text", "kind", "hint"),
    [
        ("5 pounds", "force", "did you mean lbf?"),
        ("5 pounds", "mass", "did you mean lb?"),
        ("5 kilos", "mass", "did you mean kg?"),
        ("15 Nm", "torque", "did you mean N.m?"),
        ("9 ft-lbs", "torque", "did you mean ft.lbf?"),
        ("80 g", "deceleration", "did you mean gravities?"),
    ],
)
def test_one_word_means_what_the_kind_can_be(text: str, kind: str, hint: str) -> None:
    with pytest.raises(ValueError, match="number and a unit") as refused:
        read_quantity(text, kind)
    assert str(refused.value).endswith(f"; {hint}")


@pytest.mark.parametrize(
    ("unit", "kind"),
    [
        ("ft", "distance"),
        ("m", "distance"),
        ("in", "depth"),
        ("mm", "depth"),
        ("lbf", "force"),
        ("ft.lbf", "torque"),
        ("oz", "mass"),
        ("gravities", "deceleration"),
    ],
)
def test_a_unit_names_its_kind(unit: str, kind: str) -> None:
    assert kind_of_unit(unit) == kind


def test_an_unknown_unit_is_refused_with_the_one_meant() -> None:
    with pytest.raises(ValueError, match="one of m, cm") as refused:
        kind_of_unit("pounds")
    assert str(refused.value).endswith("; did you mean lbf?")


@pytest.mark.parametrize(
    ("unit", "hint"),
    [
        ("kg", "write kgf for a pull, g for a weight"),
        ("lb", "write lbf for a pull, oz for a weight"),
    ],
)
def test_a_sheet_tells_a_pull_from_a_weight(unit: str, hint: str) -> None:
    with pytest.raises(ValueError, match="one of m, cm") as refused:
        kind_of_unit(unit)
    allowed, _, told = str(refused.value).removeprefix("one of ").partition("; ")
    assert told == hint
    assert unit not in allowed.split(", ")


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_units_of_a_sheet_are_of_the_kind_and_hold_those_that_readers_see(kind: str) -> None:
    units = sheet_units(kind)
    assert {UNITS[unit].dimension for unit in units} == {KINDS[kind].dimension}
    assert {KINDS[kind].us, KINDS[kind].metric} <= set(units)
    assert {KINDS[kind_of_unit(unit)].dimension for unit in units} == {KINDS[kind].dimension}


def test_everyday_words_stand_for_a_unit_and_for_no_other() -> None:
    assert stands_for("LBS.", "lbf")
    assert stands_for("g", "gravities")
    assert not stands_for("kg", "lbf")
    assert not stands_for("lbf", "lbf")
