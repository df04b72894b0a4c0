"""A study with loggers: its definition, its plots, and ways to write what a logger gives."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from wintersward.records.logger_sums import LoggersRead
from wintersward.records.loggers import read_loggers
from wintersward.trial import Definition, read_definition
from wintersward.trial.schema import Diary

SOUND = Path(__file__).parents[1] / "trial" / "sound.yaml"
MEASURES = """measures:
  soil: {from: logger, what: soil temperature, depth: 4 in, dates: [first_event]}
  canopy: {from: logger, what: canopy temperature, dates: [first_event]}
  air: {from: logger, what: air temperature, dates: [first_event]}
"""
PLOTS = pd.DataFrame(
    [("101", "1A"), ("102", "1A"), ("103", "1B"), ("104", "1B")], columns=["plot", "whole_plot"]
)
DEGREES = {"column": "Temp", "measure": "soil", "plot": "101", "unit": "degC"}
Rows = Iterable[Sequence[object]]


def with_loggers(folder: Path) -> Definition:
    """Write a definition with measures of loggers, and read it."""
    text = SOUND.read_text(encoding="utf-8")
    text = text.replace("measures:\n", MEASURES, 1)
    text = text.replace("  country: US\n", "  country: US\n  time_zone: America/New_York\n", 1)
    (folder / "trial.yaml").write_text(text, encoding="utf-8")
    made, problems = read_definition(folder)
    assert made is not None, problems
    return made


def entry(file: str = "soil.csv", **how: Any) -> dict[str, Any]:
    """Write an entry of the diary: one column of soil in plot 101, times by year, UTC-05:00."""
    told = {"file": file, "time": "Time", "format": "%Y-%m-%d %H:%M", "zone": "UTC-05:00"}
    return {**told, "values": [DEGREES], **how}


def value(**how: Any) -> dict[str, Any]:
    """Write what stands in a column: soil of plot 101 in degC unless said."""
    return {**DEGREES, **how}


def read(
    folder: Path, definition: Definition, *entries: dict[str, Any], **diary: Any
) -> LoggersRead:
    """Read files by entries, and check what holds of every reading."""
    told = Diary.model_validate({"loggers": list(entries), **diary})
    found = read_loggers(folder, definition, told, PLOTS)
    sound(found)
    return found


def sound(found: LoggersRead) -> None:
    """Check that sums hold, and that readings and problems are in order."""
    readings = found.readings
    for one in found.sums:
        removed = sum(one.removed.values())
        rows = one.above + one.headings + one.blank + one.after + one.used + removed
        assert one.rows == rows, one.words()
        assert min(one.above, one.headings, one.blank, one.after, one.used) >= 0
    assert len(readings) == sum(one.used for one in found.sums)
    assert str(readings["time"].dtype) == "datetime64[us, UTC]"
    assert np.isfinite(readings["value"]).all()
    keys = ["measure", "plot", "position", "time"]
    assert not readings.duplicated(keys).any()
    assert readings[keys].equals(readings[keys].sort_values(keys, ignore_index=True))
    assert found.problems == sorted(set(found.problems))


def told(found: LoggersRead) -> list[str]:
    """Give what is wrong, in words."""
    return [str(problem) for problem in found.problems]


def kinds(found: LoggersRead) -> list[str]:
    """Give the kinds of all flags."""
    return [flag.kind for flag in found.flags]


def local(found: LoggersRead, zone: str = "America/New_York") -> list[str]:
    """Give the times of the readings on the clock of the site."""
    return found.readings["time"].dt.tz_convert(zone).dt.strftime("%m-%d %H:%M").tolist()


def put(folder: Path, content: str | bytes, name: str = "soil.csv") -> Path:
    """Write a file of a logger."""
    path = folder / "loggers" / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    return path


def rows(*lines: str, head: str = "Time,Temp") -> str:
    """Join headings and lines to the text of a file."""
    return "".join(f"{line}\n" for line in (head, *lines))


def series(
    values: Sequence[float],
    start: str = "2026-02-01 00:00",
    minutes: int = 30,
    form: str = "%Y-%m-%d %H:%M",
    write: Callable[[float], str] = "{:.2f}".format,
) -> str:
    """Write a file whose readings come at one interval."""
    first = dt.datetime.fromisoformat(start)
    step = dt.timedelta(minutes=minutes)
    lines = [f"{first + at * step:{form}},{write(one)}" for at, one in enumerate(values)]
    return rows(*lines)


def swinging(days: int, mean: float, swing: float, a_day: int = 48) -> list[float]:
    """Draw a temperature that swings once a day about its mean [degC]."""
    at = np.arange(days * a_day)
    noise = np.sin(at * 12.9898) * 0.02
    return (mean + swing / 2 * np.sin(2 * np.pi * (at / a_day - 0.375)) + noise).tolist()
