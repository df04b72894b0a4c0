"""Whatever stands in a file of a logger, nothing of it is lost: every row is counted once."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from records.logger_studies import entry, put, read, value, with_loggers
from wintersward.trial import Definition

ANY = settings(
    max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
TIMES = st.sampled_from(
    [
        *(f"2026-03-08 {hour:02}:{minute}" for hour in range(5) for minute in ("00", "30")),
        *(f"2025-11-02 {hour:02}:{minute}" for hour in range(4) for minute in ("00", "30")),
        "2026-02-30 00:00",
        "2026-03-08 24:00",
        "2099-01-01 00:00",
        "03/08/2026 01:00",
        "now",
        "End of data",
        "",
    ]
)
CELLS = st.sampled_from(
    [
        "1",
        "1.0",
        "2.5",
        "-3",
        "49.9",
        "50.1",
        "-999",
        "1e400",
        "NA",
        "",
        "x",
        '"',
        "1,5",
        "\0",
        "nan",
    ]
)
ROWS = st.lists(st.tuples(TIMES, CELLS, CELLS), max_size=25)


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Definition]:
    folder = tmp_path_factory.mktemp("loggers")
    return folder, with_loggers(folder)


@ANY
@given(st.text(max_size=200) | st.binary(max_size=200))
def test_any_content(study: tuple[Path, Definition], content: str | bytes) -> None:
    folder, definition = study
    raw = content if isinstance(content, bytes) else content.encode("utf-8", "surrogatepass")
    put(folder, raw)
    found = read(folder, definition, entry(zone="site"))
    assert found.problems != []
    assert len(found.readings) == 0


@ANY
@given(ROWS, st.sampled_from(["site", "UTC-05:00"]), st.booleans(), st.sampled_from(",;\t"))
def test_any_rows(
    study: tuple[Path, Definition],
    rows: Sequence[Sequence[str]],
    zone: str,
    used: bool,
    between: str,
) -> None:
    folder, definition = study
    lines = [between.join(row) for row in [("Time", "Temp", "Other"), *rows]]
    put(folder, "\n".join(lines))
    values = [value(), value(column="Other", measure="canopy", unit="degF", plot="1A")]
    days = {"used": ["2026-03-08", "2026-03-08"]} if used else {}
    found = read(folder, definition, entry(zone=zone, values=values, **days))
    if "\0" in "".join(lines) and not found.sums:
        # With many zeros it is no text at all, and is told as such.
        assert found.problems != []
        assert len(found.readings) == 0
        return
    assert [one.rows for one in found.sums] == [len(lines)] * 2
    if any(one.removed.get("unreadable") for one in found.sums):
        assert found.problems != []
    for source, reading in zip(found.readings["source"], found.readings["value"], strict=True):
        cells = lines[int(source.rpartition(":")[2]) - 1].split(between)
        assert any(_same(cell, reading) for cell in cells[1:])


def _same(cell: str, reading: float) -> bool:
    """Tell whether a cell holds a reading, in one unit or the other."""
    try:
        number = float(cell)
    except ValueError:
        return False
    return abs(number - reading) < 1e-9 or abs((number - 32) / 1.8 - reading) < 1e-9


@ANY
@given(ROWS, ROWS)
def test_two_files_of_one_place(
    study: tuple[Path, Definition], first: Sequence[Sequence[str]], second: Sequence[Sequence[str]]
) -> None:
    folder, definition = study
    for name, rows in (("a.csv", first), ("b.csv", second)):
        put(folder, "\n".join(",".join(row) for row in [("Time", "Temp", "Other"), *rows]), name)
    found = read(folder, definition, entry("a.csv"), entry("b.csv"))
    assert len(found.sums) == 2


@ANY
@given(st.text(alphabet='Time,Temp;\t"\n 0123456789:-/.%', max_size=120), st.integers(0, 3))
def test_any_lines_to_skip(study: tuple[Path, Definition], text: str, skip: int) -> None:
    folder, definition = study
    put(folder, text)
    found = read(folder, definition, entry(skip=skip))
    stripped = text.strip("\n ")
    assert len(found.sums) == (1 if text.strip() else 0), stripped
    assert all(one.rows >= len(stripped.splitlines()) for one in found.sums)
