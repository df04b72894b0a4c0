"""Small studies with many dates, their values given by a function of plot and day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from wintersward import design
from wintersward.study import Trial, open_study
from wintersward.trial import read_definition

OFF = dt.date(2026, 3, 1)
BLOCKS = "kind: randomised blocks\n  blocks: 6"
SPLIT = "kind: split plot\n  whole_plot: cover\n  subplot: tine\n  blocks: 6"
COVER = """\
  cover:
    control: open
    levels: {open: {label: open}, fleece: {label: fleece}, woven: {label: woven}}
"""
TINE = """\
  tine:
    applied: aeration
    control: solid
    levels: {solid: {label: solid}, hollow: {label: hollow}}
"""
_TEXT = """\
title: Covers in {year}
question: Does it differ?
units: metric
people: [{{name: A. Reader, role: agent, initials: ar}}]
site: {{name: {site}, country: US, turf: {{species: [Poa pratensis]}}}}
dates:
  covers_on: {on}
  covers_off: {off}
  aeration: {aeration}
  visits: [{visits}]
treatments:
{treatments}layout:
  {layout}
  plot_size: [2 m, 2 m]
  alley: 1 m
  edge_left_out: 0.1 m
  seed: {seed}
measures:
  cover_share: {{from: sheet, unit: "%", dates: [visits]}}
analysis:
  primary: {{measure: cover_share, on: {primary}, compare: [fleece, open], matters_from: 5 points}}
{more}"""

Value = Callable[[Any, int], float | None]


def dated_trial(
    folder: Path,
    value: Value,
    days: Sequence[int] = (1, 8, 22, 40),
    layout: str = BLOCKS,
    treatments: str = COVER,
    aeration: int = 15,
    more: str = "",
    **other: Any,
) -> Trial:
    """Write a study and open it; the primary date is the last visit, unless told otherwise.

    Parameters
    ----------
    value : callable
        Takes a row of the plots table and a day from covers off on; None: never observed.
    days : sequence of int [day]
        Visits, from covers off on.
    more : str
        Further lines of ``analysis``.
    other : dict
        off (day that the covers came off), primary (day), seed, site.
    """
    off = other.get("off", OFF)
    at = [off + dt.timedelta(day) for day in days]
    primary = other.get("primary", days[-1])
    text = _TEXT.format(
        year=off.year,
        site=other.get("site", "Printed page"),
        on=off - dt.timedelta(60),
        off=off,
        aeration=off + dt.timedelta(aeration),
        visits=", ".join(str(day) for day in at),
        treatments=treatments,
        layout=layout,
        seed=other.get("seed", 1),
        primary=off + dt.timedelta(primary),
        more=more,
    )
    (folder / "sheets").mkdir(parents=True)
    (folder / "trial.yaml").write_text(text, encoding="utf-8")
    definition, problems = read_definition(folder)
    assert definition is not None, problems
    plots = design.draw(definition)
    design.write_plots(plots, folder / "plan" / "plots.csv")
    rows, lost = [], []
    for plot in plots.itertuples():
        for day, date in zip(days, at, strict=True):
            seen = value(plot, day)
            if seen is not None:
                rows.append((str(date), plot.plot, seen))
            elif day == primary:
                lost.append(plot.plot)
    frame = pd.DataFrame(rows, columns=["date", "plot", "cover_share"])
    frame.to_csv(folder / "sheets" / "cover.csv", index=False)
    if lost:
        entry = "  - {{plot: '{}', measure: cover_share, date: {}, reason: not seen}}\n"
        day = off + dt.timedelta(primary)
        text = "missing:\n" + "".join(entry.format(plot, day) for plot in lost)
        (folder / "diary.yaml").write_text(text, encoding="utf-8")
    return open_study(folder)
