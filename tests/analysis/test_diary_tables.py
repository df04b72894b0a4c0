"""What the diary tells, as tables of a run."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from wintersward.analysis.diary_columns import HAPPENED
from wintersward.analysis.diary_tables import happened_tables, lost_words, weather_tables
from wintersward.errors import WinterswardError
from wintersward.runs.tables import from_csv, to_csv
from wintersward.trial.diary import Diary, Lost

DAYS = [dt.date(2026, 1, 15), dt.date(2026, 2, 3)]


def diary(**parts: Any) -> Diary:
    return Diary.model_validate(parts)


def weather(folder: Path, rows: str) -> Diary:
    (folder / "loggers").mkdir()
    (folder / "loggers" / "w.csv").write_text(f"date,low,high,rain\n{rows}", encoding="utf-8")
    normals = {"source": "invented", "months": {"January": {"low": "-8 degC"}}}
    units = {"temperature": "degC", "rain": "mm"}
    return diary(weather={"file": "w.csv", "units": units, "normals": normals})


def test_entries_become_rows_in_the_order_of_days() -> None:
    told = diary(
        cover_events=[
            {"date": "2026-02-07", "what": "laid again", "plots": ["1B", 101]},
            {"date": "2026-02-05", "what": "blown off", "note": "gusts"},
        ],
        management=[{"date": "2026-03-30", "what": "nitrogen", "amount": "25 kg/ha"}],
        mishaps=[{"date": "2026-02-20", "plots": [101], "what": "a pickup", "effect": "marks"}],
    )
    tables = happened_tables(told)
    assert tables["cover_events"].to_numpy().tolist() == [
        [pd.Timestamp("2026-02-05"), "blown off", "all covered", "gusts"],
        [pd.Timestamp("2026-02-07"), "laid again", "1B, 101", ""],
    ]
    assert tables["management"].iloc[0].tolist()[1:] == ["nitrogen", "all plots", "25 kg/ha", ""]
    assert tables["mishaps"].iloc[0].tolist()[1:] == ["101", "a pickup", "marks"]


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ({"plot": 101, "measure": "pull_force"}, "Pull force of plot 101 was not observed."),
        (
            {"plot": "1A", "measure": "pull_force", "sample": 2, "rater": "te"},
            "Pull force of plot 1A, sample 2, rater te was not observed.",
        ),
        (
            {"plots": [101, "1B"], "measure": "pull_force"},
            "Pull force of plots 101, 1B was not observed.",
        ),
        (
            {"plots": "all plots", "measure": "pull_force"},
            "Pull force of all plots was not observed.",
        ),
        ({"plots": "all plots"}, "Nothing of what was due on all plots was observed."),
        ({"plot": 101}, "Nothing of what was due on plot 101 was observed."),
    ],
)
def test_what_is_declared_missing_is_told(entry: dict[str, Any], words: str) -> None:
    lost = Lost.model_validate({"date": "2026-03-24", "reason": "snow", **entry})
    assert lost_words(lost, {"pull_force": "Pull force"}.__getitem__) == words


def test_an_empty_diary_has_empty_tables(tmp_path: Path) -> None:
    tables = happened_tables(diary()) | weather_tables(tmp_path, diary(), DAYS)
    assert set(tables) == set(HAPPENED)
    for name, frame in tables.items():
        assert frame.empty
        assert list(frame.columns) == [column.name for column in HAPPENED[name].columns]


def test_weather_is_told_from_the_first_to_the_last_month(tmp_path: Path) -> None:
    every = pd.date_range("2026-01-01", "2026-02-28")
    lost = ["2026-01-10", "2026-02-02", "2026-02-03"]
    rows = "".join(f"{day:%Y-%m-%d},-5,3,1\n" for day in every if f"{day:%Y-%m-%d}" not in lost)
    rows = rows.replace("2026-02-04,-5,3,1", "2026-02-04,,,").replace("01-31,-5,3,1", "01-31,,,")
    tables = weather_tables(tmp_path, weather(tmp_path, rows), DAYS)
    months = tables["weather_months"]
    assert sorted(set(months["month"].dt.month)) == [1, 2]
    low = months[months["what"] == "low"].iloc[0]
    assert (low["departure"], low["days"], low["source"]) == (3.0, 29, "invented")
    assert (low["first_day"], low["last_day"]) == (1, 30)
    found = [
        [f"{a:%m-%d}", f"{b:%m-%d}", *more] for a, b, *more in tables["weather_gaps"].to_numpy()
    ]
    assert found == [
        ["01-10", "01-10", 1, "no row"],
        ["01-31", "01-31", 1, "no values"],
        ["02-02", "02-03", 2, "no row"],
        ["02-04", "02-04", 1, "no values"],
    ]


def test_what_is_wrong_in_the_file_is_told(tmp_path: Path) -> None:
    told = weather(tmp_path, "2026-01-01,3,-3,0\nsoon,1,2,0\n")
    with pytest.raises(WinterswardError) as error:
        weather_tables(tmp_path, told, DAYS)
    assert [problem.row for problem in error.value.problems] == [2, 3]  # type: ignore[union-attr]


def test_every_table_is_written_and_read_back_unchanged(tmp_path: Path) -> None:
    rows = "2026-01-01,-3,3,0\n2026-01-03,-3,3,0\n"
    told = diary(
        cover_events=[{"date": "2026-02-05", "what": "ice"}],
        management=[{"date": "2026-02-05", "what": "water"}],
        mishaps=[{"date": "2026-02-05", "what": "w", "effect": "e"}],
    )
    tables = happened_tables(told) | weather_tables(tmp_path, weather(tmp_path, rows), DAYS)
    for name, frame in tables.items():
        assert len(frame)
        back = from_csv(name, HAPPENED[name], to_csv(name, HAPPENED[name], frame))
        expected = frame.sort_values(list(HAPPENED[name].key), ignore_index=True)
        pd.testing.assert_frame_equal(back, expected, check_dtype=False)
