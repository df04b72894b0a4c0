"""The partial budget on the page: the net change, what it is made of, where it breaks even."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from markupsafe import Markup

from wintersward.report.breaking_even import even_words
from wintersward.report.money import area_text, money_step, money_text, per_area
from wintersward.report.numbers import decimals_for, level_text, listed_words, text
from wintersward.report.said import Said, Sentence, number, row_at, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import in_sentence, level_label, measure_view
from wintersward.trial.schema import Definition

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["budget_context", "budget_words", "items_table", "parts_table", "shown_rows"]

WITH_ESTIMATE = "with the trial's estimate"

_PARTS = {
    "added_cost": "added costs",
    "reduced_income": "reduced income",
    "reduced_cost": "reduced costs",
    "added_income": "added income",
    "gain": "what the trial found, at what it is worth",
}
_SPENT = ("added_cost", "reduced_income")
# How the table says what the heading of its list says on the page.
_LEFT_OUT = ": not counted in the futures"


def budget_context(page: Page) -> dict[str, Any]:
    """Fill the part on money; it says in one sentence why there is nothing of it.

    Parameters
    ----------
    page : Page
        Its tables ``budget``, ``budget_items``, ``budget_estimates`` and ``break_even``.
    """
    definition = page.definition
    budget, items = page.tables.get("budget"), page.tables.get("budget_items")
    if budget is None or items is None or budget.empty:
        why = (
            "Money is told once the comparison no longer waits."
            if page.waiting
            else "The diary tells no costs, so this report says nothing of money."
        )
        return {"budget": {"why": why}}
    found, even = page.tables.get("budget_estimates"), page.tables.get("break_even")
    return {
        "budget": {
            "why": "",
            "tested": definition.layout.tested,
            "words": budget_words(budget, definition),
            "counted": [] if found is None else estimate_words(found, definition, "yes"),
            "uncounted": [] if found is None else estimate_words(found, definition, "no"),
            "picture": page.figure("budget"),
            "parts": parts_table(budget, definition),
            "even": [] if even is None else even_words(even, items, definition),
            "entries": items_table(items, definition),
            "whole": _bought_whole(items, definition),
            "draws": number("budget", budget, 0, "draws", f"{int(budget['draws'].iloc[0]):,}"),
            "seed": number("budget", budget, 0, "seed", str(int(budget["seed"].iloc[0]))),
            "twice": twice_words(items, found),
        }
    }


def twice_words(items: pd.DataFrame, found: pd.DataFrame | None) -> str:
    """Warn of entries that may pay for one thing twice; empty where nothing suggests it.

    Parameters
    ----------
    items, found : DataFrame
        Tables ``budget_items`` and ``budget_estimates``; the second may not be there.
    """
    carried = set() if found is None else set(found.loc[found["carried"] == "yes", "of"])
    kinds, said = set(items["kind"]), list[str]()
    if "event kept" in kinds and carried:
        said.append("an event that is kept and the days or points that were gained")
    if "sod replaced" in kinds and "primary" in carried:
        said.append("sod that need not be replaced and the points that were gained")
    if {"days gained", "primary"} <= carried:
        said.append("days gained and what was gained on the date of the main question")
    if not said:
        return ""
    told = "; ".join(said)
    return f"{told[0].upper()}{told[1:]}: each may be one thing counted twice. Look at the entries."


def shown_rows(budget: pd.DataFrame) -> list[int]:
    """Choose the row of each treatment that counts most: with the estimate where there is one."""
    rows: dict[str, int] = {}
    for at in map(int, budget.index):
        row = row_at(budget, at)
        treatment = str(row["treatment"])
        if treatment not in rows or row["counting"] == WITH_ESTIMATE:
            rows[treatment] = at
    return list(rows.values())


def budget_words(budget: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say the net change of each treatment, with how many futures end above zero.

    Parameters
    ----------
    budget : DataFrame
        Table of a run.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One a treatment, in the definition's order.
    """
    return [_net_words(budget, at, definition) for at in in_order(budget, definition)]


def in_order(budget: pd.DataFrame, definition: Definition) -> list[int]:
    """Put the rows that are shown into the definition's order of treatments."""
    levels = [level for factor in definition.treatments.values() for level in factor.levels]
    return sorted(shown_rows(budget), key=lambda at: levels.index(row_at(budget, at)["treatment"]))


def _net_words(budget: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    row = row_at(budget, at)
    step = money_step(float(row["net_high"]) - float(row["net_low"]))

    def said(column: str) -> Said:
        shown = money_text(value_at(budget, at, column), step, signed=True)
        return number("budget", budget, at, column, shown)

    above = value_at(budget, at, "above_zero")
    parts: dict[str, object] = {
        "label": level_label(definition, str(row["treatment"])),
        "control": in_sentence(level_label(definition, str(row["control"]))),
        "area": number(
            "budget", budget, at, "area", area_text(float(row["area"]), definition.units)
        ),
        "currency": row["currency"],
        **{name: said(f"net_{name}") for name in ("low", "median", "high")},
        "above": number("budget", budget, at, "above_zero", futures_text(above)),
        "counting": "the entries and what the trial found"
        if row["counting"] == WITH_ESTIMATE
        else "the entries of the diary alone",
    }
    form = "{label} against {control}, one season on {area}, counting {counting}: a net change of "
    if float(row["net_low"]) == float(row["net_high"]):
        return Sentence(form + "{median} {currency}.", parts)
    return Sentence(
        form + "{median} {currency} in the middle, between {low} and {high} in eight of ten "
        "futures. Of 100 futures drawn from these ranges, {above} end above zero.",
        parts,
    )


def futures_text(share: float) -> str:
    """Write a share of futures as a count of 100; few and many are never none and all.

    Examples
    --------
    >>> [futures_text(share) for share in (0.0, 0.055, 36.7, 99.8, 100.0)]
    ['none', 'fewer than one', '37', 'all but fewer than one', 'all']
    """
    if share in (0.0, 100.0):
        return "all" if share else "none"
    if share < 0.5 or share >= 99.5:
        return "fewer than one" if share < 50 else "all but fewer than one"
    return text(share, 0)


def estimate_words(found: pd.DataFrame, definition: Definition, carried: str) -> list[Sentence]:
    """Say what the trial found of each treatment that is counted, or what is not, and why.

    Parameters
    ----------
    found : DataFrame
        Table ``budget_estimates`` of a run.
    definition : Definition
        The trial.
    carried : {'yes', 'no'}
        Which of them.
    """
    return [
        _estimate(found, at, definition)
        for at in map(int, found.index)
        if row_at(found, at)["carried"] == carried
    ]


def _estimate(found: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    row = row_at(found, at)
    label = in_sentence(level_label(definition, str(row["treatment"])))
    parts: dict[str, object] = {"label": label, "why": str(row["text"]).removesuffix(_LEFT_OUT)}
    form = "days gained" if row["of"] == "days gained" else "{noun}"
    view = measure_view(definition, str(row["measure"])) if row["measure"] else None
    parts["noun"] = view.noun if view else ""
    if not np.isfinite(float(row["estimate"])):
        return _sentence(form + ", {label}: {why}.", parts)
    days = row["unit"] == "day"
    spread = float(row["se"]) if np.isfinite(float(row["se"])) else 1.0
    decimals = decimals_for(spread if days or view is None else view.difference(spread))
    for column in ("estimate", "lower", "upper"):
        value = float(row[column])
        shown = text(value if days or view is None else view.difference(value), decimals, not days)
        parts[column] = number("budget_estimates", found, at, column, shown)
    unit = "days" if days or view is None else view.difference_unit
    says = "" if row["says"] == "exactly" else f"{row['says']} "
    form += ", {label}: " + f"{says}{{estimate}} {unit}".rstrip()
    if np.isfinite(float(row["lower"])):
        parts["level"] = level_text(definition.analysis.alpha)
        adjusted = "" if days else "; adjusted under Results"
        form += " ({level} interval by itself {lower} to {upper}" + adjusted + ")"
    if row["carried"] == "yes":
        form += "" if row["role"] == "primary" else ", a comparison beside the main question"
    else:
        unpaid = np.isfinite(float(row["se"]))
        form += "; the diary does not say what it is worth" if unpaid else "; {why}"
    return _sentence(form + ".", parts)


def _sentence(form: str, parts: dict[str, object]) -> Sentence:
    """Begin with a capital, be it a word of the form or a part."""
    if form.startswith("{noun}"):
        noun = str(parts["noun"])
        return Sentence(form, {**parts, "noun": noun[:1].upper() + noun[1:]})
    return Sentence(form[:1].upper() + form[1:], parts)


def parts_table(budget: pd.DataFrame, definition: Definition) -> Markup:
    """Show the four parts and the net change, on the whole area and on one that readers know."""
    first = row_at(budget, int(budget.index[0]))
    area, currency = float(first["area"]), str(first["currency"])
    divided, per = per_area(area, definition.units)
    heads = [Head("Treatment"), Head("Part")]
    for group in (f"on {area_text(area, definition.units)}", f"on each {per}"):
        heads += [Head("lowest", currency, True, group), Head("highest", currency, True, group)]
    largest = max(float(budget[name].abs().max()) for name in ("least", "most"))
    scales = [(by, 1.0 if largest / by >= 50 else 0.1) for by in (1.0, divided)]
    lines = []
    for at in in_order(budget, definition):
        label = level_label(definition, str(row_at(budget, at)["treatment"]))
        for name, words in _PARTS.items():
            ends = [f"{name}_low", f"{name}_high"]
            if any(value_at(budget, at, column) for column in ends):
                less = "less " if name in _SPENT else ""
                cells = _cells(budget, at, ends, scales)
                lines.append(Row((label, f"{less}{words}"), cells))
        cells = _cells(budget, at, ["least", "most"], scales, signed=True)
        net = "net change, all ranges at their worst and at their best"
        lines.append(Row((label, net), cells))
        step = money_step(value_at(budget, at, "net_high") - value_at(budget, at, "net_low"))
        rounded = [(by, max(own, step / by)) for by, own in scales[:1]] + scales[1:]
        cells = _cells(budget, at, ["net_low", "net_high"], rounded, signed=True)
        lines.append(Row((label, "net change in eight of ten futures"), cells, strong=True))
    caption = "Partial budget of one season against the control"
    return html_table(caption, heads, lines)


def _cells(
    frame: pd.DataFrame,
    at: int,
    columns: Sequence[str],
    scales: Sequence[tuple[float, float]],
    signed: bool = False,
) -> tuple[Cell, ...]:
    """Write amounts on each area: what they are divided by, and the step to round to."""
    return tuple(
        number(
            "budget", frame, at, column, money_text(value_at(frame, at, column) / by, step, signed)
        )
        for by, step in scales
        for column in columns
    )


def items_table(items: pd.DataFrame, definition: Definition) -> Markup:
    """Show every entry as it was priced and what it comes to in one season."""
    currency = str(items["currency"].iloc[0])
    heads = [Head("Treatment"), Head("Entry"), Head("part")]
    heads += [Head("amount", currency, True), Head("seasons", "", True)]
    heads += [Head("one season", currency, True), Head("source")]
    lines = []
    levels = [level for factor in definition.treatments.values() for level in factor.levels]
    for level in levels:
        rows = items[items["treatment"] == level]
        for at in sorted(map(int, rows.index), key=lambda at: (row_at(items, at)["list"], at)):
            row = row_at(items, at)
            worth = row["list"] == "worth"
            price = _range(items, at, "price", 0.01 if worth else 1.0)
            cells: tuple[Cell, ...] = (
                f"{row['part']}{', for each step' if worth else ''}",
                price,
                _range(items, at, "seasons", 0.1),
                _range(items, at, "season", 1.0),
                _source(row),
            )
            lines.append(Row((level_label(definition, level), str(row["what"])), cells))
    note = (
        "Amounts, hours, rates and lives are those of the diary, and were not checked. What lasts "
        "several seasons is spread over them in equal parts, without interest."
    )
    return html_table("Entries of the budget, each on the whole area", heads, lines, note)


def _source(row: pd.Series) -> str:
    """Say where an amount comes from."""
    if row["list"] != "worth":
        return str(row["source"]) or "none named"
    return "estimate of the trial" if np.isfinite(float(row["season_low"])) else "not counted"


def _range(items: pd.DataFrame, at: int, name: str, step: float) -> Cell:
    low, high = (f"{name}_{side}" for side in ("low", "high"))
    ends = [value_at(items, at, column) for column in (low, high)]
    if not np.isfinite(ends).all():
        return "–"
    shown = [_plain(end, step) for end in ends]
    parts = {
        side: number("budget_items", items, at, column, one)
        for side, column, one in zip(("low", "high"), (low, high), shown, strict=True)
    }
    return Sentence("{low}" if shown[0] == shown[1] else "{low} to {high}", parts)


def _plain(value: float, step: float) -> str:
    """Write an amount without idle decimals."""
    return money_text(value, 1.0 if value == round(value) else step)


def _bought_whole(items: pd.DataFrame, definition: Definition) -> str:
    """Name the treatments whose material is paid in one season alone; empty for none."""
    rows = items[(items["kind"] == "material") & items["seasons_low"].isna()]
    labels = [
        in_sentence(level_label(definition, str(one))) for one in dict.fromkeys(rows["treatment"])
    ]
    return listed_words(labels) if labels else ""
