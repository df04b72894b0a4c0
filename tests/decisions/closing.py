"""Small studies of holes that close, their values given by a function of plot and day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from wintersward import design
from wintersward.study import Trial, open_study
from wintersward.trial import read_definition

AERATED = dt.date(2026, 3, 25)
VISITS = (7, 14, 21, 28)
SPLIT = "kind: split plot\n  whole_plot: cover\n  subplot: tine\n  blocks: 5"
BLOCKS = "kind: randomised blocks\n  blocks: 5"
SHOWN = "kind: demonstration"
TEXT = """\
title: Holes
question: When do they close?
units: metric
people: [{{name: A. Reader, role: agent, initials: ar}}]
site: {{name: Somewhere, country: US, turf: {{species: [Poa pratensis]}}}}
dates:
  covers_on: 2026-01-10
  covers_off: 2026-03-01
  aeration: {aerated}
treatments:
  cover:
    control: open
    levels: {{open: {{label: No cover}}, fleece: {{label: Fleece}}}}
  tine:
    applied: aeration
    control: solid
    levels:
      solid:
        label: Solid tine
        tine: {{kind: solid, outside: 10 mm, spacing: [50 mm, 50 mm], depth: 100 mm}}
      hollow:
        label: Hollow tine
        tine:
          {{kind: hollow, outside: 19 mm, inside: 15 mm, spacing: [50 mm, 50 mm], depth: 100 mm}}
layout:
  {layout}
  plot_size: [2 m, 2 m]
  alley: 1 m
  edge_left_out: 0.1 m
  seed: 5
measures:
  holes: {{from: sheet, kind: hole_closure, dates: [{visits}]}}
  living: {{from: sheet, unit: "%", dates: [2026-03-24, {visits}]}}
analysis:
  primary: {{measure: living, on: 2026-03-24, compare: [fleece, open], matters_from: 5 points}}
"""

Value = Callable[[Any, int], float | None]


def steady(days: float, day: int) -> float:
    """Close holes at an even pace, 95 % of them after some days, and never more than all."""
    return min(100.0, 95.0 * day / days)


def alike(plot: Any, day: int) -> float:
    """Give living cover that differs from plot to plot and day to day, and not by treatment."""
    return 60.0 + int(plot.block or 0) + (7 * int(plot.plot) + 3 * day) % 11 / 2


def closing_trial(
    folder: Path,
    holes: Value,
    living: Value = alike,
    layout: str = SPLIT,
    visits: Sequence[int] = VISITS,
    text: str = TEXT,
) -> Trial:
    """Write a study and open it.

    Parameters
    ----------
    holes, living : callable
        Take a row of the plots table and a day since the aeration; None: never observed.
    visits : sequence of int [day]
        Days since the aeration; living cover is seen on the day before it as well.
    """
    days = [AERATED + dt.timedelta(day) for day in visits]
    dates = ", ".join(map(str, days))
    (folder / "sheets").mkdir(parents=True)
    made = text.format(aerated=AERATED, layout=layout, visits=dates)
    (folder / "trial.yaml").write_text(made, encoding="utf-8")
    definition, problems = read_definition(folder)
    assert definition is not None, problems
    plots = design.draw(definition)
    design.write_plots(plots, folder / "plan" / "plots.csv")
    for name, value, at in (("holes", holes, visits), ("living", living, (-1, *visits))):
        rows = [
            (str(AERATED + dt.timedelta(day)), plot.plot, seen)
            for plot in plots.itertuples()
            for day in at
            if (seen := value(plot, day)) is not None
        ]
        frame = pd.DataFrame(rows, columns=["date", "plot", name])
        frame.to_csv(folder / "sheets" / f"{name}.csv", index=False)
    return open_study(folder)
