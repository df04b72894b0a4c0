"""The few numbers of a brief, each tied to its place in the tables of the run."""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING, Any

import pandas as pd

from wintersward.report import arriving, catching_up
from wintersward.report.frozen import freeze_of
from wintersward.report.mean_digits import answer_digits
from wintersward.report.methods import replication_words
from wintersward.report.numbers import counted, day_text, level_text, text
from wintersward.report.said import Said, number, row_at, value_at
from wintersward.report.views import (
    in_sentence,
    level_label,
    measure_view,
    unit_kind,
    unit_of,
)
from wintersward.report.words import amount_parts, matters_text, planned_rows, shown_decimals
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["brief_numbers", "primary_day"]

# What the template needs to say one number; ``kind`` tells which it is.
Shown = dict[str, Any]
_MOST = 3
# The longest name that fits into the large type of a number.
_SHORT_NAME = 20


def primary_day(definition: Definition) -> dt.date:
    """Give the date of the primary question."""
    return dates_meant(definition.dates, definition.analysis.primary.on)[0]


def brief_numbers(page: Page, state: str) -> list[Shown]:
    """Choose the numbers of a brief.

    Parameters
    ----------
    page : Page
        Tables of the run.
    state : {'planned', 'shown', 'open', 'answered'}
        What the page has to say: before its data, of a demonstration, without an estimate, or
        with one.

    Returns
    -------
    list of dict
        Three, with the ``kind`` of each; of a demonstration one a treatment, and of a declared
        family of more than three comparisons one a comparison. Counts of a primary date that no
        table tells of are left out.
    """
    if state == "shown":
        return _seen(page)
    if state == "open":
        return _counts(page)
    if state == "planned":
        when = {"kind": "when", "day": day_text(primary_day(page.definition))}
        return [_size(page.definition), when, *_counts(page)[:1]]
    primary = page.table("primary")
    rows = planned_rows(primary, page.definition)
    known = [at for at in rows if math.isfinite(value_at(primary, at, "difference"))]
    found = [_difference(page, at) for at in known]
    found += [one for one in (_days(page, known[0]), _lead(page, known[0])) if one]
    found += [_means(page, known[0]), _units(page, known[0])]
    return found[: max(_MOST, len(known))]


def _size(definition: Definition) -> Shown:
    tested = definition.layout.tested
    return {
        "kind": "plots",
        "plots": counted(definition.plot_count, "plot" if tested else "area"),
        "blocks": replication_words(definition) if tested else "",
    }


def _counts(page: Page) -> list[Shown]:
    """Count what was planned, used and set aside on the primary date."""
    definition, counts = page.definition, page.table("counts")
    measure, day = definition.analysis.primary.measure, primary_day(definition)
    here = counts[counts["measure"] == measure]
    here = here[pd.to_datetime(here["date"]) == pd.Timestamp(day)]
    named = {"noun": measure_view(definition, measure).noun, "day": day_text(day)}
    return [
        {"kind": kind, "n": _whole("counts", counts, at, kind), **named}
        for at in map(int, here.index[:1])
        for kind in ("expected", "used", "excluded")
    ]


def _whole(table: str, frame: pd.DataFrame, at: int, column: str) -> Said:
    return number(table, frame, at, column, f"{value_at(frame, at, column):.0f}")


def _asked(page: Page, at: int) -> Shown:
    """Name what was measured, when, and both treatments of a comparison of the question."""
    row = row_at(page.table("primary"), at)
    view = measure_view(page.definition, str(row["measure"]))
    made = {
        side: in_sentence(level_label(page.definition, str(row[side])))
        for side in ("left", "right")
    }
    exploratory = freeze_of(page).exploratory("primary")
    made |= {"noun": view.noun, "day": day_text(row["date"])}
    return {**made, "rated": view.rated, "exploratory": exploratory}


def _difference(page: Page, at: int) -> Shown:
    """Give one comparison of the primary question."""
    definition, primary = page.definition, page.table("primary")
    row = row_at(primary, at)
    view = measure_view(definition, str(row["measure"]))
    return {
        "kind": "difference",
        **_asked(page, at),
        **amount_parts("primary", primary, at, view, shown_decimals(row, view)),
        "level": level_text(float(row["alpha"])),
        "matters": matters_text(definition),
    }


def _pair(frame: pd.DataFrame, row: pd.Series) -> pd.DataFrame:
    """Keep the rows of a table that compare the same two treatments, over all of the others."""
    kept = frame[(frame["left"] == row["left"]) & (frame["right"] == row["right"])]
    return kept[kept["within"].fillna("") == ""] if "within" in kept else kept


def _days(page: Page, at: int) -> Shown:
    """Give the days that the treatment of the question gained; empty where nobody asks."""
    rows = _pair(page.table("days_gained"), row_at(page.table("primary"), at))
    if rows.empty:
        return {}
    parts = arriving.days_gained_words(rows, page.table("arrivals"), page.definition)[0].parts
    seen = page.table("plot_means")
    last = seen.loc[seen["measure"] == str(rows["measure"].iloc[0]), "date"].max()
    late = arriving.recovery_words(page.definition, last) if pd.notna(last) else []
    return {
        "kind": "days",
        "late": [f"days {words}" for words in late],
        "amount": parts.get("amount", ""),
        "interval": parts.get("interval", ""),
        **{name: parts[name] for name in ("left", "right", "goal", "level")},
        "exploratory": freeze_of(page).exploratory("days_gained"),
    }


def _lead(page: Page, at: int) -> Shown:
    """Give how far the control was behind at the last visit; empty where nobody asks."""
    equivalence = page.table("equivalence")
    last = equivalence[equivalence["kind"] == "caught up"]
    rows = _pair(last, row_at(page.table("primary"), at))
    if rows.empty:
        return {}
    parts = catching_up.caught_up_words(rows, page.definition)[0].parts
    names = ("left", "right", "day", "difference", "unit", "side", "over", "margin")
    asked, right = int(rows.index[0]), str(parts["right"])
    bound = parts.get("upper", parts.get("lower", ""))
    return {
        "kind": "lead",
        "noun": measure_view(page.definition, str(rows["measure"].iloc[0])).noun,
        "who": f"{right[:1].upper()}{right[1:]}",
        "short": len(right) <= _SHORT_NAME,
        "bound": "" if str(bound) == "–" else bound,
        "apart": catching_up.apart_few(equivalence, asked, page.definition, page.table("tests")),
        "told": bool(rows["difference"].notna().all()),
        "says": str(rows["verdict"].iloc[0]),
        **{name: parts[name] for name in names},
        "exploratory": freeze_of(page).exploratory("caught_up"),
    }


def _means(page: Page, at: int) -> Shown:
    """Give the means that the answer compares."""
    primary = page.table("primary")
    view = measure_view(page.definition, str(row_at(primary, at)["measure"]))
    rows = [row_at(primary, one) for one in planned_rows(primary, page.definition)]
    decimals = answer_digits(rows, view)
    means = {
        side: number(
            "primary", primary, at, side, text(view.value(value_at(primary, at, side)), decimals)
        )
        for side in ("left_mean", "right_mean")
    }
    return {"kind": "means", **_asked(page, at), **means, "unit": view.unit}


def _units(page: Page, at: int) -> Shown:
    """Give the number of blocks or plots that the answer is from."""
    definition, primary = page.definition, page.table("primary")
    row = row_at(primary, at)
    factor = definition.factor_of(str(row["left"]))
    kind, complete = unit_of(definition, factor, row["date"])
    n = _whole("primary", primary, at, "units_left")
    return {"kind": "units", **_asked(page, at), "n": n, "complete": complete, "units": f"{kind}s"}


def _seen(page: Page) -> list[Shown]:
    """Give the mean of every treatment on the primary date, else on the last that was seen."""
    definition, means = page.definition, page.table("means")
    question = definition.analysis.primary
    factor = definition.factor_of(question.levels[0])
    view = measure_view(definition, question.measure)
    rows = means[(means["measure"] == question.measure) & (means["effect"] == factor)]
    days, asked = pd.to_datetime(rows["date"]), pd.Timestamp(primary_day(definition))
    rows = rows[days == (asked if (days == asked).any() else days.max())]
    found = []
    for level in definition.treatments[factor].levels:
        for at in map(int, rows.index[rows["level"] == level]):
            shown = text(view.value(value_at(means, at, "mean")), 1)
            over = counted(int(value_at(means, at, "units")), unit_kind(definition, factor))
            one: Shown = {"kind": "seen", "unit": view.unit, "noun": view.noun, "over": over}
            one |= {"label": level_label(definition, level), "day": day_text(rows.at[at, "date"])}
            found.append({**one, "n": number("means", means, at, "mean", shown)})
    return found
