"""Simulated trials: the layout of the example with numbers drawn from known variances."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.analysis import Skeleton, TrialModel, skeleton_for
from wintersward.trial import Definition, read_definition

__all__ = ["ALPHA", "Case", "definition", "draw", "model_of", "over", "rejected", "told"]

Floats = NDArray[np.float64]
ALPHA = 0.05
SEED = 20260119
_TEXT = """\
title: Simulated
question: Does it differ?
units: metric
people: [{name: A. Reader, role: agent, initials: ar}]
site: {name: Nowhere, country: US, turf: {species: [Poa pratensis]}}
dates:
  covers_on: 2026-01-19
  covers_off: 2026-03-09
  before: 2026-03-24
  aeration: 2026-03-25
  after: 2026-04-04
treatments:
  cover:
    control: open
    levels: {open: {label: open}, fleece: {label: fleece}, woven: {label: woven}}
SECOND
layout:
  LAYOUT
  plot_size: [2 m, 2 m]
  alley: 1 m
  edge_left_out: 0.1 m
  seed: 20260119
measures: {green: {from: sheet, unit: "%", dates: [before, after]}}
analysis: {primary: {measure: green, on: before, compare: [fleece, open], matters_from: 8 points}}
"""
_SECOND = """\
  aeration:
    applied: aeration
    control: solid
    levels: {solid: {label: solid}, hollow: {label: hollow}}"""
_LAYOUTS = {
    "randomised blocks": "kind: randomised blocks\n  blocks: 6",
    "split plot": "kind: split plot\n  whole_plot: cover\n  subplot: aeration\n  blocks: 6",
}


@cache
def definition(kind: str) -> Definition:
    """Write and read the definition of a layout."""
    text = _TEXT.replace("SECOND", _SECOND if kind == "split plot" else "")
    with TemporaryDirectory() as folder:
        (Path(folder) / "trial.yaml").write_text(text.replace("LAYOUT", _LAYOUTS[kind]))
        made, problems = read_definition(Path(folder))
    assert made is not None, problems
    return made


@dataclass(frozen=True)
class Case:
    """One way in which simulated trials come about.

    Parameters
    ----------
    kind : str
        Layout.
    on : str
        Date of the definition: before or after the subplot factor was applied.
    pair : (str, str)
        Treatments compared.
    sd : (float, float, float)
        Standard deviations of blocks, whole plots (or plots), subplots.
    missing : int
        Plots lost at random in each trial.
    """

    kind: str
    on: str
    pair: tuple[str, str]
    sd: tuple[float, float, float]
    missing: int

    def __str__(self) -> str:
        spread = ", ".join(f"{value:g}" for value in self.sd)
        return f"{self.kind}, {self.pair[0]} - {self.pair[1]}, sd {spread}, {self.missing} lost"


@cache
def _plots(kind: str) -> pd.DataFrame:
    made = definition(kind)
    tines = ["solid", "hollow"] if kind == "split plot" else [""]
    rows = [
        (str(b), f"{b}{cover}" if kind == "split plot" else "", cover, tine)
        for b in range(1, 7)
        for cover in made.treatments["cover"].levels
        for tine in tines
    ]
    plots = pd.DataFrame(rows, columns=["block", "whole_plot", "cover", "aeration"])
    plots.insert(0, "unit_name", [str(i) for i in range(len(plots))])
    plots["plot"] = plots["unit_name"]
    for name, factor in made.treatments.items():
        plots[name] = pd.Categorical(plots[name], categories=list(factor.levels))
    return plots


def draw(case: Case, rng: np.random.Generator, trials: int, difference: float = 0.0) -> Floats:
    """Draw values of all plots, (trials, plots); `difference` is added to the left treatment."""
    plots = _plots(case.kind)
    value = 60 + rng.normal(0, case.sd[2], (trials, len(plots)))
    for column, spread in (("block", case.sd[0]), ("whole_plot", case.sd[1])):
        codes = pd.factorize(plots[column])[0]
        if codes.max():
            value += rng.normal(0, spread, (trials, codes.max() + 1))[:, codes]
    if case.kind == "randomised blocks":
        value += rng.normal(0, case.sd[1], value.shape)
    factor = definition(case.kind).factor_of(case.pair[0])
    return value + difference * (plots[factor] == case.pair[0]).to_numpy()


def model_of(case: Case, value: Floats, lost: Sequence[int] = ()) -> TrialModel:
    """Set up the analysis of one trial from the values of its plots, without the lost ones."""
    made = definition(case.kind)
    day = made.dates[case.on]
    assert isinstance(day, dt.date)
    skeleton: Skeleton = skeleton_for(made, day)
    drawn = _plots(case.kind).assign(value=value, n=1, unit_kind=skeleton.unit_kind)
    drawn = drawn.drop(index=list(lost))
    if skeleton.unit_column == "whole_plot":
        keys = ["whole_plot", "block", *skeleton.factors]
        drawn = drawn.groupby(keys, observed=True, as_index=False)["value"].mean()
        drawn["unit_name"] = drawn["whole_plot"]
    return TrialModel("green", day, skeleton, drawn.reset_index(drop=True), 1 - ALPHA)


def over(trials: int, one: Callable[[np.random.Generator], float | bool]) -> np.ndarray:
    """Do one thing for many trials, each with a stream of its own, on all processors."""
    cores = os.cpu_count() or 1
    seeds = np.random.SeedSequence(SEED).spawn(cores * 4)
    sizes = [len(part) for part in np.array_split(np.arange(trials), len(seeds))]
    with ProcessPoolExecutor(cores) as pool:
        parts = pool.map(_several, [one] * len(seeds), seeds, sizes)
        return np.concatenate(list(parts))


def _several(
    one: Callable[[np.random.Generator], float | bool], seed: np.random.SeedSequence, size: int
) -> np.ndarray:
    rng = np.random.default_rng(seed)
    return np.array([one(rng) for _ in range(size)], dtype=float)


def rejected(found: np.ndarray) -> tuple[float, float]:
    """Give the share of rejections and its Monte Carlo standard error."""
    share = float(found.mean())
    return share, float(np.sqrt(share * (1 - share) / len(found)))


def told(what: str, share: float, error: float, trials: int) -> None:
    """Print one line of the table of validity."""
    print(f"| {what} | {100 * share:.2f} % | {100 * error:.2f} | {trials} |")
