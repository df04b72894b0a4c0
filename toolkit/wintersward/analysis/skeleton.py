"""The skeleton of an analysis: random terms and experimental units that the layout fixes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations
from math import prod

import pandas as pd

from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = ["DEMONSTRATION", "Skeleton", "Term", "skeleton_for"]

DEMONSTRATION = (
    "One area of each treatment cannot tell the treatment from its place, so that nothing here "
    "compares them; a valid trial needs several plots of every treatment, dealt out by chance."
)


@dataclass(frozen=True)
class Term:
    """One term of the model of a date.

    Parameters
    ----------
    name : str
        Factors, or columns of plots.csv, joined by ``:``.
    role : {'treatment', 'ground', 'random', 'residual'}
        What it stands for; a ground term is the ground, or it with a treatment term.
    unit_kind : str
        For a treatment, what its levels were drawn for; else what the term stands for.
    df_design : int or None
        Error degrees of freedom of a treatment term when no observation is missing.
    unit : str
        For a treatment, the columns whose levels are its experimental units, joined by ``:``:
        ``plot``, ``whole_plot``, ``block:row``.
    around : tuple of str
        For a treatment, the random terms inside which those units lie, the finest only.
    """

    name: str
    role: str
    unit_kind: str
    df_design: int | None = None
    unit: str = ""
    around: tuple[str, ...] = ()


@dataclass(frozen=True)
class Skeleton:
    """What the layout says about the analysis of one date.

    Parameters
    ----------
    factors : tuple of str
        Factors that are on the ground on that date, whole plots before subplots, row strips
        before column strips.
    unit_column : str
        Columns of plots.csv whose levels are the smallest experimental units, joined by ``:``:
        ``plot``, ``whole_plot``, ``block:row``.
    unit_kind : str
        The same for a reader: plot, whole plot, subplot, row strip.
    random : tuple of str
        Random terms besides the residual.
    terms : tuple of Term
        Every term: treatments, random terms, residual.
    treated : bool
        False before any treatment was on the ground: nothing is compared then.
    grounds : tuple of str
        Short names of the grounds in the order of the definition; empty where there is only one.
    tested : bool
        False for a demonstration: nothing is compared ever.
    """

    factors: tuple[str, ...]
    unit_column: str
    unit_kind: str
    random: tuple[str, ...]
    terms: tuple[Term, ...]
    treated: bool
    grounds: tuple[str, ...] = ()
    tested: bool = True

    @property
    def crossed(self) -> tuple[str, ...]:
        """What the fixed part crosses: the factors, and the ground where there are several."""
        return (*self.factors, "ground") if self.grounds else self.factors

    @property
    def fixed(self) -> str:
        """Fixed part of the model, such as ``cover * aeration`` or ``cover * ground``."""
        return " * ".join(self.crossed)

    def unit_of(self, term: str) -> str:
        """Name the experimental unit of a treatment term for a reader, such as ``whole plot``."""
        return self._term(term).unit_kind

    def unit(self, term: str) -> str:
        """Name the columns whose levels are the experimental units of a treatment term."""
        return self._term(term).unit

    def around(self, term: str) -> tuple[str, ...]:
        """Name the random terms inside which the units of a treatment term lie."""
        return self._term(term).around

    def table(self) -> pd.DataFrame:
        """List the terms: term, role, experimental unit, design degrees of freedom."""
        rows = [(t.name, t.role, t.unit_kind, t.df_design) for t in self.terms]
        frame = pd.DataFrame(rows, columns=["term", "role", "unit_kind", "df_design"])
        return frame.astype({"df_design": "float64"})

    def _term(self, name: str) -> Term:
        roles = ("treatment", "ground")
        return next(t for t in self.terms if t.name == name and t.role in roles)


def skeleton_for(definition: Definition, date: dt.date) -> Skeleton:
    """Derive the skeleton of a date from the layout.

    In a split or a strip plot one factor may be applied after the covers went on. Until then what
    it was drawn for are subsamples: the units of the other factor (whole plots, strips) are the
    experimental units, and their means are analysed. What is observed on the day itself counts
    as before it.

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
    Error degrees of freedom of the complete layouts, for t treatments or combinations of them:

    - completely random, r replicates: t(r - 1);
    - randomised blocks, b blocks: (b - 1)(t - 1);
    - Latin square: (t - 1)(t - 2);
    - split plot, w levels on whole plots and s on subplots: (b - 1)(w - 1) for the first,
      w(b - 1)(s - 1) for the second and for both together;
    - strip plot, r levels on row strips and c on column strips: (b - 1)(r - 1), (b - 1)(c - 1),
      and (b - 1)(r - 1)(c - 1) for both together.

    On g grounds with b blocks each, all of these are g times as many: every treatment term has a
    part of its own on each ground, and the error is what is left among the units within the
    blocks, pooled over the grounds. The grounds stand for themselves: a few are no sample of
    grounds. In a demonstration there is no error.

    References
    ----------
    Gomez K. A., Gomez A. A. (1984) Statistical Procedures for Agricultural Research, 2nd edition,
    Wiley, chapters 2 and 3, and for several grounds chapter 8 (from memory).
    """
    made = _LAYOUTS[definition.layout.kind]
    covers_on = dates_meant(definition.dates, "covers_on")[0]
    found = made(definition, date, date > covers_on)
    return _on_grounds(found, definition) if definition.layout.grounds else found


def _on_grounds(skeleton: Skeleton, definition: Definition) -> Skeleton:
    """Put the treatments on several grounds: each keeps its units, and has them on every ground."""
    grounds = tuple(definition.layout.ground_names)
    many = len(grounds)
    rest = [term for term in skeleton.terms if term.role != "treatment"]
    treatments = [
        replace(term, df_design=None if term.df_design is None else many * term.df_design)
        for term in skeleton.terms
        if term.role == "treatment"
    ]
    own = Term("ground", "ground", "block", many * (definition.layout.blocks - 1), "block")
    each = [replace(term, name=f"{term.name}:ground", role="ground") for term in treatments]
    return replace(skeleton, terms=(*treatments, own, *each, *rest), grounds=grounds)


def _demonstration(definition: Definition, date: dt.date, treated: bool) -> Skeleton:
    found = _plots(definition, None, (), treated)
    return replace(found, tested=False)


def _completely_random(definition: Definition, date: dt.date, treated: bool) -> Skeleton:
    error = _combinations(definition) * (definition.layout.replicates - 1)
    return _plots(definition, error, (), treated)


def _randomised_blocks(definition: Definition, date: dt.date, treated: bool) -> Skeleton:
    error = (definition.layout.blocks - 1) * (_combinations(definition) - 1)
    return _plots(definition, error, ("block",), treated)


def _latin_square(definition: Definition, date: dt.date, treated: bool) -> Skeleton:
    order = _combinations(definition)
    return _plots(definition, (order - 1) * (order - 2), ("row", "column"), treated)


def _plots(
    definition: Definition, error: int | None, random: tuple[str, ...], treated: bool
) -> Skeleton:
    """Make the skeleton of a layout whose every treatment was drawn for single plots."""
    factors = tuple(definition.treatments)
    terms = [
        *(Term(name, "treatment", "plot", error, "plot", random) for name in _crossed(factors)),
        *(Term(name, "random", name) for name in random),
        Term("residual", "residual", "plot"),
    ]
    return Skeleton(factors, "plot", "plot", random, tuple(terms), treated)


def _split_plot(definition: Definition, date: dt.date, treated: bool) -> Skeleton:
    layout = definition.layout
    whole, sub = str(layout.whole_plot), str(layout.subplot)
    blocks, wholes, subs = layout.blocks, _levels(definition, whole), _levels(definition, sub)
    error = (blocks - 1) * (wholes - 1)
    cover = Term(whole, "treatment", "whole plot", error, "whole_plot", ("block",))
    if not _on_ground(definition, sub, date):
        return _coarse(cover, treated)
    error = wholes * (blocks - 1) * (subs - 1)
    terms = (
        cover,
        *(
            Term(name, "treatment", "subplot", error, "plot", ("whole_plot",))
            for name in (sub, f"{whole}:{sub}")
        ),
        Term("block", "random", "block"),
        Term("whole_plot", "random", "whole plot"),
        Term("residual", "residual", "subplot"),
    )
    return Skeleton((whole, sub), "plot", "subplot", ("block", "whole_plot"), terms, treated)


def _strip_plot(definition: Definition, date: dt.date, treated: bool) -> Skeleton:
    layout = definition.layout
    factors = {"row": str(layout.row_strips), "column": str(layout.column_strips)}
    free = {side: _levels(definition, name) - 1 for side, name in factors.items()}
    strips = {
        side: Term(
            name,
            "treatment",
            f"{side} strip",
            (layout.blocks - 1) * free[side],
            f"block:{side}",
            ("block",),
        )
        for side, name in factors.items()
    }
    there = [side for side, name in factors.items() if _on_ground(definition, name, date)]
    # Before any treatment the plots' own units do not matter: nothing is compared.
    begun = there or [side for side, name in factors.items() if not _later(definition, name)]
    if len(begun) == 1:
        return _coarse(strips[begun[0]], treated)
    random = ("block", "block:row", "block:column")
    error = (layout.blocks - 1) * free["row"] * free["column"]
    terms = (
        *strips.values(),
        Term(":".join(factors.values()), "treatment", "plot", error, "plot", random[1:]),
        *(Term(name, "random", kind) for name, kind in zip(random, _STRIPS, strict=True)),
        Term("residual", "residual", "plot"),
    )
    return Skeleton(tuple(factors.values()), "plot", "plot", random, terms, treated)


_STRIPS = ("block", "row strip", "column strip")
_LAYOUTS = {
    "completely random": _completely_random,
    "randomised blocks": _randomised_blocks,
    "latin square": _latin_square,
    "split plot": _split_plot,
    "strip plot": _strip_plot,
    "demonstration": _demonstration,
}


def _coarse(only: Term, treated: bool) -> Skeleton:
    """Make the skeleton of the days on which one factor alone is on the ground, in blocks."""
    terms = (
        only,
        Term("block", "random", "block"),
        Term("residual", "residual", only.unit_kind),
    )
    return Skeleton((only.name,), only.unit, only.unit_kind, only.around, terms, treated)


def _later(definition: Definition, factor: str) -> bool:
    return definition.treatments[factor].applied is not None


def _on_ground(definition: Definition, factor: str, date: dt.date) -> bool:
    begins = definition.treatments[factor].applied or "covers_on"
    return date > dates_meant(definition.dates, begins)[0]


def _levels(definition: Definition, factor: str) -> int:
    return len(definition.treatments[factor].levels)


def _combinations(definition: Definition) -> int:
    return prod(_levels(definition, name) for name in definition.treatments)


def _crossed(factors: tuple[str, ...]) -> Iterator[str]:
    """List main effects and interactions, lower orders first."""
    for order in range(1, len(factors) + 1):
        yield from (":".join(chosen) for chosen in combinations(factors, order))
