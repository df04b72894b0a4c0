"""Files of loggers: whatever wrote them, the same readings come out."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from records.logger_studies import entry, kinds, local, put, read, rows, told, value, with_loggers
from wintersward.records.logger_text import decoded, unit_in
from wintersward.trial import Definition

TIMES = ["02-01 00:00", "02-01 00:30", "02-01 01:00"]


@pytest.fixture
def definition(tmp_path: Path) -> Definition:
    return with_loggers(tmp_path)


SOUND = {
    "commas": "Time,Temp\n2026-02-01 00:00,1.5\n2026-02-01 00:30,-0.5\n2026-02-01 01:00,2\n",
    "semicolons": "Time;Temp\n2026-02-01 00:00;1.5\n2026-02-01 00:30;-0.5\n2026-02-01 01:00;2\n",
    "tabs": "Time\tTemp\n2026-02-01 00:00\t1.5\n2026-02-01 00:30\t-0.5\n2026-02-01 01:00\t2\n",
    "ends of Windows": "Time,Temp\r\n2026-02-01 00:00,1.5\r\n2026-02-01 00:30,-0.5\r\n"
    "2026-02-01 01:00,2\r\n",
    "ends of old programs": "Time,Temp\r2026-02-01 00:00,1.5\r2026-02-01 00:30,-0.5\r"
    "2026-02-01 01:00,2",
    "everything quoted": '"Time","Temp"\n"2026-02-01 00:00","1.5"\n"2026-02-01 00:30","-0.5"\n'
    '"2026-02-01 01:00","2"\n',
    "a comma behind each row": "Time,Temp,\n2026-02-01 00:00,1.5,\n2026-02-01 00:30,-0.5,\n"
    "2026-02-01 01:00,2,\n",
    "spaces around": " Time , Temp \n 2026-02-01 00:00 , 1.5 \n2026-02-01  00:30,-0.5\n"
    "2026-02-01 01:00,2\n",
    "blank lines": "\n\nTime,Temp\n\n2026-02-01 00:00,1.5\n,\n2026-02-01 00:30,-0.5\n\n"
    "2026-02-01 01:00,2\n\n",
    "a last line of words": "Time,Temp\n2026-02-01 00:00,1.5\n2026-02-01 00:30,-0.5\n"
    "2026-02-01 01:00,2\nEnd of data\n3 readings, 1 sensor\n",
    "headings once more": "Time,Temp\n2026-02-01 00:00,1.5\n2026-02-01 00:30,-0.5\nTime,Temp\n"
    "2026-02-01 01:00,2\n",
    "newest first": "Time,Temp\n2026-02-01 01:00,2\n2026-02-01 00:30,-0.5\n2026-02-01 00:00,1.5\n",
    "a true minus sign": "Time,Temp\n2026-02-01 00:00,1.5\n2026-02-01 00:30,\u22120.5\n"
    "2026-02-01 01:00,2\n",
    "another column first": "No,Time,Volts,Temp\n1,2026-02-01 00:00,3,1.5\n"
    "2,2026-02-01 00:30,3,-0.5\n3,2026-02-01 01:00,3,2\n",
}


@pytest.mark.parametrize("name", SOUND)
def test_the_same_readings_from_any_file(tmp_path: Path, definition: Definition, name: str) -> None:
    put(tmp_path, SOUND[name])
    found = read(tmp_path, definition, entry())
    assert (told(found), kinds(found)) == ([], [])
    assert local(found) == TIMES
    assert found.readings["value"].tolist() == [1.5, -0.5, 2.0]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le"])
def test_encodings(tmp_path: Path, definition: Definition, encoding: str) -> None:
    text = "Time,Temp (°C)\r\n2026-02-01 00:00,1.5\r\n2026-02-01 00:30,2\r\n"
    put(tmp_path, text.encode(encoding))
    found = read(tmp_path, definition, entry(values=[value(column="Temp (°C)")]))
    assert told(found) == []
    assert found.readings["value"].tolist() == [1.5, 2.0]
    assert found.readings["source"].tolist() == ["loggers/soil.csv:2", "loggers/soil.csv:3"]


def test_what_is_no_text_is_none() -> None:
    assert decoded(b"PK\x03\x04 a workbook") is None
    assert decoded(bytes(range(256)) * 4 + b"\0" * 800) is None
    assert decoded(b"2026-02-01,1\n" * 50 + b"\0" * 20) is not None


def test_quoted_headings_with_units_and_signs_of_degrees(
    tmp_path: Path, definition: Definition
) -> None:
    put(tmp_path, '"Date Time","Temp, ºF"\n01/15/2026 13:05,50\n')
    how = {"time": "date time", "format": "%m/%d/%Y %H:%M"}
    found = read(
        tmp_path, definition, entry(values=[value(column="Temp,  °F", unit="degF")], **how)
    )
    assert told(found) == []
    assert found.readings["value"].tolist() == pytest.approx([10.0])
    assert local(found) == ["01-15 13:05"]


def test_headings_below_lines_to_skip(tmp_path: Path, definition: Definition) -> None:
    put(tmp_path, "Logger 7\nSoil, north\n\nTime,Temp\n2026-02-01 00:00,1.5\n")
    found = read(tmp_path, definition, entry(skip=2))
    assert told(found) == []
    (sums,) = found.sums
    assert (sums.rows, sums.above, sums.headings, sums.blank, sums.used) == (5, 2, 1, 1, 1)
    assert sums.words() == (
        "loggers/soil.csv, Temp, plot 101: 5 rows = 2 above the headings + 1 of headings + 1 blank "
        "+ 1 used"
    )


def test_decimal_commas_between_semicolons(tmp_path: Path, definition: Definition) -> None:
    put(tmp_path, "Time;Temp\n2026-02-01 00:00;1,5\n2026-02-01 00:30;-0,25\n")
    found = read(tmp_path, definition, entry(decimal="comma"))
    assert told(found) == []
    assert found.readings["value"].tolist() == [1.5, -0.25]


def test_decimal_commas_in_quotes_between_commas(tmp_path: Path, definition: Definition) -> None:
    put(tmp_path, 'Time,Temp\n2026-02-01 00:00,"1,5"\n')
    found = read(tmp_path, definition, entry(decimal="comma"))
    assert told(found) == []
    assert found.readings["value"].tolist() == [1.5]


def test_date_and_time_in_two_columns(tmp_path: Path, definition: Definition) -> None:
    put(tmp_path, "Date,Temp,Clock\n2/1/2026,1.5,1:05 PM\n2/1/2026,2.5,1:35 p.m.\n")
    how = {"time": ["Date", "Clock"], "format": "%m/%d/%Y %I:%M %p"}
    found = read(tmp_path, definition, entry(**how))
    assert told(found) == []
    assert local(found) == ["02-01 13:05", "02-01 13:35"]


def test_a_delimiter_that_is_told(tmp_path: Path, definition: Definition) -> None:
    put(tmp_path, "Time;Temp\n2026-02-01 00:00;1.5\n")
    assert read(tmp_path, definition, entry(delimiter="semicolon")).sums[0].used == 1
    assert read(tmp_path, definition, entry(delimiter="tab")).sums[0].used == 0


def test_a_file_with_two_measures_and_two_plots(tmp_path: Path, definition: Definition) -> None:
    text = "Time,Soil,Canopy,Soil b\n2026-02-01 00:00,1.5,30,2\n2026-02-01 00:30,1.6,,2\n"
    put(tmp_path, text)
    values = [
        value(column="Soil"),
        value(column="Canopy", measure="canopy", unit="degF"),
        value(column="Soil b", plot="1B", position="b"),
    ]
    found = read(tmp_path, definition, entry(values=values))
    assert told(found) == []
    assert found.readings.drop(columns=["time", "source"]).to_numpy().tolist() == [
        ["101", "canopy", "", pytest.approx(-10 / 9)],
        ["101", "soil", "", 1.5],
        ["101", "soil", "", 1.6],
        ["1B", "soil", "b", 2.0],
        ["1B", "soil", "b", 2.0],
    ]
    used = [(one.column, one.used, one.removed) for one in found.sums]
    assert used == [("Soil", 2, {}), ("Canopy", 1, {"declared_missing": 1}), ("Soil b", 2, {})]


def test_columns_of_readings_keep_their_order_and_types(
    tmp_path: Path, definition: Definition
) -> None:
    empty = read(tmp_path, definition)
    put(tmp_path, SOUND["commas"])
    full = read(tmp_path, definition, entry())
    names = ["time", "plot", "measure", "position", "value", "source"]
    assert list(empty.readings) == list(full.readings) == names
    assert empty.readings.dtypes.equals(full.readings.dtypes)
    assert (len(empty.readings), empty.sums, empty.flags) == (0, [], [])


def test_files_that_are_not_named_are_told(tmp_path: Path, definition: Definition) -> None:
    put(tmp_path, SOUND["commas"])
    put(tmp_path, "date,low,high\n", "station.csv")
    put(tmp_path, "notes", "north/read me.txt")
    put(tmp_path, "open", "~$soil.csv")
    weather = {"file": "loggers/station.csv", "units": {"temperature": "degC"}}
    found = read(tmp_path, definition, entry("loggers/soil.csv"), weather=weather)
    assert [str(one) for one in found.unread] == [
        "loggers/north/read me.txt: found a file that diary.yaml does not name; not read; name it "
        "under 'loggers' in diary.yaml, or move it out"
    ]
    assert len(read(tmp_path, definition, entry()).unread) == 2


def test_a_file_in_a_folder(tmp_path: Path, definition: Definition) -> None:
    put(tmp_path, SOUND["commas"], "north/soil.csv")
    found = read(tmp_path, definition, entry("north\\soil.csv"))
    assert (told(found), len(found.readings)) == ([], 3)


def test_letters_with_accents_in_names_of_files(tmp_path: Path, definition: Definition) -> None:
    put(tmp_path, SOUND["commas"], "cafe\u0301.csv")
    found = read(tmp_path, definition, entry("caf\u00e9.csv"))
    assert (told(found), len(found.readings), found.unread) == ([], 3, [])


def test_the_file_is_left_as_it_is(tmp_path: Path, definition: Definition) -> None:
    path = put(tmp_path, rows("2026-02-01 00:00,x", "2026-02-01 00:00,1"))
    before = path.read_bytes()
    read(tmp_path, definition, entry())
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("Temp (°C)", "degC"),
        ("Temp, degF", "degF"),
        ("T [F]", "degF"),
        ("soil_C", "degC"),
        ("Celsius", "degC"),
        ("soil_degC", "degC"),
        ("canopy_deg_F", "degF"),
        ("degC_soil_4in", "degC"),
        ("air_fahrenheit_mean", "degF"),
        ("Temperature", ""),
        ("soil_degrade", ""),
        ("landeg C2", ""),
        ("F or C (C)(F)", ""),
        ("Office", ""),
        ("Depth (cm)", ""),
    ],
)
def test_units_in_headings(heading: str, unit: str) -> None:
    assert unit_in(heading) == unit


def test_times_are_in_utc(tmp_path: Path, definition: Definition) -> None:
    put(tmp_path, SOUND["commas"])
    found = read(tmp_path, definition, entry())
    assert found.readings["time"].iloc[0] == pd.Timestamp("2026-02-01 05:00", tz="UTC")
