"""A planned comparison: what its layout leaves to judge it by, whatever the number of blocks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from math import factorial, isfinite, prod, sqrt

import pandas as pd

from wintersward.analysis.arrangements import (
    deal_count,
    redraw_count,
    smallest_share,
    square_count,
)
from wintersward.errors import WinterswardError, listed

__all__ = ["COMPARED", "LAYOUTS", "Plan", "checked", "spread"]

LAYOUTS = ("completely random", "randomised blocks", "latin square", "split plot", "strip plot")
COMPARED = ("first", "second", "first within second", "second within first")
_PURPOSES = ("difference", "equivalence")
_TESTS = ("pair", "overall")


@dataclass(frozen=True)
class Plan:
    """A planned comparison, but for the number of blocks.

    Parameters
    ----------
    layout, compare, test, alpha, purpose, comparisons, lost, seed
        As in `wintersward.analysis.power.power`.
    treatments : (int, int)
        Numbers of treatments; the second is 1 where there is one factor.
    sd : float [unit of the measure]
        Standard deviation of the experimental units of the compared treatments.
    within_sd : float [unit of the measure]
        Standard deviation of the subplots in a whole plot, where both stand in the error.
    difference, margin, true_difference : float [unit of the measure]
        What is to be seen.
    grounds : int
        Number of grounds, each with as many blocks.
    """

    layout: str
    treatments: tuple[int, int]
    compare: str
    test: str
    sd: float
    within_sd: float
    difference: float
    alpha: float
    purpose: str
    margin: float
    true_difference: float
    comparisons: int
    lost: int
    seed: int
    grounds: int = 1

    @property
    def each(self) -> float:
        """Error rate at which each comparison is tested."""
        return self.alpha / self.comparisons

    @property
    def levels(self) -> int:
        """Number of treatments that are compared with one another."""
        return self.treatments[self.compare.startswith("second")]

    @property
    def step(self) -> int:
        """Smallest number of blocks that can be added."""
        return prod(self.treatments) if self.layout == "latin square" else 1

    @property
    def mixed(self) -> bool:
        """Whether the error is made of whole plots and subplots both."""
        return self.layout == "split plot" and self.compare == "first within second"

    def units(self, blocks: int) -> int:
        """Count the experimental units of each compared treatment."""
        blocks *= self.grounds
        first, second = self.treatments
        if "within" in self.compare or self.layout == "strip plot":
            return blocks
        if self.compare == "first":
            return blocks if self.layout == "split plot" else blocks * second
        return blocks * first

    def df(self, blocks: int) -> int:
        """Count the error degrees of freedom of the complete layout.

        Notes
        -----
        Treatments have a part of their own on each of several grounds, so that the error is what
        is left within the grounds: as many times that of one. Squares of their own rows and
        columns leave (t - 1)(k (t - 1) - 1) for k of them.
        """
        return self.grounds * self._df_on_one(blocks)

    def _df_on_one(self, blocks: int) -> int:
        (first, second), every = self.treatments, prod(self.treatments)
        if self.layout == "completely random":
            return every * (blocks - 1)
        if self.layout == "latin square":
            return (every - 1) * (blocks // every * (every - 1) - 1)
        if self.layout == "split plot" and self.compare.startswith("second"):
            return first * (blocks - 1) * (second - 1)
        own = self.levels if self.layout in ("split plot", "strip plot") else every
        return (blocks - 1) * (own - 1)

    def smallest_p(self, blocks: int) -> float:
        """Give the smallest p that a randomisation test of the comparisons can give."""
        blocks *= self.grounds
        (first, second), every = self.treatments, prod(self.treatments)
        many = self.comparisons + 1
        # What only gives the treatments other names leaves every distance, or the largest of
        # them, as it is.
        swaps = 2 if many == 2 else factorial(self.comparisons)
        if self.layout == "latin square":
            inside = every // self.levels if "within" not in self.compare else 1
            alike = swaps * factorial(inside) ** many * factorial(every - many * inside)
            return smallest_share(square_count(every) ** (blocks // every), alike)
        if self.layout == "strip plot":
            alike = swaps * factorial(self.levels - many)
            return smallest_share(redraw_count(self.levels, blocks), alike)
        inside = "within" in self.compare
        other = 1 if inside else (first if self.compare == "second" else second)
        if self.layout == "completely random":
            return smallest_share(deal_count(many, [blocks] * other), swaps)
        groups = 1 if self.layout == "split plot" and self.compare == "first" else other
        return smallest_share(redraw_count(many, blocks * groups), swaps)


def checked(plan: Plan) -> Plan:
    """Refuse a question that cannot be answered.

    Raises
    ------
    WinterswardError
        With everything that is wrong in it.
    """
    problems = list(_problems(plan))
    if problems:
        raise WinterswardError(problems)
    return plan


def _problems(plan: Plan) -> Iterator[str]:
    for name, allowed in (("layout", LAYOUTS), ("compare", COMPARED), ("test", _TESTS)):
        if getattr(plan, name) not in allowed:
            yield f"{name}: found '{getattr(plan, name)}'; allowed: {listed(allowed)}"
    if plan.purpose not in _PURPOSES:
        yield f"purpose: found '{plan.purpose}'; allowed: {listed(_PURPOSES)}"
    for name in (f.name for f in fields(Plan) if f.type == "float"):
        needed = name not in ("within_sd", "difference", "margin") or _asked(plan, name)
        if needed and not isfinite(getattr(plan, name)):
            rule = "variances of an earlier run" if name == "within_sd" else "a number"
            yield f"{'sd' if name == 'within_sd' else name}: found none; allowed: {rule}"
    if not plan.sd > 0:
        yield f"sd: found {plan.sd:g}; allowed: a number over 0"
    if not 0 < plan.alpha < 0.5:
        yield f"alpha: found {plan.alpha:g}; allowed: between 0 and 0.5"
    if plan.purpose == "equivalence" and not plan.margin > 0:
        yield f"margin: found {plan.margin:g}; allowed: a number over 0"
    if not 1 <= plan.comparisons < max(plan.levels, 2):
        rule = "1, or up to one less than the treatments"
        yield f"comparisons: found {plan.comparisons}; allowed: {rule}"
    if plan.lost < 0:
        yield f"lost: found {plan.lost}; allowed: 0 or more"
    yield from _unfitting(plan)


def _asked(plan: Plan, name: str) -> bool:
    """Tell whether a number has to be there."""
    if name == "within_sd":
        return plan.mixed
    return name == ("margin" if plan.purpose == "equivalence" else "difference")


def _unfitting(plan: Plan) -> Iterator[str]:
    """Say what does not go together."""
    first, second = plan.treatments
    if first < 2 or second < 1 or (plan.compare != "first" and second < 2):
        rule = "two or more, and for a second factor two numbers"
        yield f"treatments: found {listed(plan.treatments)}; allowed: {rule}"
    if plan.layout in ("split plot", "strip plot") and second < 2:
        yield f"treatments: found one number; allowed: two for a {plan.layout}"
    if plan.layout == "strip plot" and "within" in plan.compare:
        yield "compare: a comparison within strips has three errors in it; no power is given"
    if plan.layout == "latin square" and prod(plan.treatments) < 3:
        yield "treatments: a Latin square of two leaves no error; allowed: three or more"
    single = plan.purpose == "difference" and plan.comparisons == 1
    if plan.test == "overall" and (not single or plan.lost or plan.mixed):
        yield "test: overall goes with one difference in one stratum and no lost units"
    if plan.grounds > 1:
        if plan.layout in ("completely random", "latin square"):
            yield f"grounds: found {plan.grounds}; allowed: 1 for a layout without blocks"
        if plan.lost or plan.mixed:
            yield "grounds: several go with no lost units, and with one error in a comparison"
    if plan.grounds < 1:
        yield f"grounds: found {plan.grounds}; allowed: 1 or more"
    if plan.lost and plan.mixed:
        yield "lost: not together with whole plots compared within one treatment of the subplots"


def spread(
    shape: tuple[str, tuple[int, int], str],
    sd: float | None,
    cv: float | None,
    mean: float | None,
    variances: Mapping[str, float] | pd.DataFrame | None,
    unit: str | None,
) -> tuple[float, float]:
    """Find the standard deviation that the comparison is judged by.

    Parameters
    ----------
    shape : (str, (int, int), str)
        Layout, numbers of treatments, and what is compared.
    sd, cv, mean, variances, unit
        As in `wintersward.analysis.power.power`.

    Returns
    -------
    tuple of float
        Of the units of the compared treatments, and of the subplots in a whole plot (NaN where
        only one of them matters) [unit of the measure].

    Raises
    ------
    WinterswardError
        Where not exactly one source is given, or a term is not among the variances.
    """
    given = [
        name for name, it in (("sd", sd), ("cv", cv), ("variances", variances)) if it is not None
    ]
    if len(given) != 1:
        raise WinterswardError(
            f"found {listed(given) or 'none of them'}; allowed: one of sd, cv and variances"
        )
    if sd is not None:
        return float(sd), float("nan")
    if cv is not None:
        return float(cv) * (1.0 if mean is None else abs(mean) / 100), float("nan")
    return _from_variances(shape, _by_term(variances), unit)


def _by_term(variances: Mapping[str, float] | pd.DataFrame | None) -> dict[str, float]:
    if isinstance(variances, pd.DataFrame):
        if variances["term"].duplicated().any():
            raise WinterswardError("variances: found several measures or dates; allowed: one")
        pairs: Sequence[tuple[object, float]] = list(
            zip(variances["term"], variances["variance"], strict=True)
        )
        return {str(term): float(value) for term, value in pairs}
    return {str(term): float(value) for term, value in (variances or {}).items()}


def _from_variances(
    shape: tuple[str, tuple[int, int], str], by_term: Mapping[str, float], unit: str | None
) -> tuple[float, float]:
    """Put the variance of a unit's mean together from its terms."""
    layout, (first, second), compare = shape
    term = unit
    if unit is None:
        whole = layout == "split plot" and compare.startswith("first") and "whole_plot" in by_term
        term = "whole_plot" if whole else "residual"
        if layout == "strip plot":
            raise WinterswardError(
                f"unit: found none; allowed for a strip plot: one of {listed(by_term)}"
            )
    for name in (str(term), "residual"):
        if name not in by_term:
            raise WinterswardError(f"variances: found {listed(by_term)}; {name} is needed too")
    if term == "residual":
        return sqrt(by_term["residual"]), float("nan")
    own, rest = by_term[str(term)], by_term["residual"]
    if compare == "first within second":
        return sqrt(own + rest), sqrt(rest)
    inside = second if compare.startswith("first") else first
    return sqrt(own + rest / inside), float("nan")
