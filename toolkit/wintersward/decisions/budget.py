"""The partial budget of each treatment against its control: ranges, futures, break-even."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.analysis.decision_columns_budget import BUDGET
from wintersward.decisions.break_even import life_needed, worth_needed
from wintersward.decisions.budget_estimates import Found, found_for, sought
from wintersward.decisions.budget_lines import Ends, Gain, Line, added, line_of
from wintersward.decisions.futures import DRAWS, Spread
from wintersward.decisions.rows import framed
from wintersward.study import Trial
from wintersward.trial.cost_checks import worth_step
from wintersward.trial.diary_costs import BUDGET_PARTS, Costs
from wintersward.units import reader_unit, to_si

__all__ = ["ENTRIES_ALONE", "WITH_ESTIMATE", "Budget", "budget_tables"]

Floats = NDArray[np.float64]
Tables = Mapping[str, pd.DataFrame]
Row = dict[str, Any]

ENTRIES_ALONE, WITH_ESTIMATE = "entries alone", "with the trial's estimate"
"""What a row of the table ``budget`` counts."""

_DESCRIBED = "a demonstration: its entries are added up, and nothing that it found is counted"
_NAN = float("nan")


@dataclass(frozen=True)
class Budget:
    """The partial budget of one treatment.

    Parameters
    ----------
    treatment : str
        Level of a factor.
    lines : tuple of Line
        Entries of the diary.
    gains : tuple of Gain
        What is counted of the trial's estimates.
    seed : int
        Of the futures.
    """

    treatment: str
    lines: tuple[Line, ...]
    gains: tuple[Gain, ...]
    seed: int

    @property
    def bought(self) -> bool:
        """Whether what is spread over seasons surely costs more than it spares of the kind."""
        spread = [line for line in self.lines if line.seasons is not None]
        paid = added([line.price for line in spread if line.sign < 0])
        spared = added([line.price for line in spread if line.sign > 0])
        return bool(spread) and paid[0] > spared[1]

    def part(self, name: str) -> Ends:
        """Add up one of the four parts of one season: lowest, highest."""
        return added([line.season for line in self.lines if line.part == name])

    @property
    def gain(self) -> Ends:
        """Add up what the estimates are worth between the ends of their intervals."""
        return added([one.season for one in self.gains])

    def net(self, counting: str) -> Ends:
        """Give the net change at the worst and at the best of all ranges together."""
        ends = [self.gain] if counting == WITH_ESTIMATE else []
        for line in self.lines:
            low, high = line.season
            ends.append((low, high) if line.sign > 0 else (-high, -low))
        return added(ends)

    def futures(self, counting: str) -> Floats:
        """Draw the net change of one season."""
        net = np.zeros(DRAWS)
        for line in self.lines:
            net += line.sign * line.drawn(self.seed)
        for one in self.gains if counting == WITH_ESTIMATE else ():
            net += one.drawn(self.seed)
        return net


def budget_tables(trial: Trial, tables: Tables) -> dict[str, pd.DataFrame]:
    """Make the partial budget of every treatment that the diary tells costs of.

    Parameters
    ----------
    trial : Trial
        The study.
    tables : mapping of str to DataFrame
        ``days_gained`` and ``differences`` of the run, in SI; not looked at in a demonstration.

    Returns
    -------
    dict of str to DataFrame
        ``budget_items``, ``budget``, ``budget_estimates`` and ``break_even``, with the columns of
        `wintersward.analysis.decision_columns_budget.BUDGET`, money in the currency of the diary
        and of one season on the whole area. Empty where the diary tells no costs, and until the
        primary question has its data. Of a demonstration nothing that it found is counted.

    Notes
    -----
    The net change is added income and reduced costs, less added costs and reduced income. What
    lasts for several seasons is spread over them in equal parts, without interest. A future draws
    every range evenly and by itself, and what the trial found by Student's t about the estimate.
    """
    costs, rows = trial.diary.costs, _Rows([], [], [], [])
    if costs is None or not trial.ready:
        return rows.tables()
    named = {item.treatment for item in costs.items}
    levels = [level for factor in trial.factors.values() for level in factor.levels]
    for number, treatment in enumerate(levels, 1):
        if treatment not in named:
            continue
        found = []
        if trial.definition.layout.tested:
            found = [found_for(trial, tables, treatment, of) for of in sought(trial)]
        _one(trial, costs, (number, treatment), found, rows)
    return rows.tables()


@dataclass(frozen=True)
class _Rows:
    """Rows of the four tables."""

    items: list[Row]
    budgets: list[Row]
    estimates: list[Row]
    even: list[Row]

    def tables(self) -> dict[str, pd.DataFrame]:
        made = (self.items, self.budgets, self.estimates, self.even)
        return {n: framed(BUDGET[n], rows) for n, rows in zip(_NAMES, made, strict=True)}


_NAMES = ("budget_items", "budget", "budget_estimates", "break_even")


def _one(
    trial: Trial, costs: Costs, named: tuple[int, str], found: list[Found], rows: _Rows
) -> None:
    """Add the rows of one treatment."""
    number, treatment = named
    told = {"treatment": treatment, "currency": costs.currency}
    lines = []
    for entry, item in enumerate(costs.items, 1):
        if item.treatment == treatment:
            lines.append(line := line_of(item, costs.area, entry))
            source = item.source or ""
            name = {"list": "items", "entry": entry, "kind": item.kind, "what": item.what}
            rows.items.append({**told, **name, "source": source, **_line_row(line)})
    gains = _gains(trial, costs, number, found)
    counted = {gain.number: gain.season for gain in gains}
    for entry, worth in enumerate(costs.worth, 1):
        name = {"list": "worth", "entry": entry, "kind": worth.of, "what": worth.why}
        row = _line_row(Line("added income", (worth.each,)))
        row |= _flat({"season": counted.get(entry, (_NAN, _NAN))})
        rows.items.append({**told, **name, "source": "", **row})
    budget = Budget(treatment, tuple(lines), tuple(gains), trial.definition.layout.seed)
    for counting in (ENTRIES_ALONE, WITH_ESTIMATE) if gains else (ENTRIES_ALONE,):
        rows.budgets.append(_budget_row(trial, costs, budget, counting, found))
    rows.estimates.extend(_estimate_row(treatment, one, gains) for one in found)
    even = _even_rows(trial, costs, budget, number, found)
    rows.even.extend({**told, **row} for row in even)


def _line_row(line: Line) -> Row:
    ends = {"price": line.price, "seasons": line.seasons or (_NAN, _NAN), "season": line.season}
    return {"part": line.part, **_flat(ends)}


def _flat(ends: Mapping[str, Ends]) -> Row:
    """Name both ends of every range."""
    return {
        f"{name}_{side}": value
        for name, both in ends.items()
        for side, value in zip(("low", "high"), both, strict=True)
    }


def _gains(trial: Trial, costs: Costs, number: int, found: list[Found]) -> list[Gain]:
    """Pay for what the trial found, where it is worth something and has an error."""
    made = []
    for entry, worth in enumerate(costs.worth, 1):
        for one in found:
            if one.of != worth.of or one.estimate is None or not one.estimate.carried:
                continue
            step = worth_step(worth, trial.definition) or 1.0
            sign = -1 if worth.gain == "less" else 1
            made.append(Gain(worth.each, step, sign, one.estimate, entry, number))
    return made


def _budget_row(
    trial: Trial, costs: Costs, budget: Budget, counting: str, found: list[Found]
) -> Row:
    factor = trial.definition.factor_of(budget.treatment)
    counted = counting == WITH_ESTIMATE
    parts = {name.replace(" ", "_"): budget.part(name) for name in BUDGET_PARTS}
    parts["gain"] = budget.gain if counted else (0.0, 0.0)
    least, most = budget.net(counting)
    futures = budget.futures(counting)
    spread = Spread.of(futures)
    return {
        "factor": factor,
        "treatment": budget.treatment,
        "control": trial.factors[factor].control,
        "counting": counting,
        "currency": costs.currency,
        "area": costs.area,
        **_flat(parts),
        "least": least,
        "most": most,
        "net_low": spread.low,
        "net_median": spread.median,
        "net_high": spread.high,
        "above_zero": 100 * float((futures > 0).mean()),
        "draws": DRAWS,
        "seed": budget.seed,
        "text": _told(trial, costs, budget, counted, found),
    }


def _told(trial: Trial, costs: Costs, budget: Budget, counted: bool, found: list[Found]) -> str:
    """Say what is counted of the trial's estimates, and what not, and why."""
    if not trial.definition.layout.tested:
        return _DESCRIBED
    if counted:
        of = dict.fromkeys(costs.worth[gain.number - 1].of for gain in budget.gains)
        return "counted: " + " and ".join(of)
    if not costs.worth:
        return "the diary says of nothing that the trial found what it is worth"
    paid = {worth.of for worth in costs.worth}
    why = [f"{one.of}: {one.text}" for one in found if one.of in paid and not _carried(one)]
    return "; ".join(why) or "what the trial found is left out"


def _carried(one: Found) -> bool:
    return one.estimate is not None and one.estimate.carried


def _estimate_row(treatment: str, one: Found, gains: list[Gain]) -> Row:
    held = one.estimate
    numbers = ("value", "se", "df", "lower", "upper")
    value, se, df, lower, upper = (getattr(held, n) if held else _NAN for n in numbers)
    return {
        "treatment": treatment,
        "of": one.of,
        "measure": one.measure,
        "estimate": value,
        "se": se,
        "df": df,
        "lower": lower,
        "upper": upper,
        "unit": one.unit,
        "says": held.says if held else "",
        "role": held.role if held else "",
        "carried": "yes" if any(gain.estimate is held for gain in gains) else "no",
        "text": one.text,
    }


def _even_rows(
    trial: Trial, costs: Costs, budget: Budget, number: int, found: list[Found]
) -> list[Row]:
    """Say what a step would have to be worth, and how long what was bought would have to last."""
    alone = budget.futures(ENTRIES_ALONE)
    rows = []
    for one in found:
        if one.estimate is None or not np.isfinite(one.estimate.value):
            continue
        paid = [worth for worth in costs.worth if worth.of == one.of]
        step = worth_step(paid[0], trial.definition) if paid else _usual_step(trial, one)
        sign = -1 if paid and paid[0].gain == "less" else 1
        gain = Gain((0.0, 0.0), step or 1.0, sign, one.estimate, 0, number)
        rows.append({"unit": one.unit, **worth_needed(alone, gain, budget.seed, one.of)})
    counting = WITH_ESTIMATE if budget.gains else ENTRIES_ALONE
    if budget.bought:
        life = life_needed(budget.futures(counting), budget.lines, budget.seed)
        rows.append({"unit": "season", **life, "counting": counting})
    return rows


def _usual_step(trial: Trial, one: Found) -> float:
    """Take one day, or one of what the reader sees the measure in."""
    kind = trial.measure(one.measure).difference_kind
    if one.unit == "day" or kind == "bare":
        return 1.0
    return to_si(1.0, reader_unit(kind, trial.definition.units), difference=True)
