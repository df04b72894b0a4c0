"""What is made of temperatures: how it is written, and what a person reads where it is wrong."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from wintersward.trial import read_definition
from wintersward.trial.climate import RISK_LIMITS, RISK_NAMES, Climate, Reaching
from wintersward.trial.parts import Amount

Change = Callable[..., list[str]]

ZONE = ("  country: US\n", "  country: US\n  time_zone: America/New_York\n")
SOIL = (
    "analysis:\n",
    "  soil:\n    from: logger\n    what: soil temperature\n    depth: 4 in\n"
    "    dates: [2026-03-24]\nanalysis:\n",
)
SUMS = "  degree_days: {measure: soil, base: 0 degC, upper: 30 degC, method: sine, from: covers_on}"
BASE = "a base from -10 to 20 degC (14 to 68 degF)"
LEVELS = "a level from -10 to 35 degC (14 to 95 degF)"
REACHES = "a temperature such as '50 degF', or a sum such as '100 degree days'"


def climate(*lines: str) -> tuple[str, str]:
    text = "".join(f"{line}\n" for line in lines)
    return "  alpha: 0.05\n", f"  alpha: 0.05\nclimate:\n{text}"


def made(folder: Path) -> Climate:
    definition, problems = read_definition(folder)
    assert definition is not None, problems
    assert definition.climate is not None
    return definition.climate


def test_everything_that_may_be_asked_for(change: Change, tmp_path: Path) -> None:
    lines = [
        SUMS.replace("sine", "integrated"),
        "  thermometer:",
        "    - {reaches: 50 degF, over: 5 days, measure: soil}",
        "    - {reaches: 100 degree days}",
        "    - {reaches: 4 degC, measure: soil}",
        "  risks:",
        "    canopy_heat: {above: 75.2 degF, hours: 4, source: extension agent}",
        "    frost_after_uncovering: {below: -2 degC, within: 10 days}",
        "    dehardening: {days_in_a_row: 3}",
        "  dollar_spot: {intercept: -10, per_humidity: 0.1, per_degree: 0.2}",
    ]
    assert change(ZONE, SOIL, climate(*lines)) == []
    asked = made(tmp_path)
    sums = asked.degree_days
    assert sums is not None
    assert (sums.measure, sums.base, sums.upper, sums.method, sums.from_) == (
        "soil",
        0.0,
        30.0,
        "integrated",
        "covers_on",
    )
    assert [(one.temperature, one.degree_days, one.days) for one in asked.thermometer] == [
        (10.0, None, 5),
        (None, 100.0, 1),
        (4.0, None, 1),
    ]
    assert {name: limits.told for name, limits in asked.risks.items()} == {
        "canopy_heat": {"above": pytest.approx(24.0), "hours": 4.0},
        "frost_after_uncovering": {"below": -2.0, "within": 10},
        "dehardening": {"days_in_a_row": 3},
    }
    assert asked.risks["canopy_heat"].source == "extension agent"
    assert asked.dollar_spot is not None
    assert asked.dollar_spot.per_degree == 0.2


def test_air_of_the_weather_file_needs_no_measure_and_no_zone(
    change: Change, tmp_path: Path
) -> None:
    line = "  degree_days: {base: 50 degF, method: average, from: 2026-03-01}"
    assert change(climate(line)) == []
    sums = made(tmp_path).degree_days
    assert sums is not None
    assert (sums.measure, sums.base, sums.upper) == (None, 10.0, None)


def test_a_definition_without_it_has_none(tmp_path: Path, sound: str) -> None:
    (tmp_path / "trial.yaml").write_text(sound, encoding="utf-8")
    definition, _ = read_definition(tmp_path)
    assert definition is not None
    assert definition.climate is None


@pytest.mark.parametrize(
    ("written", "degree_days"),
    [("180 degF days", 100.0), ("100 degC days", 100.0), ("1 degC day", 1.0)],
)
def test_a_sum_in_either_degrees(
    change: Change, tmp_path: Path, written: str, degree_days: float
) -> None:
    # Degree days convert by 1.8 and without the 32.
    sums = SUMS.replace("base: 0 degC", "base: 32 degF")
    lines = [sums, "  thermometer:", f"    - {{reaches: {written}}}"]
    assert change(ZONE, SOIL, climate(*lines)) == []
    assert made(tmp_path).thermometer[0].degree_days == pytest.approx(degree_days)


def test_a_level_is_in_si_wherever_it_is_made() -> None:
    assert Reaching.model_validate({"reaches": "100 degree days"}).degree_days == 100.0
    warm = Reaching.model_validate({"reaches": "50 degF", "measure": "soil", "over": 7})
    assert (warm.reaches, warm.days) == (Amount(10.0, "temperature"), 7)


def test_the_names_of_risks_are_those_of_their_limits() -> None:
    assert RISK_NAMES == (
        "canopy_heat",
        "pink_snow_mould",
        "grey_snow_mould",
        "frost_after_uncovering",
        "dehardening",
    )
    assert set().union(*RISK_LIMITS.values()) == {
        "above",
        "below",
        "hours",
        "within",
        "days_in_a_row",
    }


FAULTS: dict[str, tuple[list[str], list[str]]] = {
    "degree days of a sheet": (
        [SUMS.replace("soil", "pull_force")],
        [
            "trial.yaml:77:26: climate.degree_days.measure: found 'pull_force', which is taken "
            "from sheets; allowed: a measure of loggers (soil), or no 'measure' for the air of the "
            "weather file"
        ],
    ),
    "degree days of nothing, from several days": (
        [SUMS.replace("soil", "sol").replace("covers_on", "visits")],
        [
            "trial.yaml:77:26: climate.degree_days.measure: found 'sol'; allowed: a measure of "
            "loggers (soil), or no 'measure' for the air of the weather file; did you mean soil?",
            "trial.yaml:77:81: climate.degree_days.from: found 'visits', which is 5 dates; "
            "allowed: one date",
        ],
    ),
    "a day that nothing defines": (
        [SUMS.replace("covers_on", "cover_on")],
        [
            "trial.yaml:77:82: climate.degree_days.from: found 'cover_on'; allowed: a name from "
            "'dates' (baseline, covers_on, covers_off, aeration, first_event, visits) or a date; "
            "did you mean covers_on?"
        ],
    ),
    "an upside down band": (
        [SUMS.replace("30 degC", "32 degF")],
        [
            "trial.yaml:77:53: climate.degree_days.upper: found a ceiling at the base or below; "
            "allowed: more than the base"
        ],
    ),
    "units mistaken": (
        [
            SUMS.replace("base: 0 degC, upper: 30", "base: 32 degC, upper: 86"),
            "  thermometer:",
            "    - {reaches: 50 degC, measure: soil}",
        ],
        [
            f"trial.yaml:77:38: climate.degree_days.base: found '32 degC'; allowed: {BASE}; look "
            "at the unit",
            "trial.yaml:77:54: climate.degree_days.upper: found '86 degC'; allowed: a ceiling from "
            "0 to 45 degC (32 to 113 degF); look at the unit",
            f"trial.yaml:79:17: climate.thermometer.1.reaches: found '50 degC'; allowed: {LEVELS}; "
            "look at the unit",
        ],
    ),
    "no method": (
        [SUMS.replace("method: sine, ", "")],
        ["trial.yaml:77:3: climate.degree_days.method: is missing; add 'method: ...'"],
    ),
    "another method": (
        [SUMS.replace("sine", "sinus")],
        [
            "trial.yaml:77:70: climate.degree_days.method: found 'sinus'; allowed: average, "
            "modified, triangle, sine, integrated; did you mean sine?"
        ],
    ),
    "all readings of a weather file": (
        [SUMS.replace("measure: soil, ", "").replace("sine", "integrated")],
        [
            "trial.yaml:77:55: climate.degree_days.method: found 'integrated' without a measure; "
            "allowed: average, modified, triangle, sine; a weather file has two temperatures a "
            "day; name a measure of loggers, or choose"
        ],
    ),
    "levels that are none": (
        [
            SUMS,
            "  thermometer:",
            "    - {reaches: 10, measure: soil}",
            "    - {reaches: 10 F, measure: soil}",
            "    - {reaches: 0 degree days}",
            "    - {reaches: 9000 degC days}",
            "    - {reaches: 5 N days}",
            "    - {over: 5 days}",
        ],
        [
            f"trial.yaml:79:17: climate.thermometer.1.reaches: found '10'; allowed: {REACHES}",
            f"trial.yaml:80:17: climate.thermometer.2.reaches: found '10 F'; allowed: {REACHES}; "
            "did you mean degF?",
            "trial.yaml:81:17: climate.thermometer.3.reaches: found '0 degree days'; allowed: more "
            "than 0 and at most 5000 degree days",
            "trial.yaml:82:17: climate.thermometer.4.reaches: found '9000 degC days'; allowed: "
            "more than 0 and at most 5000 degree days",
            f"trial.yaml:83:17: climate.thermometer.5.reaches: found '5 N days'; allowed: "
            f"{REACHES}",
            "trial.yaml:84:7: climate.thermometer.6.reaches: is missing; add 'reaches: ...'",
        ],
    ),
    "which degrees": (
        [
            SUMS.replace("base: 0 degC", "base: 32 degF"),
            "  thermometer: [{reaches: 180 degree days}]",
        ],
        [
            "trial.yaml:78:27: climate.thermometer.1.reaches: found '180 degree days'; allowed: "
            "'180 degF days' or '180 degC days'; the base is written in degF, so say which degrees "
            "are meant"
        ],
    ),
    "measures and days of levels": (
        [
            SUMS,
            "  thermometer:",
            "    - {reaches: 10 degC}",
            "    - {reaches: 10 degC, measure: green_cover, over: 0 days}",
            "    - {reaches: 10 degC, measure: soil, over: a week}",
            "    - {reaches: 100 degree days, measure: soil}",
            "    - {reaches: 100 degree days, over: 5 days}",
        ],
        [
            "trial.yaml:79:7: climate.thermometer.1.measure: found nothing; allowed: the measure "
            "of loggers that reaches it; add 'measure: ...'",
            "trial.yaml:80:54: climate.thermometer.2.over: found '0 days'; allowed: a number of "
            "days from 1 to 60, such as 5 days",
            "trial.yaml:81:47: climate.thermometer.3.over: found 'a week'; allowed: a number of "
            "days from 1 to 60, such as 5 days",
            "trial.yaml:82:43: climate.thermometer.4.measure: found measure beside degree days; "
            "allowed: no 'measure': degree days are counted as 'degree_days' says; remove it",
            "trial.yaml:83:40: climate.thermometer.5.over: found over beside degree days; allowed: "
            "no 'over': degree days are counted as 'degree_days' says; remove it",
        ],
    ),
    "a level of a measure that no logger takes, the same level twice": (
        [
            "  thermometer:",
            "    - {reaches: 10 degC, measure: green_cover}",
            "    - {reaches: 10 degC, measure: soil}",
            "    - {reaches: 50 degF, measure: soil, over: 1}",
        ],
        [
            "trial.yaml:78:35: climate.thermometer.1.measure: found 'green_cover', which is taken "
            "from photos; allowed: a measure of loggers (soil)",
            "trial.yaml:80:7: climate.thermometer.3: found the same as entry 2; remove one of the "
            "two",
        ],
    ),
    "a sum that is not counted": (
        ["  thermometer: [{reaches: 100 degree days}]"],
        [
            "trial.yaml:77:27: climate.thermometer.1.reaches: found degree days; allowed: degree "
            "days of each plot; tell under degree_days how they are counted, and name its measure"
        ],
    ),
    "a sum that is the same for all plots": (
        [
            SUMS.replace("measure: soil, ", ""),
            "  thermometer: [{reaches: 100 degree days}]",
        ],
        [
            "trial.yaml:78:27: climate.thermometer.1.reaches: found degree days that are the same "
            "for all; allowed: degree days of each plot; tell under degree_days how they are "
            "counted, and name its measure"
        ],
    ),
    "risks by other names, limits that they do not have": (
        [
            "  risks:",
            "    snow_mould: {above: 0 degC}",
            "    canopy_heat: {}",
            "    pink_snow_mould: {above: 8 degC, below: 0 degC}",
        ],
        [
            "trial.yaml:78:5: climate.risks.snow_mould: found 'snow_mould'; allowed: canopy_heat, "
            "pink_snow_mould, grey_snow_mould, frost_after_uncovering, dehardening; did you mean "
            "pink_snow_mould?",
            "trial.yaml:79:18: climate.risks.canopy_heat: found no limit; allowed: at least one of "
            "them; add one, or remove the name",
            "trial.yaml:80:45: climate.risks.pink_snow_mould.below: found that of 'above' or "
            "lower; allowed: a temperature higher than that of 'above'; swap the two",
        ],
    ),
    "limits that a risk does not have": (
        [
            "  risks:",
            "    canopy_heat: {above: 24 degC, below: 30 degC}",
            "    dehardening: {above: 8 degC, hours: 4}",
        ],
        [
            "trial.yaml:78:42: climate.risks.canopy_heat.below: found 'below'; allowed: above, "
            "hours, source; remove it",
            "trial.yaml:79:41: climate.risks.dehardening.hours: found 'hours'; allowed: above, "
            "days_in_a_row, source; remove it",
        ],
    ),
    "limits that cannot be": (
        ["  risks: {canopy_heat: {above: 24, hours: 25}, dehardening: {days_in_a_row: 0}}"],
        [
            "trial.yaml:77:32: climate.risks.canopy_heat.above: found '24'; allowed: a number and "
            "a unit (degC, degF), such as '50 degF'",
            "trial.yaml:77:43: climate.risks.canopy_heat.hours: found '25'; allowed: 24 or less",
            "trial.yaml:77:77: climate.risks.dehardening.days_in_a_row: found '0'; allowed: 1 or "
            "more",
        ],
    ),
    "half of the coefficients": (
        ["  dollar_spot: {intercept: -10, per_humidity: much}"],
        [
            "trial.yaml:77:3: climate.dollar_spot.per_degree: is missing; add 'per_degree: ...'",
            "trial.yaml:77:47: climate.dollar_spot.per_humidity: found 'much'; allowed: a number",
        ],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_what_is_wrong_is_told_where_it_stands(change: Change, name: str) -> None:
    lines, said = FAULTS[name]
    assert change(ZONE, SOIL, climate(*lines)) == said


def test_without_a_measure_of_loggers_one_is_to_be_added(change: Change) -> None:
    (said,) = change(climate("  thermometer: [{reaches: 4 degC, measure: soil}]"))
    assert said == (
        "trial.yaml:71:44: climate.thermometer.1.measure: found 'soil'; allowed: a measure of "
        "loggers; add a measure with 'from: logger'"
    )
