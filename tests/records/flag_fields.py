"""A trial with every kind of measure, and an invented field to look for flags in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import pandas as pd

from wintersward.records.flags import flag_table, flag_words
from wintersward.records.observations import COLUMNS, observation_frame
from wintersward.trial import Definition, Diary, read_definition
from wintersward.units import to_si

__all__ = ["DATES", "definition", "field", "lines", "plots", "pulls", "row", "table"]

DATES = ("2026-01-15", "2026-03-10", "2026-03-16", "2026-03-24", "2026-04-04", "2026-04-17")
SOUND = Path(__file__).parents[1] / "trial" / "sound.yaml"
_MEASURES = """\
measures:
  green_cover: {from: photos, dates: [baseline, visits]}
  colour_rating: {from: sheet, scale: 1-9, raters: [te, rx], dates: [baseline, visits]}
  pull_force: {from: sheet, unit: lbf, dates: [baseline, visits]}
  torque: {from: sheet, unit: N.m, per_plot: 3, dates: [2026-03-24, 2026-04-17]}
  weeds: {from: sheet, unit: "%", dates: [visits]}
  soil_warmth: {from: sheet, unit: degF, dates: [visits]}
"""
_COVERS = ("fleece", "open", "woven")
_TINES = ("hollow", "solid")


@cache
def definition(blocks: int = 6) -> Definition:
    """Read a definition with six visits; the tines go in between the fourth and the fifth."""
    text = SOUND.read_text(encoding="utf-8").replace("blocks: 6", f"blocks: {blocks}")
    head, rest = text.split("measures:\n")
    with TemporaryDirectory() as folder:
        path = Path(folder) / "trial.yaml"
        path.write_text(head + _MEASURES + rest[rest.index("analysis:") :], encoding="utf-8")
        made, problems = read_definition(Path(folder))
    assert made is not None, problems
    return made


@cache
def plots(blocks: int = 6) -> pd.DataFrame:
    """Lay blocks of three covers with two tines each: 101 and 102 lie in 1A, ..."""
    rows = [
        (f"{block}{2 * whole + half + 1:02}", f"{block}{'ABC'[whole]}", str(block), cover, tine)
        for block in range(1, blocks + 1)
        for whole, cover in enumerate(_COVERS)
        for half, tine in enumerate(_TINES)
    ]
    return pd.DataFrame(rows, columns=["plot", "whole_plot", "block", "cover", "aeration"])


def row(day: str, plot: str, measure: str, value: float, **other: Any) -> tuple[Any, ...]:
    """Make one observation; the value in the unit of the sheet."""
    unit = getattr(definition().measures[measure], "unit_written", None)
    filled = {"sample": 1, "rater": "", "flags": "", "excluded": ""}
    filled |= {"source": f"sheets/{measure}.csv:{other.pop('line', 2)}"}
    filled |= {"value": to_si(value, unit) if unit else value}
    filled |= {"unit": definition().measures[measure].unit}
    filled |= {"date": pd.Timestamp(day), "plot": plot, "measure": measure, **other}
    return tuple(filled[name] for name in COLUMNS)


def field(
    rng: np.random.Generator, blocks: int = 6, shade: float = 12.0, days: Sequence[str] = DATES
) -> pd.DataFrame:
    """Draw what each plot truly reads [lbf], (days, plots): shade along the blocks, treatments."""
    laid = plots(blocks)
    along = np.linspace(-0.5, 0.5, blocks)[laid["block"].astype(int) - 1]
    always = shade * along + rng.normal(0, 2.5, len(laid))
    covered = laid["cover"].map({"open": 0.0, "fleece": 10.0, "woven": 12.0}).to_numpy()
    hollow = 8.0 * (laid["aeration"] == "hollow").to_numpy()
    late = np.array([(day > "2026-01-19", day > "2026-03-25") for day in days], dtype=float)
    grown = 45 + 4 * np.arange(len(days))[:, None]
    true = grown + always + np.outer(late[:, 0], covered) - np.outer(late[:, 1], hollow)
    return pd.DataFrame(true, index=list(days), columns=laid["plot"])


def pulls(read: pd.DataFrame) -> pd.DataFrame:
    """Write readings (days, plots) down as pulls; rows of the sheet are numbered day by day."""
    places = [(day, plot) for day in read.index for plot in read.columns]
    return observation_frame(
        [
            row(day, plot, "pull_force", round(float(read.at[day, plot]), 1), line=line)
            for line, (day, plot) in enumerate(places, 2)
        ]
    )


def table(
    observations: pd.DataFrame | Iterable[tuple[Any, ...]],
    diary: dict[str, Any] | None = None,
    measures: Sequence[str] | None = None,
    blocks: int = 6,
) -> pd.DataFrame:
    """Look for flags."""
    if not isinstance(observations, pd.DataFrame):
        observations = observation_frame(list(observations))
    told = Diary.model_validate(diary or {})
    return flag_table(observations, definition(blocks), told, plots(blocks), measures)


def lines(*asked: Any, kind: str = "", **more: Any) -> list[str]:
    """Look for flags, of all kinds or of one, and say them."""
    found = table(*asked, **more)
    return [flag_words(flag) for flag in found.itertuples() if kind in ("", flag.kind)]
