"""A study folder with a definition and plots, and ways to put records into it."""

from __future__ import annotations

import csv
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pandas as pd
import pytest

from wintersward.records import SheetsRead, photo_index, read_sheets
from wintersward.trial import Definition, Diary, read_definition, read_diary

SOUND = Path(__file__).parents[1] / "trial" / "sound.yaml"

Write = Callable[..., Path]
Reading = Callable[..., SheetsRead]
Sheets = Callable[..., tuple[pd.DataFrame, list[str]]]
Index = Callable[[], tuple[list[tuple[str, str, int, str]], list[str]]]


@pytest.fixture
def study(tmp_path: Path) -> Path:
    (tmp_path / "trial.yaml").write_bytes(SOUND.read_bytes())
    (tmp_path / "sheets").mkdir()
    (tmp_path / "photos").mkdir()
    return tmp_path


@pytest.fixture
def definition(study: Path) -> Definition:
    made, problems = read_definition(study)
    assert made is not None, problems
    return made


@pytest.fixture
def plots() -> pd.DataFrame:
    """Six blocks of three whole plots with two plots each: 101 and 102 lie in 1A, ..."""
    rows = [
        (f"{block}{2 * whole + half + 1:02}", f"{block}{'ABC'[whole]}", str(block))
        for block in range(1, 7)
        for whole in range(3)
        for half in range(2)
    ]
    return pd.DataFrame(rows, columns=["plot", "whole_plot", "block"])


@pytest.fixture
def write(study: Path) -> Write:
    """Write rows as a CSV file of the study."""

    def write_rows(name: str, *rows: list[object], separator: str = ",") -> Path:
        path = study / name
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file, delimiter=separator).writerows(rows)
        return path

    return write_rows


@pytest.fixture
def reading(study: Path, plots: pd.DataFrame) -> Reading:
    """Read the sheets, with the definition as it stands at the first reading and a diary."""

    @cache
    def defined() -> Definition:
        made, problems = read_definition(study)
        assert made is not None, problems
        return made

    def read(diary_text: str = "") -> SheetsRead:
        definition = defined()
        diary = Diary()
        if diary_text:
            (study / "diary.yaml").write_text(diary_text, encoding="utf-8")
            diary, problems = read_diary(study, definition)
            assert problems == []
        made = read_sheets(study, definition, diary, plots)
        assert made.problems == sorted(made.problems)
        return made

    return read


@pytest.fixture
def sheets(reading: Reading) -> Sheets:
    """Read the sheets, with a diary, and give observations and messages."""

    def read(diary_text: str = "") -> tuple[pd.DataFrame, list[str]]:
        made = reading(diary_text)
        return made.observations, [str(problem) for problem in made.problems]

    return read


@pytest.fixture
def index(study: Path, definition: Definition, plots: pd.DataFrame) -> Index:
    def find() -> tuple[list[tuple[str, str, int, str]], list[str]]:
        frame, problems = photo_index(study, definition, plots)
        assert list(frame.columns) == ["date", "plot", "sample", "path"]
        assert str(frame["date"].dtype).startswith("datetime64")
        assert problems == sorted(problems)
        rows = [(str(d.date()), p, int(s), f) for d, p, s, f in frame.itertuples(index=False)]
        return rows, [str(problem) for problem in problems]

    return find


@pytest.fixture
def shoot(study: Path) -> Callable[..., None]:
    """Put files into the folder of photos; what is in them is not looked at here."""

    def put(*names: str) -> None:
        for name in names:
            path = study / "photos" / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(b"picture")

    return put
