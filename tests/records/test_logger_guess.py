"""A file looked at without a diary: what is told from it, and what is left to a person."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from records.logger_studies import put, read, rows, series, told, with_loggers
from wintersward.records.logger_guess import guess_logger
from wintersward.trial import Definition


@pytest.fixture
def definition(tmp_path: Path) -> Definition:
    return with_loggers(tmp_path)


def filled(yaml: str) -> dict[str, object]:
    """Fill in what the file cannot tell, as a person would."""
    yaml = yaml.replace("measure:  ", "measure: soil  ").replace("plot:  ", "plot: 101  ")
    yaml = yaml.replace("zone:  ", "zone: UTC-05:00  ").replace("unit:  ", "unit: degC  ")
    (entry,) = YAML(typ="safe").load(yaml)
    return dict(entry)


SURE = {
    "by the year": (
        rows("2026-02-01 00:00,1.5", "2026-02-01 00:30,2", "2026-02-01 01:00,2"),
        {"format": "%Y-%m-%d %H:%M"},
    ),
    "a month that is the first number": (
        "Date Time,Temp\n" + series([1.5, 2, 2.5] * 20, form="%m/%d/%Y %H:%M", minutes=600)[10:],
        {"format": "%m/%d/%Y %H:%M", "time": "Date Time"},
    ),
    "a day that is the first number, and commas": (
        "Zeit;T (°C)\n13.02.2026 10:00;1,5\n13.02.2026 10:30;2,5\n14.02.2026 11:00;2,25\n",
        {"format": "%d.%m.%Y %H:%M", "decimal": "comma"},
    ),
    "halves of the day, seconds, two columns": (
        'Day,Clock,"Soil, degC"\n2/13/26,1:00:00 PM,1.5\n2/13/26,1:30:00 PM,2\n'
        "2/13/26,2:00:00 PM,2\n",
        {"format": "%m/%d/%y %I:%M:%S %p", "time": ["Day", "Clock"]},
    ),
    "lines above, a number a row, volts, a mark, a last line": (
        "Logger 7\nread 2026-04-18\n\nNo;Time (UTC-05:00);Temp (C);Battery (V)\n"
        "1;2026-02-01 00:00;1.5;3\n2;2026-02-01 00:30;2;3\n3;2026-02-01 01:00;2;3\n"
        "4;2026-02-01 01:30;ERR;3\nEnd of data\n",
        {"skip": 3, "zone": "UTC-05:00", "missing": ["", "NA", "-", ".", "ERR"]},
    ),
    "two temperatures": (
        "Time,Soil degC,Canopy degC\n2026-02-01 00:00,1.5,4\n2026-02-01 00:30,2,4\n"
        "2026-02-01 01:00,2,5\n",
        {},
    ),
}


@pytest.mark.parametrize("name", SURE)
def test_a_file_is_read_by_the_lines_that_are_guessed(
    tmp_path: Path, definition: Definition, name: str
) -> None:
    text, expected = SURE[name]
    put(tmp_path, text)
    guess = guess_logger(tmp_path, "soil.csv")
    assert guess.problems == []
    entry = filled(guess.yaml)
    assert {key: entry[key] for key in expected} == expected
    for at, one in enumerate(entry["values"]):
        one["position"] = str(at)
    found = read(tmp_path, definition, entry)
    assert told(found) == []
    assert [one.used for one in found.sums] == [
        one.rows - one.above - one.blank - one.headings - one.after - ("ERR" in text)
        for one in found.sums
    ]
    assert any(
        "measure and plot of" in one or "measure, plot and unit" in one for one in guess.to_fill
    )


def test_what_a_file_cannot_tell_is_asked(tmp_path: Path) -> None:
    put(tmp_path, SURE["lines above, a number a row, volts, a mark, a last line"][0])
    guess = guess_logger(tmp_path, "loggers/soil.csv")
    assert guess.left_out == ["No", "Battery (V)"]
    assert guess.to_fill == ["measure and plot of 'Temp (C)'"]
    assert guess.yaml == (
        '  - file: "soil.csv"\n'
        '    time: "Time (UTC-05:00)"\n'
        '    format: "%Y-%m-%d %H:%M"\n'
        "    zone: UTC-05:00\n"
        "    skip: 3\n"
        '    missing: ["", "NA", "-", ".", "ERR"]\n'
        "    values:\n"
        '      - column: "Temp (C)"\n'
        "        measure:    # a measure with 'from: logger' in trial.yaml\n"
        "        plot:    # such as 101\n"
        "        unit: degC\n"
    )


def test_month_and_day_that_may_change_places_are_never_chosen(tmp_path: Path) -> None:
    put(tmp_path, series([1.5, 2.0] * 100, "2026-03-01 00:00", 60, "%m/%d/%Y %H:%M"))
    guess = guess_logger(tmp_path, "soil.csv")
    told_of = [line.strip() for line in guess.yaml.splitlines() if "format" in line]
    assert told_of == [
        '# format: "%m/%d/%Y %H:%M"    # from 2026-03-01 to 2026-03-09',
        '# format: "%d/%m/%Y %H:%M"    # from 2026-01-03 to 2026-09-03',
    ]
    assert guess.to_fill[0] == (
        "which of the formats is meant: take one of them, without the sign #"
    )
    assert "format" not in YAML(typ="safe").load(guess.yaml.replace("zone:", "zone: site"))[0]


@pytest.mark.parametrize(
    "content",
    [
        "",
        "words\n",
        "Time,Temp\n",
        "a,b\n1,2\n3,4\n5,6\n",
        "2026-02-01 00:00,1\n" * 5,
        "Logger 7\n" + "2026-02-01 00:00,1\n" * 5,
        b"PK\x03\x04",
    ],
)
def test_a_file_without_readings(tmp_path: Path, content: str | bytes) -> None:
    put(tmp_path, content)
    guess = guess_logger(tmp_path, "soil.csv")
    assert guess.yaml == ""
    assert len(guess.problems) == 1
    assert str(guess.problems[0]).startswith("loggers/soil.csv: found ")


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    put(tmp_path, "x", "soil.csv")
    (problem,) = guess_logger(tmp_path, "sol.csv").problems
    assert str(problem) == (
        "loggers/sol.csv: found no file; allowed: a file in the folder loggers (soil.csv)"
    )


@settings(
    max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.text(max_size=60)
    | st.lists(
        st.sampled_from(
            ["Time", "Temp", "1.5", "1,5", "2026-02-01 00:00", "3/4/26 1:00 PM", "", "#"]
        ),
        min_size=1,
        max_size=40,
    ).map(lambda cells: "\n".join(",".join(cells[at : at + 3]) for at in range(0, len(cells), 3)))
)
def test_any_text_is_answered(tmp_path: Path, text: str) -> None:
    put(tmp_path, text)
    guess = guess_logger(tmp_path, "soil.csv")
    assert (guess.yaml == "") == (guess.problems != [])
    if guess.yaml:
        assert YAML(typ="safe").load(guess.yaml)[0]["file"] == "soil.csv"
