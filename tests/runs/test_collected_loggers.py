"""What a check tells of loggers: sums, flags, and how files may be read that nobody named."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd
import pytest

from logged_study import changed, drawn_with, opened_with
from wintersward.errors import WinterswardError
from wintersward.records import LoggerSums
from wintersward.records.logger_sums import LoggerFlag
from wintersward.runs.checking import check
from wintersward.runs.collected import problems_dict
from wintersward.runs.collected_loggers import flag_line, flags_dict, sum_lines
from wintersward.runs.standing import standing

WHOLE = LoggerSums("loggers/a.csv", "Soil", "soil", "1A", "", 101, headings=1, used=100)
SPIKY = LoggerSums(
    "loggers/b.csv", "Soil", "soil", "1B", "", 101, headings=1, used=99, removed={"spike": 1}
)
BEGINS = pd.Timestamp("2026-02-01 05:00", tz="UTC")
FLAG = LoggerFlag(
    "gap", "loggers/b.csv", "soil", "1B", BEGINS, pd.NaT, "no reading for 5 h", "more than 2 h"
)


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return drawn_with(tmp_path_factory.mktemp("drawn"), changed())


def test_columns_that_lost_readings_are_told_one_by_one() -> None:
    assert sum_lines([WHOLE, SPIKY, WHOLE]) == [
        "2 columns of 1 file: 200 readings, all of them used",
        "loggers/b.csv, Soil, plot 1B: 101 rows = 1 of headings + 99 used + 1 taken for spikes",
    ]
    assert sum_lines([]) == []


def test_a_flag_in_words_and_for_a_program() -> None:
    assert flag_line(FLAG) == (
        "loggers/b.csv, soil, plot 1B: flag gap: no reading for 5 h; rule: more than 2 h"
    )
    told = flags_dict(FLAG)
    assert (told["from"], told["to"]) == ("2026-02-01T05:00:00+00:00", None)


def test_a_check_tells_what_came_in_and_guesses_at_the_rest(
    drawn: dict[str, bytes], tmp_path: Path
) -> None:
    study = opened_with(drawn, tmp_path).folder
    text = (study / "loggers" / "1A.csv").read_text(encoding="utf-8")
    for at, name in enumerate(("new.csv", "newer.csv")):
        kept = text.splitlines()[: 200 + at]
        (study / "loggers" / name).write_text("\n".join(kept) + "\n", encoding="utf-8")
    (study / "loggers" / "notes.txt").write_text("bury deeper\n", encoding="utf-8")
    found = check(study)
    assert found.loggers == 18
    lines = found.words()
    assert lines[:2] == [
        "the loggers:",
        "  - 36 columns of 18 files: 40176 readings, all of them used",
    ]
    begin = lines.index("files of loggers that are not read; a run goes on without them:")
    assert lines[begin + 1].startswith("  - loggers/new.csv: found a file that diary.yaml does")
    text = "\n".join(lines[begin:])
    assert "how loggers/new.csv may be read, a guess; under 'loggers' in diary.yaml:" in text
    assert '  - file: "new.csv"\n    time: "Time"\n    format: "%m/%d/%Y %H:%M"' in text
    assert "the same, with the name of the file, for loggers/newer.csv" in text
    assert "to fill in: whether the clock was put forward" in text
    assert "loggers/notes.txt: found no readings that are known" in text
    told = found.as_dict()
    assert json.loads(json.dumps(told, allow_nan=False)) == told
    assert len(told["loggers"]) == 36
    assert [one["file"] for one in told["loggers_unread"]] == [
        "loggers/new.csv",
        "loggers/newer.csv",
        "loggers/notes.txt",
    ]


def test_what_is_wrong_is_told_with_the_rows_of_its_column(
    drawn: dict[str, bytes], tmp_path: Path
) -> None:
    study = opened_with(drawn, tmp_path).folder
    path = study / "loggers" / "1A.csv"
    path.write_text(path.read_text(encoding="utf-8") + "02/30/2026 00:00,1,2\n", encoding="utf-8")
    with pytest.raises(WinterswardError) as caught:
        check(study)
    told = problems_dict(caught.value)
    assert [one["file"] for one in told["problems"]] == ["loggers/1A.csv"]
    assert [one["removed"]["unreadable"] for one in told["loggers"]] == [1, 1]
    assert told["sheets"] == []


def test_loggers_under_the_covers_are_no_collecting_yet(
    drawn: dict[str, bytes], tmp_path: Path
) -> None:
    study = opened_with(drawn, tmp_path, last="2026-03-01").folder
    assert standing(study, pd.Timestamp("2026-03-02").date()).stage == "covered"
