"""The diary's parts, and what a person reads when they do not fit: whole messages."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from wintersward.trial import Definition
from wintersward.trial.diary import MONTHS, Diary, MonthNormal
from wintersward.trial.diary_checks import diary_problems
from wintersward.trial.reading import read_yaml
from wintersward.trial.validation import validated

PLOTS = ["101", "102", "103", "104", "105", "106", "1A", "1B"]
SHOWN = "a plot of plan/plots.csv (101, 102, 103, 104, 105, 106 ...)"
SEASON = "a day of the season, within half a year of its dates (2026-01-15 to 2026-04-18); look at"
SEASON += " the year"
COVERS = "covers:\n  - {on: 2026-01-19, off: 2026-03-09}\n"
Tell = Callable[[str], tuple[dict[str, Any], list[str]]]


@pytest.fixture
def tell(tmp_path: Path, definition: Definition) -> Tell:
    """Read a text as ``diary.yaml``: its sound parts, and every message."""

    def read(text: str) -> tuple[dict[str, Any], list[str]]:
        (tmp_path / "diary.yaml").write_text(text, encoding="utf-8", errors="replace")
        source = read_yaml(tmp_path / "diary.yaml", "diary.yaml", may_be_empty=True)
        if source.content is None:
            return {}, [str(problem) for problem in source.problems]
        parts, problems = validated(source, Diary)
        problems = [*source.problems, *problems, *diary_problems(source, parts, definition, PLOTS)]
        return parts, [str(problem) for problem in sorted(set(problems))]

    return read


WHOLE = """\
covers:
  - {on: 2026-01-19, off: 2026-03-09, plots: all covered}
cover_events:
  - {date: 2026-02-05, what: blown off, plots: [1B], note: gusts}
  - {date: 2026-02-05, what: laid again, plots: [1B]}
  - {date: 2026-02-10, what: lifted}
  - {date: 2026-04-01, what: snow, plots: all plots, note: 4 in}
management:
  - {date: 2026-03-30, what: nitrogen, amount: 0.5 lb per 1000 ft2}
  - {date: 2026-03-30, what: other, plots: [101], note: weeded}
  - {date: 2026-03-30, what: other, plots: [101], note: rolled}
mishaps:
  - {date: 2026-02-20, plots: [101], what: a pickup, effect: wheel marks}
sheets:
  - {file: a.csv, date_order: day first, decimal: comma}
weather:
  file: station.csv
  columns: {date: DATE, low: TMIN, high: TMAX, rain: PRCP}
  units: {temperature: degF, rain: in}
  date_order: month first
  normals:
    source: the station's averages of 1991 to 2020
    months:
      January: {low: 14 degF, high: 32 degF, rain: 2 in, days_below_zero: 27.5}
"""


def test_a_whole_diary_is_sound_and_in_si(tell: Tell) -> None:
    parts, said = tell(WHOLE)
    assert said == []
    assert [event.opens for event in parts["cover_events"]] == [True, False, True, False]
    assert parts["management"][0].plots == "all plots"
    normal = parts["weather"].normals.months["January"]
    assert normal.low == pytest.approx(-10.0)
    assert normal.rain == pytest.approx(50.8)
    assert (parts["sheets"][0].date_order, parts["sheets"][0].decimal) == ("day first", "comma")
    assert "M" in parts["weather"].missing


EVENTS = COVERS + "cover_events:\n"
LISTED = "covers:\n  - {on: 2026-01-19, off: 2026-02-09, plots: [101]}\n"
LISTED += "  - {on: 2026-02-01, plots: [102]}\ncover_events:\n"
WEATHER = "weather:\n  file: w.csv\n  units: {temperature: degC, rain: mm}\n"
NORMALS = WEATHER + "  normals:\n    source: s\n    months:\n"
CASES: dict[str, tuple[str, list[str]]] = {
    "blown off before covers lay": (
        EVENTS + "  - {date: 2026-01-18, what: blown off}\n",
        [
            "diary.yaml:4:12: cover_events.1.date: found '2026-01-18'; allowed: a day on which "
            "covers lay (2026-01-19 to 2026-03-09); correct the date, or tell under 'covers' "
            "when they went on"
        ],
    ),
    "lifted without any covers": (
        "cover_events:\n  - {date: 2026-01-20, what: lifted}\n",
        [
            "diary.yaml:2:12: cover_events.1.date: found '2026-01-20'; allowed: a day on which "
            "covers lay (the diary tells of no covers); correct the date, or tell under 'covers' "
            "when they went on"
        ],
    ),
    "laid again without having been off": (
        EVENTS + "  - {date: 2026-02-01, what: laid again}\n  - {date: 2026-02-03, what: lifted}\n",
        [
            "diary.yaml:4:30: cover_events.1.what: found 'laid again'; allowed: covers that were "
            "lifted or blown off before, in the same time under cover; tell first, under "
            "cover_events, when they came off"
        ],
    ),
    "torn while no covers lay": (
        EVENTS + "  - {date: 2026-03-10, what: torn}\n",
        [
            "diary.yaml:4:12: cover_events.1.date: found '2026-03-10'; allowed: a day on which "
            "covers lay (2026-01-19 to 2026-03-09); correct the date, or tell under 'covers' "
            "when they went on"
        ],
    ),
    "another event without words": (
        EVENTS + "  - {date: 2026-02-01, what: other}\n",
        [
            "diary.yaml:4:5: cover_events.1.note: found nothing; allowed: what happened, in words; "
            "add 'note: ...'"
        ],
    ),
    "another year": (
        "cover_events:\n  - {date: 2027-02-05, what: snow}\n"
        "management:\n  - {date: 2025-04-02, what: mowing}\n"
        "  - {date: 2025-10-20, what: nitrogen}\n  - {date: 2026-09-20, what: seeding}\n"
        "mishaps:\n  - {date: 2027-02-05, what: w, effect: e}\n",
        [
            f"diary.yaml:2:12: cover_events.1.date: found '2027-02-05'; allowed: {SEASON}",
            f"diary.yaml:4:12: management.1.date: found '2025-04-02'; allowed: {SEASON}",
            f"diary.yaml:8:12: mishaps.1.date: found '2027-02-05'; allowed: {SEASON}",
        ],
    ),
    "lifted from open plots": (
        EVENTS + "  - {date: 2026-02-01, what: lifted, plots: all plots}\n",
        [
            "diary.yaml:4:45: cover_events.1.plots: found 'all plots'; allowed: all covered, or a "
            "list of plots: open plots have no cover"
        ],
    ),
    "lifted from a plot that was bare that day": (
        LISTED + "  - {date: 2026-02-20, what: lifted, plots: [101, 102, 1B]}\n",
        [
            "diary.yaml:5:46: cover_events.1.plots.1: found '101'; allowed: a plot that was "
            "covered on 2026-02-20 (102); name it as 'covers' does"
        ],
    ),
    "an unknown event": (
        EVENTS + "  - {date: 2026-02-01, what: blow off}\n",
        [
            "diary.yaml:4:30: cover_events.1.what: found 'blow off'; allowed: lifted, blown off, "
            "laid again, torn, partly open, snow, snow cleared, ice, standing water, or other with "
            "a note; did you mean blown off?"
        ],
    ),
    "unknown plots everywhere": (
        EVENTS + "  - {date: 2026-02-01, what: ice, plots: [7Z]}\n"
        "management:\n  - {date: 2026-02-01, what: water, plots: [8Z, 101, 101]}\n"
        "mishaps:\n  - {date: 2026-02-01, what: w, effect: e, plots: [9Z]}\n",
        [
            f"diary.yaml:4:43: cover_events.1.plots.1: found '7Z'; allowed: {SHOWN}",
            f"diary.yaml:6:45: management.1.plots.1: found '8Z'; allowed: {SHOWN}",
            "diary.yaml:6:54: management.1.plots.3: found '101' a second time; name each plot once",
            f"diary.yaml:8:52: mishaps.1.plots.1: found '9Z'; allowed: {SHOWN}",
        ],
    ),
    "plots by another word": (
        "management:\n  - {date: 2026-02-01, what: water, plots: every}\n",
        [
            "diary.yaml:2:44: management.1.plots: found 'every'; allowed: all plots, all covered, "
            "or a list of plots such as [101, 102]"
        ],
    ),
    "care without a kind, other without words": (
        "management:\n  - {date: 2026-02-01, what: mow}\n  - {date: 2026-02-01, what: other}\n",
        [
            "diary.yaml:2:30: management.1.what: found 'mow'; allowed: mowing, nitrogen, other "
            "nutrients, water, fungicide, herbicide, growth regulator, topdressing, seeding, "
            "rolling, traffic, aeration, or other with a note; did you mean mowing?",
            "diary.yaml:3:5: management.2.note: found nothing; allowed: what was done, in words; "
            "add 'note: ...'",
        ],
    ),
    "the same twice": (
        "management:\n  - {date: 2026-02-01, what: water}\n"
        "  - {date: 2026-02-01, what: water, note: again}\n"
        "mishaps:\n  - {date: 2026-02-01, what: w, effect: e}\n"
        "  - {date: 2026-02-01, what: w, effect: f}\n",
        [
            "diary.yaml:3:5: management.2: found the same as entry 1; make them one entry, with "
            "both notes",
            "diary.yaml:6:5: mishaps.2: found the same as entry 1; make them one entry, with both "
            "effects",
        ],
    ),
    "a mishap without an effect": (
        "mishaps:\n  - {date: 2026-02-01, what: w}\n",
        ["diary.yaml:2:5: mishaps.1.effect: is missing; add 'effect: ...'"],
    ),
    "words of a sheet": (
        "sheets:\n  - {file: a.csv, date_order: american, decimal: ','}\n",
        [
            "diary.yaml:2:31: sheets.1.date_order: found 'american'; allowed: year first, month "
            "first, day first",
            "diary.yaml:2:50: sheets.1.decimal: found ','; allowed: point, comma",
        ],
    ),
    "an unknown column of weather": (
        WEATHER + "  columns: {date: D, lows: TMIN}\n",
        [
            "diary.yaml:4:28: weather.columns.lows: found 'lows'; allowed: date, low, high, rain, "
            "humidity, radiation; did you mean low?"
        ],
    ),
    "weather without units": (
        "weather: {file: w.csv}\n",
        [
            "diary.yaml:1:1: weather.units: is missing; add 'units: ...' (of what is in the file, "
            "such as {temperature: degF, rain: in})"
        ],
    ),
    "a unit of weather": (
        "weather:\n  file: w.csv\n  units: {temperature: F, rain: cm}\n",
        [
            "diary.yaml:3:24: weather.units.temperature: found 'F'; allowed: degF, degC",
            "diary.yaml:3:33: weather.units.rain: found 'cm'; allowed: in, mm",
        ],
    ),
    "a column of rain without its unit": (
        "weather:\n  file: w.csv\n  units: {temperature: degC}\n  columns: {rain: R}\n",
        [
            "diary.yaml:3:10: weather.units: found no unit of rain; allowed: a unit for every "
            "column that is read; add 'rain: in' or 'rain: mm', or leave the column out"
        ],
    ),
    "months by other names": (
        NORMALS + "      Jan: {low: 1 degC}\n      2: {low: 1 degC}\n      Juno: {low: 1 degC}\n",
        [
            "diary.yaml:7:7: weather.normals.months.Jan: found 'Jan'; allowed: the name of a "
            "month, such as January; did you mean January?",
            "diary.yaml:8:7: weather.normals.months.2: found '2'; allowed: the name of a month, "
            "such as January; did you mean February?",
            "diary.yaml:9:7: weather.normals.months.Juno: found 'Juno'; allowed: the name of a "
            "month, such as January",
        ],
    ),
    "normals without a unit, upside down, too many, none": (
        NORMALS
        + "      January: {low: 1.5}\n      February: {days_below_zero: 30}\n      March: {}\n"
        "      April: {rain: -1 mm}\n",
        [
            "diary.yaml:7:22: weather.normals.months.January.low: found '1.5'; allowed: a number "
            "and a unit (degC, degF), such as '50 degF'",
            "diary.yaml:10:21: weather.normals.months.April.rain: found '-1 mm'; allowed: 0 or "
            "more",
        ],
    ),
    "a month that is too long, and one that is empty": (
        NORMALS + "      February: {days_below_zero: 30}\n      March: {}\n",
        [
            "diary.yaml:7:35: weather.normals.months.February.days_below_zero: found '30'; "
            "allowed: no more days than February has (29)",
            "diary.yaml:8:14: weather.normals.months.March: found no average; allowed: at least "
            "one of low, high, rain, days_below_zero; add one, or remove the month",
        ],
    ),
    "a low above the high": (
        NORMALS + "      June: {low: 3 degC, high: 36 degF}\n",
        [
            "diary.yaml:7:33: weather.normals.months.June.high: found less than the low; allowed: "
            "the low or more; swap the two"
        ],
    ),
    "normals from nowhere": (
        WEATHER + "  normals:\n    months:\n      June: {low: 3 degC}\n",
        ["diary.yaml:4:3: weather.normals.source: is missing; add 'source: ...'"],
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_what_does_not_fit_is_told(tell: Tell, name: str) -> None:
    text, expected = CASES[name]
    assert tell(text)[1] == expected


def test_while_the_covers_cannot_be_read_their_events_are_not_judged(tell: Tell) -> None:
    _, said = tell("covers: soon\ncover_events:\n  - {date: 2026-02-01, what: lifted}\n")
    assert said == [
        "diary.yaml:1:9: covers: found 'soon'; allowed: a list; begin each entry on a line below, "
        "with '- ' in front"
    ]


def test_snow_may_lie_when_no_cover_does(tell: Tell) -> None:
    assert tell("cover_events:\n  - {date: 2026-02-01, what: snow, plots: all plots}\n")[1] == []


def test_a_cover_that_is_still_on_may_be_lifted(tell: Tell) -> None:
    text = "covers:\n  - {on: 2026-01-19}\ncover_events:\n  - {date: 2026-06-01, what: lifted}\n"
    assert tell(text)[1] == []


@pytest.mark.parametrize("month", MONTHS)
def test_every_month_has_its_name(tell: Tell, month: str) -> None:
    parts, said = tell(NORMALS + f"      {month}: {{rain: 10 mm}}\n")
    assert said == []
    assert parts["weather"].normals.months == {month: MonthNormal.model_validate({"rain": "1 cm"})}


_WORDS = st.sampled_from(
    ["2026-02-01", "2026-01-18", "all covered", "all plots", "lifted", "laid again", "snow",
     "other", "101", "[101, 1B]", "[101, 101]", "{}", "[]", "1 degC", "2 in", "degF", "mm", "", "~",
     "true", "1.5", "January", "{January: {low: 1 degC}}", "{January: 3}",
     "{temperature: degF}", "x: y", "site", "UTC-05:00", "'%Y-%m-%d %H'",
     "[2026-01-15, 2026-02-01]",
     "[{column: T, measure: soil, plot: 101, unit: degF}]", "[{logger: 1, true: 2026-01-15 09:00}]"]
)  # fmt: skip
_FIELDS = st.sampled_from(
    ["date", "on", "off", "what", "plots", "note", "amount", "effect", "file", "units", "columns",
     "normals", "source", "months", "date_order", "decimal", "tab", "missing", "time", "format",
     "zone", "values", "clock", "used", "skip", "low", "high"]
)  # fmt: skip
_SECTIONS = st.sampled_from([*Diary.model_fields])


@given(
    st.lists(
        st.tuples(_SECTIONS, st.booleans(), st.lists(st.tuples(_FIELDS, _WORDS), max_size=5)),
        max_size=4,
    )
)
@example([("cover_events", True, [("date", "2026-02-01"), ("what", "lifted")])])
@settings(max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_diary_is_read_or_told(
    tell: Tell, sections: list[tuple[str, bool, list[tuple[str, str]]]]
) -> None:
    lines = []
    for name, as_list, fields in sections:
        lines.append(f"{name}:")
        for at, (field, word) in enumerate(fields):
            lines.append(f"  {'- ' if as_list and not at else '  '}{field}: {word}")
    _, said = tell("\n".join(lines) + "\n")
    assert all(message.startswith("diary.yaml:") and "\n" not in message for message in said)


@given(st.text())
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_text_is_read_or_told(tell: Tell, text: str) -> None:
    for section in ("weather", "cover_events", "management", "mishaps"):
        _, said = tell(f"{section}: {text}\n")
        assert all(message.startswith("diary.yaml") for message in said)
