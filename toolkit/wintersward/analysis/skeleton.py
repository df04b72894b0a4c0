"""The skeleton of an analysis: random terms and experimental units that the layout fixes."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import pandas as pd

from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = ["Skeleton", "Term", "skeleton_for"]


@dataclass(frozen=True)
class Term:
    """One term of the model of a date.

    Parameters
    ----------
    name : str
        Factors, or columns of plots.csv, joined by ``:``.
    role : {'treatment', 'random', 'residual'}
        What it stands for.
    unit_kind : str
        For a treatment, what its levels were drawn for; else what the term stands for.
    df_design : int or None
        Error degrees of freedom of a treatment term when no observation is missing.
    """

    name: str
    role: str
    unit_kind: str
    df_design: int | None = None


@dataclass(frozen=True)
class Skeleton:
    """What the layout says about the analysis of one date.

    Parameters
    ----------
    factors : tuple of str
        Factors that are on the ground on that date, whole plots before subplots.
    unit_column : str
        Column of plots.csv that names the experimental units: ``plot`` or ``whole_plot``.
    unit_kind : str
        The same for a reader: plot, whole plot or subplot.
    random : tuple of str
        Random terms besides the residual.
    terms : tuple of Term
        Every term: treatments, random terms, residual.
    treated : bool
        False before any treatment was on the ground: nothing is compared then.
    """

    factors: tuple[str, ...]
    unit_column: str
    unit_kind: str
    random: tuple[str, ...]
    terms: tuple[Term, ...]
    treated: bool

    @property
    def fixed(self) -> str:
        """Fixed part of the model, such as ``cover * aeration``."""
        return " * ".join(self.factors)

    def unit_of(self, term: str) -> str:
        """Name the experimental unit of a treatment term."""
        return next(t.unit_kind for t in self.terms if t.name == term)

    def table(self) -> pd.DataFrame:
        """List the terms: term, role, experimental unit, design degrees of freedom."""
        rows = [(t.name, t.role, t.unit_kind, t.df_design) for t in self.terms]
        frame = pd.DataFrame(rows, columns=["term", "role", "unit_kind", "df_design"])
        return frame.astype({"df_design": "float64"})


def skeleton_for(definition: Definition, date: dt.date) -> Skeleton:
    """Derive the skeleton of a date from the layout.

    Until a subplot factor is applied its subplots are subsamples: whole plots are the
    experimental units, and their means are analysed. After that day the subplots are units
    within whole plots. What is observed on the day itself counts as before.

    Parameters
    ----------
    definition : Definition
        The trial.
    date : date
        Day of the observations.

    Returns
    -------
    Skeleton

    Notes
    -----
    Error degrees of freedom of b complete blocks, Gomez and Gomez (1984), Statistical
    Procedures for Agricultural Research, chapters 2 and 3 (from memory): (b - 1)(t - 1) for t
    treatments in blocks; whole-plot factor with w levels (b - 1)(w - 1); subplot factor with
    s levels and the interaction w(b - 1)(s - 1).
    """
    covers_on = dates_meant(definition.dates, "covers_on")[0]
    if definition.layout.kind == "split plot":
        return _split_plot(definition, date, covers_on)
    factors = tuple(definition.treatments)
    levels = 1
    for factor in factors:
        levels *= len(definition.treatments[factor].levels)
    error = (definition.layout.blocks - 1) * (levels - 1)
    treatments = [Term(name, "treatment", "plot", error) for name in _crossed(factors)]
    rest = [Term("block", "random", "block"), Term("residual", "residual", "plot")]
    return Skeleton(factors, "plot", "plot", ("block",), (*treatments, *rest), date > covers_on)


def _split_plot(definition: Definition, date: dt.date, covers_on: dt.date) -> Skeleton:
    layout, factors = definition.layout, definition.treatments
    whole, sub = str(layout.whole_plot), str(layout.subplot)
    blocks, wholes, subs = layout.blocks, len(factors[whole].levels), len(factors[sub].levels)
    df_whole, df_sub = (blocks - 1) * (wholes - 1), wholes * (blocks - 1) * (subs - 1)
    cover = Term(whole, "treatment", "whole plot", df_whole)
    block = Term("block", "random", "block")
    applied = dates_meant(definition.dates, factors[sub].applied or "covers_on")[0]
    if date <= applied:
        residual = Term("residual", "residual", "whole plot")
        return Skeleton(
            (whole,),
            "whole_plot",
            "whole plot",
            ("block",),
            (cover, block, residual),
            date > covers_on,
        )
    terms = (
        cover,
        Term(sub, "treatment", "subplot", df_sub),
        Term(f"{whole}:{sub}", "treatment", "subplot", df_sub),
        block,
        Term("whole_plot", "random", "whole plot"),
        Term("residual", "residual", "subplot"),
    )
    return Skeleton((whole, sub), "plot", "subplot", ("block", "whole_plot"), terms, True)


def _crossed(factors: tuple[str, ...]) -> list[str]:
    """List main effects and interactions, lower orders first."""
    names: list[tuple[str, ...]] = [()]
    for factor in factors:
        names += [(*name, factor) for name in names]
    return [":".join(name) for name in sorted(names[1:], key=len)]
