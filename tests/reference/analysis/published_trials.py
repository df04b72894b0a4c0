"""Published field trials as study folders: definition, plots and one sheet."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from wintersward import design
from wintersward.study import Trial, open_study
from wintersward.trial import read_definition

_HEAD = """\
title: {title}
question: Does it differ?
units: metric
people: [{{name: A. Reader, role: agent, initials: ar}}]
site: {{name: Printed page, country: US, turf: {{species: [none]}}}}
dates: {{covers_on: 2000-01-01, covers_off: 2000-02-01, visit: 2000-03-01}}
layout:
  kind: {kind}
{roles}  blocks: {blocks}
  plot_size: [2 m, 2 m]
  alley: 1 m
  edge_left_out: 0.1 m
  seed: 1
treatments:
{treatments}measures:
  response: {{from: sheet, unit: kgf, per_plot: {per_plot}, dates: [visit]}}
analysis:
  primary: {{measure: response, on: visit, compare: [{left}, {right}], matters_from: 1 kgf}}
"""


def published_trial(
    folder: Path,
    title: str,
    data: pd.DataFrame,
    factors: dict[str, Sequence[str]],
    per_plot: int = 1,
) -> Trial:
    """Write a published trial as a study folder and open it.

    Parameters
    ----------
    data : DataFrame
        Columns block, one a factor, sample, response; one row an observation.
    factors : dict
        Levels of each factor, the whole-plot factor first; the first level is the control.
    """
    names = list(factors)
    split = len(names) == 2
    treatments = "".join(
        f"  {name}:\n    control: {levels[0]}\n    levels:\n"
        + "".join(f"      {level}: {{label: {level}}}\n" for level in levels)
        for name, levels in factors.items()
    )
    first = list(factors[names[0]])
    text = _HEAD.format(
        title=title,
        kind="split plot" if split else "randomised blocks",
        roles=f"  whole_plot: {names[0]}\n  subplot: {names[1]}\n" if split else "",
        blocks=data["block"].nunique(),
        treatments=treatments,
        per_plot=per_plot,
        left=first[1],
        right=first[0],
    )
    (folder / "sheets").mkdir(parents=True)
    (folder / "trial.yaml").write_text(text, encoding="utf-8")
    definition, problems = read_definition(folder)
    assert definition is not None, problems
    plots = design.draw(definition)
    design.write_plots(plots, folder / "plan" / "plots.csv")
    numbered = {name: str(i + 1) for i, name in enumerate(sorted(set(data["block"])))}
    keys = ["block", *names]
    rows = data.assign(block=data["block"].map(numbered)).astype({name: "str" for name in names})
    placed = plots[["plot", *keys]].astype("str").merge(rows, on=keys, how="inner")
    sheet = placed.assign(date="2000-03-01")[["date", "plot", "sample", "response"]]
    sheet.to_csv(folder / "sheets" / "response.csv", index=False)
    lost = plots.loc[~plots["plot"].isin(placed["plot"]), "plot"]
    if len(lost):
        entry = "  - {{plot: '{}', measure: response, date: 2000-03-01, reason: not printed}}\n"
        text = "missing:\n" + "".join(entry.format(plot) for plot in lost)
        (folder / "diary.yaml").write_text(text, encoding="utf-8")
    return open_study(folder)
