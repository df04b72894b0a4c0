"""Published field trials as study folders: definition, plots and one sheet."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from wintersward import design
from wintersward.study import Trial, open_study
from wintersward.trial import Definition, Diary, read_definition

_HEAD = """\
title: {title}
question: Does it differ?
units: metric
people: [{{name: A. Reader, role: agent, initials: ar}}]
site: {{name: Printed page, country: US, turf: {{species: [none]}}}}
dates: {{covers_on: 2000-01-01, covers_off: 2000-02-01, visit: 2000-03-01}}
layout:
  kind: {kind}
{lines}  plot_size: [2 m, 2 m]
  alley: 1 m
  edge_left_out: 0.1 m
  seed: 1
treatments:
{treatments}measures:
  response: {{from: sheet, unit: kgf, per_plot: {per_plot}, dates: [visit]}}
analysis:
  primary: {{measure: response, on: visit, compare: [{left}, {right}], matters_from: 1 kgf}}
"""
_ROLES = {
    "split plot": ("whole_plot", "subplot"),
    "strip plot": ("row_strips", "column_strips"),
}


def published_trial(
    folder: Path,
    title: str,
    data: pd.DataFrame,
    factors: dict[str, Sequence[str]],
    per_plot: int = 1,
    kind: str = "",
) -> Trial:
    """Write a published trial as a study folder and open it.

    Where a block, a whole plot or a strip lay among the others does not enter its analysis, so
    the plan is drawn, and every response goes to the plot that got its treatment in its block.

    Parameters
    ----------
    data : DataFrame
        Columns block (not in a completely random layout), one a factor, sample, response; one row
        an observation.
    factors : dict
        Levels of each factor, that of the whole plots or row strips first; the first level is
        the control.
    kind : str
        Kind of the layout; a split plot where there are two factors, else randomised blocks.
    """
    names = list(factors)
    kind = kind or ("split plot" if len(names) == 2 else "randomised blocks")
    lines = [f"{role}: {name}" for role, name in zip(_ROLES.get(kind, ()), names, strict=False)]
    keys = ["block", *names]
    if kind == "completely random":
        # Which of its plots gave which response does not matter: they are counted.
        data = data.assign(block=data.groupby(names).cumcount().astype(str))
        lines.append(f"replicates: {data['block'].nunique()}")
    else:
        numbered = {name: str(i + 1) for i, name in enumerate(sorted(set(data["block"])))}
        data = data.assign(block=data["block"].map(numbered))
        lines.append(f"blocks: {len(numbered)}")
    definition = _defined(folder, title, kind, lines, factors, per_plot)
    plots = design.draw(definition)
    design.write_plots(plots, folder / "plan" / "plots.csv")
    known = plots.assign(block=plots.groupby(names, observed=True).cumcount())
    known = known if kind == "completely random" else plots
    rows = data[[*keys, "sample", "response"]].astype({name: "str" for name in names})
    placed = known[["plot", *keys]].astype("str").merge(rows, on=keys, how="inner")
    _write_sheet(folder, placed)
    lost = plots.loc[~plots["plot"].isin(placed["plot"]), "plot"]
    if len(lost):
        entry = "  - {{plot: '{}', measure: response, date: 2000-03-01, reason: not printed}}\n"
        text = "missing:\n" + "".join(entry.format(plot) for plot in lost)
        (folder / "diary.yaml").write_text(text, encoding="utf-8")
    return open_study(folder)


def published_square(
    folder: Path, title: str, data: pd.DataFrame, factors: dict[str, Sequence[str]]
) -> Trial:
    """Write a published Latin square as a study folder.

    In a Latin square it matters which treatment met which row and column, so the plan is the
    published one. `open_study` refuses it, since no seed drew it; the trial is put together
    from the same parts, the plan read and checked as every plan is.

    Parameters
    ----------
    data : DataFrame
        Columns row, column (from 1), the factor, sample, response; one row an observation.
    factors : dict
        Levels of the factor, the control first.
    """
    definition = _defined(folder, title, "latin square", [], factors, 1)
    (factor,) = factors
    plots = design.units(definition).merge(data, on=["row", "column"], validate="one_to_one")
    plan = folder / "plan" / "plots.csv"
    design.write_plots(plots[design.columns(definition)], plan)
    _write_sheet(folder, plots)
    read, problems = design.read_plots(plan, definition)
    assert read is not None, problems
    assert set(read[factor]) == set(factors[factor])
    return Trial(folder, definition, Diary(), read)


def _defined(
    folder: Path,
    title: str,
    kind: str,
    lines: Sequence[str],
    factors: dict[str, Sequence[str]],
    per_plot: int,
) -> Definition:
    treatments = "".join(
        f"  {name}:\n    control: {levels[0]}\n    levels:\n"
        + "".join(f"      {level}: {{label: {level}}}\n" for level in levels)
        for name, levels in factors.items()
    )
    first = next(iter(factors.values()))
    text = _HEAD.format(
        title=title,
        kind=kind,
        lines="".join(f"  {line}\n" for line in lines),
        treatments=treatments,
        per_plot=per_plot,
        left=first[1],
        right=first[0],
    )
    (folder / "sheets").mkdir(parents=True)
    (folder / "trial.yaml").write_text(text, encoding="utf-8")
    definition, problems = read_definition(folder)
    assert definition is not None, problems
    return definition


def _write_sheet(folder: Path, placed: pd.DataFrame) -> None:
    sheet = placed.assign(date="2000-03-01")[["date", "plot", "sample", "response"]]
    sheet.to_csv(folder / "sheets" / "response.csv", index=False)
