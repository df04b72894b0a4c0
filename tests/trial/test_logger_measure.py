"""A measure that loggers take: what it is, and what a person reads where it is wrong."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from wintersward.trial import read_definition
from wintersward.trial.catalogue import CATALOGUE
from wintersward.trial.logger_measure import LOGGED
from wintersward.trial.schema import LoggerMeasure

Change = Callable[..., list[str]]

ZONE = ("  country: US\n", "  country: US\n  time_zone: America/New_York\n")
SOIL = "    from: logger\n    what: soil temperature\n    depth: 4 in\n    dates: [2026-03-24]\n"
AT = "analysis:\n"


def with_measure(text: str, name: str = "soil") -> tuple[str, str]:
    return AT, f"  {name}:\n{text}{AT}"


def made(folder: Path, name: str = "soil") -> LoggerMeasure:
    definition, problems = read_definition(folder)
    assert definition is not None, problems
    measure = definition.measures[name]
    assert isinstance(measure, LoggerMeasure)
    return measure


def test_it_is_a_temperature_with_one_value_a_day_and_plot(change: Change, tmp_path: Path) -> None:
    assert change(ZONE, with_measure(SOIL)) == []
    measure = made(tmp_path)
    assert (measure.unit, measure.difference_kind, measure.limits) == (
        "degC",
        "temperature",
        (None, None),
    )
    assert (measure.per_plot, measure.raters, measure.repeat_share) == (1, [], 0.0)
    assert (measure.daily, measure.complete, measure.destructive) == ("mean", 90.0, False)
    # 4 in are 0.1016 m (NIST SP 811, appendix B.8).
    assert measure.depth == pytest.approx(0.1016)
    assert measure.readings == LOGGED["soil temperature"].range


def test_a_band_has_two_ends_in_order(change: Change, tmp_path: Path) -> None:
    assert change(ZONE, with_measure(SOIL + "    band: [40 degF, 90 degF]\n")) == []
    assert made(tmp_path).band == pytest.approx([40 / 9, 290 / 9])
    (told,) = change(ZONE, with_measure(SOIL + "    band: [90 degF, 40 degF]\n"))
    assert told.endswith("allowed: the lower temperature first; swap the two")
    assert "measures.soil.band" in told
    for wrong in ("[40 degF]", "40 degF", "[40, 90]"):
        (told,) = change(ZONE, with_measure(SOIL + f"    band: {wrong}\n"))[:1]
        assert "measures.soil.band" in told


def test_an_amplitude_is_a_difference_and_never_below_nothing(
    change: Change, tmp_path: Path
) -> None:
    text = SOIL + "    daily: amplitude\n    complete: 75 %\n"
    assert change(ZONE, with_measure(text)) == []
    measure = made(tmp_path)
    assert (measure.is_difference, measure.limits, measure.complete) == (True, (0.0, None), 75.0)


@pytest.mark.parametrize("what", LOGGED)
def test_a_reading_lies_within_what_a_thermometer_may_show(what: str) -> None:
    named = CATALOGUE.get(what.replace(" ", "_"), CATALOGUE["canopy_temperature"])
    low, high = named.range
    assert low is not None
    assert high is not None
    assert low <= LOGGED[what].range[0] < LOGGED[what].range[1] <= high


@pytest.mark.parametrize("what", LOGGED)
def test_how_it_is_taken_is_told_with_its_source(what: str) -> None:
    told = LOGGED[what]
    low, high = told.range
    assert low is not None
    assert high is not None
    assert low < 0 < high
    assert told.protocol.endswith(".")
    assert "clock" in told.record
    assert "from memory" in told.source


def test_it_may_be_judged_by(change: Change) -> None:
    question = (
        "    measure: green_cover\n    on: 2026-03-24\n    compare: [fleece, open]\n"
        "    matters_from: 8 points\n"
    )
    warmer = question.replace("green_cover", "soil").replace("8 points", "2 degF")
    assert change(ZONE, with_measure(SOIL), (question, warmer)) == []


def test_no_level_is_asked_of_an_amplitude(change: Change) -> None:
    asked = (
        "  alpha: 0.05\n",
        "  alpha: 0.05\n  days_gained: {measure: soil, level: 10 degF}\ndecisions:\n"
        "  ready_when: {soil: {at_most: 10 degF, on: 2026-03-24}}\n",
    )
    rule = "a measure with values that have a zero point, such as 'daily: maximum'"
    said = change(ZONE, with_measure(SOIL + "    daily: amplitude\n"), asked)
    assert said == [
        "trial.yaml:77:39: analysis.days_gained.level: found a level of soil, which is an "
        f"amplitude; allowed: {rule}",
        "trial.yaml:79:32: decisions.ready_when.soil.at_most: found a level of soil, which is an "
        f"amplitude; allowed: {rule}",
    ]


FAULTS: dict[str, tuple[list[tuple[str, str]], list[str]]] = {
    "no zone": (
        [with_measure(SOIL)],
        [
            "trial.yaml:9:3: site: found no time_zone beside measure soil; allowed: the IANA name "
            "of the time zone of the ground; add 'time_zone: ...', such as 'time_zone: "
            "America/New_York'"
        ],
    ),
    "a zone in letters": (
        [(ZONE[0], "  country: US\n  time_zone: EST\n"), with_measure(SOIL)],
        [
            "trial.yaml:11:14: site.time_zone: found 'EST'; allowed: the IANA name of a time zone, "
            "such as America/New_York; did you mean America/New_York?"
        ],
    ),
    "a sea that is too deep, a height without unit": (
        [("  country: US\n", "  country: US\n  elevation: -500 m\n")],
        ["trial.yaml:11:14: site.elevation: found '-500 m'; allowed: -430 or more"],
    ),
    "soil without depth": (
        [ZONE, with_measure(SOIL.replace("    depth: 4 in\n", ""))],
        [
            "trial.yaml:65:5: measures.soil.depth: found nothing; allowed: how deep the sensors "
            "lie in the soil; add 'depth: ...', such as 'depth: 4 in'"
        ],
    ),
    "a depth in the air": (
        [ZONE, with_measure(SOIL.replace("soil temperature", "canopy temperature"))],
        [
            "trial.yaml:67:12: measures.soil.depth: found a depth; allowed: none for canopy "
            "temperature; remove the line, or measure soil temperature"
        ],
    ),
    "other words": (
        [
            ZONE,
            with_measure(
                SOIL.replace("soil temp", "sol temp") + "    daily: average\n    complete: 0 %\n"
            ),
        ],
        [
            "trial.yaml:66:11: measures.soil.what: found 'sol temperature'; allowed: soil "
            "temperature, canopy temperature, air temperature; did you mean soil temperature?",
            "trial.yaml:69:12: measures.soil.daily: found 'average'; allowed: mean, minimum, "
            "maximum, amplitude",
            "trial.yaml:70:15: measures.soil.complete: found '0 %'; allowed: more than 0",
        ],
    ),
    "fields of a sheet": (
        [ZONE, with_measure(SOIL + "    per_plot: 2\n    unit: degF\n")],
        [
            f"trial.yaml:{line}:5: measures.soil.{name}: found '{name}', which is not known here; "
            "allowed: from, label, what, depth, daily, complete, band, dates; remove it"
            for line, name in ((69, "per_plot"), (70, "unit"))
        ],
    ),
    "a day that nothing defines": (
        [ZONE, with_measure(SOIL.replace("[2026-03-24]", "[visit]"))],
        [
            "trial.yaml:68:13: measures.soil.dates.1: found 'visit'; allowed: a name from 'dates' "
            "(baseline, covers_on, covers_off, aeration, first_event, visits) or a date; did you "
            "mean visits?"
        ],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_what_is_wrong_is_told_where_it_stands(change: Change, name: str) -> None:
    changes, said = FAULTS[name]
    assert change(*changes) == said


def test_it_stays_itself_when_it_is_written_down_and_read(change: Change, tmp_path: Path) -> None:
    assert change(ZONE, with_measure(SOIL)) == []
    measure = made(tmp_path)
    content: dict[str, Any] = measure.model_dump(by_alias=True)
    assert content["from"] == "logger"
    assert "unit" not in content
