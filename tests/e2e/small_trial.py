"""The smallest trial that goes the whole way, invented and painted here: photos and a rating."""

from __future__ import annotations

import csv
import datetime as dt
from pathlib import Path

import numpy as np

from e2e.demonstration import _painted as painted
from wintersward.runs.planning import plan

__all__ = ["small_trial"]

DEFINITION = """\
title: One cover on the Alder Road ground, 2026
question: Does a fleece bring more green?
units: us
people: [{name: R. Example, role: groundskeeper, initials: rx}]
site: {name: Alder Road ground (invented), country: US, turf: {species: [Poa pratensis]}}
dates: {covers_on: 2026-01-19, covers_off: 2026-03-09, visits: [2026-03-10, 2026-03-24]}
treatments:
  cover:
    control: open
    levels: {open: {label: No cover}, fleece: {label: Fleece}}
layout:
  kind: randomised blocks
  blocks: 4
  plot_size: [10 ft, 6 ft]
  alley: 2 ft
  edge_left_out: 1 ft
  seed: 20260119
measures:
  green_cover: {from: photos, quadrat: [3 ft, 3 ft], dates: [visits]}
  colour_rating: {from: sheet, scale: 1-9, raters: [rx], dates: [2026-03-24]}
analysis:
  primary: {measure: green_cover, on: 2026-03-24, compare: [fleece, open], matters_from: 8 points}
"""
COVERS = "covers:\n  - {on: 2026-01-19, off: 2026-03-09, plots: all covered}\n"
# With a logger in every plot, whose clock follows summer time, which begins on 8 March.
ZONE = ("country: US,", "country: US, time_zone: America/New_York,")
SOIL = """\
  soil: {from: logger, what: soil temperature, depth: 4 in, dates: [2026-03-24]}
analysis:
"""
ENTRY = """\
  - file: {plot}.csv
    time: read_at
    format: "%Y-%m-%d %H:%M"
    zone: site
    values: [{{column: soil, measure: soil, plot: "{plot}", unit: degF}}]
"""


def small_trial(folder: Path, logged: bool = False) -> Path:
    """Plan the trial in a folder that is not there yet, and gather what it is to observe."""
    folder.mkdir()
    text = DEFINITION
    if logged:
        text = text.replace(*ZONE).replace("analysis:\n", SOIL)
    (folder / "trial.yaml").write_text(text, encoding="utf-8")
    (folder / "diary.yaml").write_text(COVERS, encoding="utf-8")
    plan(folder)
    draws = np.random.default_rng(20260119)
    with (folder / "plan" / "plots.csv").open(encoding="utf-8", newline="") as stream:
        plots = list(csv.DictReader(stream))
    rows = ["date,plot,rater,colour_rating"]
    for plot in plots:
        more = 12 * (plot["cover"] == "fleece") + draws.normal(0, 3)
        for date, share in (("2026-03-10", 40), ("2026-03-24", 60)):
            photo = folder / "photos" / date / f"{plot['plot']}_1.jpg"
            photo.parent.mkdir(parents=True, exist_ok=True)
            painted(share + more, draws).save(photo, quality=92, subsampling=0)
        rows.append(f"2026-03-24,{plot['plot']},rx,{5 + round(more / 8)}")
    (folder / "sheets").mkdir(exist_ok=True)
    (folder / "sheets" / "ratings.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    if logged:
        _log(folder, plots, draws)
    return folder


def _log(folder: Path, plots: list[dict[str, str]], draws: np.random.Generator) -> None:
    """Write what a logger in each plot read every other hour of March, and name it in the diary."""
    (folder / "loggers").mkdir()
    diary = [COVERS, "loggers:\n"]
    for plot in plots:
        rows = ["read_at,soil"]
        for step in range(12 * 26):
            when = dt.datetime(2026, 3, 1, 1) + dt.timedelta(hours=2 * step)
            day = when.day + when.hour / 24
            soil = 34 + 0.4 * day + 3 * (plot["cover"] == "fleece") + draws.normal(0, 0.4)
            rows.append(f"{when:%Y-%m-%d %H:%M},{soil:.1f}")
        path = folder / "loggers" / f"{plot['plot']}.csv"
        path.write_text("\n".join(rows) + "\n", encoding="utf-8")
        diary.append(ENTRY.format(**plot))
    (folder / "diary.yaml").write_text("".join(diary), encoding="utf-8")
