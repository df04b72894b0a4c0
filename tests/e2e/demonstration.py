"""A small demonstration, invented and painted here: three covers, two dressings, one area each."""

from __future__ import annotations

import csv
import datetime as dt
from pathlib import Path

import numpy as np
from PIL import Image

__all__ = ["BASELINE", "VISITS", "gather", "write_plan"]

BASELINE = "2026-01-15"
VISITS = ("2026-03-10", "2026-03-24")
RATERS = ("rx", "te")
# The share that is green [%], and the mark, by cover and date; a dressing takes a little off.
_GREEN = {"open": (30, 42, 60), "fleece": (31, 58, 74), "woven": (29, 52, 69)}
_MARK = {"open": (4, 5, 6), "fleece": (4, 6, 7), "woven": (4, 6, 6)}

DEFINITION = """\
title: Two covers shown on the Alder Road ground, 2026
question: What does the turf look like under two covers, with sand and without?
units: us
people:
  - {name: R. Example, role: groundskeeper, initials: rx}
  - {name: T. Example, role: extension agent, initials: te}
report_to: Invented County Turf Program
notice: Everything in this demonstration is invented.
site:
  name: Alder Road ground (invented)
  country: US
  latitude: 43.1
  longitude: -77.6
  turf: {species: [Poa pratensis], established: sod, mowing_height: 1.0 in}
dates:
  baseline: 2026-01-15
  covers_on: 2026-01-19
  covers_off: 2026-03-09
  first_event: 2026-04-18
  visits: [2026-03-10, 2026-03-24]
treatments:
  cover:
    label: Winter cover
    control: open
    levels:
      open: {label: No cover}
      fleece: {label: Spun-bond fleece, mass: 0.9 oz/yd2}
      woven: {label: Woven permeable cover, mass: 3.5 oz/yd2}
  dressing:
    label: Dressing
    control: bare
    levels: {bare: {label: No sand}, sand: {label: Sand}}
layout:
  kind: demonstration
  plots_in_a_row: 3
  plot_size: [10 ft, 6 ft]
  alley: 2 ft
  edge_left_out: 1 ft
  seed: 20260119
measures:
  green_cover:
    from: photos
    per_plot: 1
    quadrat: [3 ft, 3 ft]
    dates: [baseline, visits]
  colour_rating:
    from: sheet
    scale: 1-9
    acceptable: 6
    raters: [rx, te]
    repeats: 50 %
    dates: [baseline, visits]
  pull_force:
    from: sheet
    kind: pull_force
    unit: lbf
    per_plot: 2
    dates: [2026-03-24]
analysis:
  primary:
    measure: green_cover
    on: 2026-03-24
    compare: [fleece, open]
    matters_from: 8 points
  days_gained: {measure: green_cover, level: 55 %}
  caught_up_within: 5 points
"""
DIARY = """\
covers:
  - {on: 2026-01-19, off: 2026-03-09, plots: all covered}
cover_events:
  - {date: 2026-02-05, what: blown off, plots: [COVERED], note: gusts in the night}
  - {date: 2026-02-07, what: laid again, plots: [COVERED]}
  - {date: 2026-02-10, what: snow, plots: all plots, note: "4 in, gone by the 13th"}
management:
  - {date: 2026-03-20, what: nitrogen, plots: all plots, amount: 0.5 lb per 1000 ft2}
  - {date: 2026-03-16, what: other, plots: [COVERED], note: hand-weeded}
mishaps:
  - {date: 2026-02-20, plots: [OPEN], what: a pickup crossed a corner, effect: wheel marks in March}
weather:
  file: station.csv
  units: {temperature: degF, rain: in}
  normals:
    source: the station's averages of 1991 to 2020
    months:
      January: {low: 17 degF, high: 32 degF, rain: 2.4 in, days_below_zero: 28}
      February: {low: 18 degF, high: 34 degF, rain: 2.0 in, days_below_zero: 25}
      March: {low: 26 degF, high: 43 degF, rain: 2.6 in}
exclusions:
  - {plot: OPEN, measure: pull_force, date: 2026-03-24, sample: 2, reason: the spike was bent}
deviations:
  - {date: 2026-03-24, what: photos were taken an hour late, reason: fog until ten}
"""


def write_plan(folder: Path) -> Path:
    """Write the definition of the demonstration into a folder that is not there yet."""
    folder.mkdir()
    (folder / "trial.yaml").write_text(DEFINITION, encoding="utf-8")
    return folder


def gather(study: Path) -> None:
    """Paint the photos, fill in the sheets, and tell the season, for the plots that were drawn."""
    with (study / "plan" / "plots.csv").open(encoding="utf-8", newline="") as file:
        plots = list(csv.DictReader(file))
    draws = np.random.default_rng(20260119)
    for number, date in enumerate((BASELINE, *VISITS)):
        (study / "photos" / date).mkdir(parents=True)
        for plot in plots:
            share = _GREEN[plot["cover"]][number] - 4 * (plot["dressing"] == "sand")
            photo = _painted(share, draws)
            photo.save(study / "photos" / date / f"{plot['plot']}_1.jpg", quality=92, subsampling=0)
    (study / "sheets").mkdir()
    _write(study / "sheets" / "ratings.csv", _ratings(plots, draws))
    _write(study / "sheets" / "pulls.csv", _pulls(plots, draws))
    (study / "loggers").mkdir()
    _write(study / "loggers" / "station.csv", _weather(draws))
    covered = next(plot["plot"] for plot in plots if plot["cover"] == "fleece")
    bare = next(plot["plot"] for plot in plots if plot["cover"] == "open")
    diary = DIARY.replace("COVERED", f'"{covered}"').replace("OPEN", f'"{bare}"')
    (study / "diary.yaml").write_text(diary, encoding="utf-8")


def _painted(share: float, draws: np.random.Generator) -> Image.Image:
    """Paint blades over straw, four pixels a piece, so that JPEG leaves their colours alone."""
    green = draws.random((45, 60)) < share / 100
    straw, blade = np.array([176, 152, 104]), np.array([70, 122, 48])
    pieces = np.where(green[..., None], blade, straw) + draws.normal(0, 6, (45, 60, 1))
    pixels = np.clip(pieces, 0, 255).astype("uint8").repeat(8, axis=0).repeat(8, axis=1)
    return Image.fromarray(pixels)


def _ratings(plots: list[dict[str, str]], draws: np.random.Generator) -> list[list[object]]:
    """Rate every plot by two people, every other plot a second time by each."""
    rows: list[list[object]] = [["date", "plot", "rater", "colour_rating", "repeat"]]
    for number, date in enumerate((BASELINE, *VISITS)):
        for person, rater in enumerate(RATERS):
            for again in (False, True):
                for plot in plots[::2] if again else plots:
                    mark = _MARK[plot["cover"]][number] + person
                    mark += int(draws.integers(-1, 2)) if again or person else 0
                    rows.append([date, plot["plot"], rater, mark, 1 if again else ""])
    return rows


def _pulls(plots: list[dict[str, str]], draws: np.random.Generator) -> list[list[object]]:
    rows: list[list[object]] = [["date", "plot", "sample", "pull_force"]]
    for plot in plots:
        for sample in (1, 2):
            rows.append([VISITS[1], plot["plot"], sample, round(40 + draws.normal(0, 3), 1)])
    return rows


def _weather(draws: np.random.Generator) -> list[list[object]]:
    """Make days from New Year to the end of April, two of them missing."""
    rows: list[list[object]] = [["date", "low", "high", "rain"]]
    for day in range(120):
        if day in (40, 41):
            continue
        low = 14 + 0.25 * day + draws.normal(0, 4)
        rain = max(0.0, draws.normal(-0.05, 0.15))
        date = dt.date(2026, 1, 1) + dt.timedelta(day)
        rows.append([date.isoformat(), round(low), round(low + 15), round(rain, 2)])
    return rows


def _write(path: Path, rows: list[list[object]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows(rows)
