"""Time of reading loggers, printed; never a pass or a fail."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from bench.timing import best, told
from records.logger_studies import PLOTS, entry, put, series, value, with_loggers
from wintersward.records.logger_guess import guess_logger
from wintersward.records.loggers import read_loggers
from wintersward.trial.schema import Diary

ROWS = 120_000


def readings(count: int) -> list[float]:
    """Draw readings of soil that swings, with the noise of a sensor [degC]."""
    noise = np.random.default_rng(20260119).normal(0, 0.1, count)
    return (5 + 3 * np.sin(np.arange(count) / 200) + noise).tolist()


@pytest.mark.parametrize("form", ["%Y-%m-%d %H:%M", "%m/%d/%Y %I:%M %p"])
def test_one_file_of_many_rows(tmp_path: Path, form: str) -> None:
    definition = with_loggers(tmp_path)
    path = put(tmp_path, series(readings(ROWS), "2026-01-15 00:00", 1, form))
    diary = Diary.model_validate({"loggers": [entry(format=form)]})
    assert len(read_loggers(tmp_path, definition, diary, PLOTS).readings) == ROWS
    seconds = best(lambda: read_loggers(tmp_path, definition, diary, PLOTS), 3)
    bare = best(lambda: pd.read_csv(path, parse_dates=["Time"], date_format=form), 3)
    told(f"{ROWS} rows of a logger, {form}", seconds, f"pandas alone {bare * 1000:.0f} ms")
    guessed = best(lambda: guess_logger(tmp_path, "soil.csv"), 1)
    told("the same file guessed", guessed)


def test_a_season_of_many_files(tmp_path: Path) -> None:
    definition = with_loggers(tmp_path)
    entries = []
    for at in range(24):
        put(tmp_path, series(readings(ROWS // 24), "2026-01-15 00:00", 30), f"{at}.csv")
        entries.append(entry(f"{at}.csv", values=[value(position=str(at))]))
    diary = Diary.model_validate({"loggers": entries})
    assert len(read_loggers(tmp_path, definition, diary, PLOTS).readings) == ROWS
    seconds = best(lambda: read_loggers(tmp_path, definition, diary, PLOTS), 3)
    told(f"{ROWS} rows of 24 loggers", seconds)
