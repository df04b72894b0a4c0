"""Whether the control had caught up at the last visit, by bounds that are rounded to hold."""

from __future__ import annotations

import datetime as dt
import math

import pandas as pd

from wintersward.report.bounds import Side, bound_decimals, bounded
from wintersward.report.comparisons import in_order, said_or_dash
from wintersward.report.numbers import (
    counted,
    day_text,
    decimals_for,
    level_text,
    listed_words,
    p_text,
    text,
)
from wintersward.report.said import Sentence, number, row_at
from wintersward.report.views import (
    MeasureView,
    averaged_over,
    factor_label,
    in_sentence,
    level_label,
    measure_view,
    others_applied,
    within_label,
)
from wintersward.report.words import difference_text
from wintersward.trial.schema import Definition

__all__ = ["apart_few", "apart_words", "caught_up_count", "caught_up_words"]


def caught_up_words(equivalence: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say whether the control had caught up with each treatment at the last visit.

    Parameters
    ----------
    equivalence : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One a treatment, and one within each treatment of another factor; bounds are one-sided.
    """
    rows = equivalence[equivalence["kind"] == "caught up"]
    return [_lead(equivalence, at, definition) for at in in_order(rows, definition)]


def caught_up_count(equivalence: pd.DataFrame) -> str:
    """Say how many verdicts on catching up there are, and what they are; empty for none."""
    many = int((equivalence["kind"] == "caught up").sum())
    if not many:
        return ""
    share = "its own bound" if many == 1 else "each by a bound of its own"
    said = counted(many, "verdict")
    return (
        f"Secondary, unadjusted: {said}, {share}, not adjusted for one another or for anything "
        "else. A lead to follow up, not an answer."
    )


def _lead(equivalence: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    row = row_at(equivalence, at)
    verdict, inside = str(row["verdict"]), _inside(row, definition)
    parts = _lead_parts(equivalence, at, definition)
    if not math.isfinite(float(row["difference"])):
        parts["inside"] = f"with {inside}, " if inside else ""
        return Sentence("On {day}, {inside}these data cannot tell how far {right} was.", parts)
    if inside:
        form = "{inside}{right} was about {difference}{unit} {side} {left}: "
        parts["inside"] = f"With {inside}, "
        form += {
            "caught up": "caught up, for the lead is {upper}{unit} at most.",
            "not caught up": "not caught up, for the lead is {lower}{unit} at least.",
        }.get(verdict, "these data cannot tell, for the lead may be as large as {upper}{unit}.")
        return Sentence(form, parts)
    form = "On {day}, {right} was about {difference}{unit} {side} {left}{over}. "
    form += {
        "caught up": "The true lead of {left} is {upper}{unit} at most (one-sided {level} bound), "
        "so {right} had caught up to within {margin}.",
        "not caught up": "The true lead of {left} is {lower}{unit} at least (one-sided {level} "
        "bound), more than {margin}, so {right} had not caught up.",
    }.get(
        verdict,
        "Caught up means less than {margin} behind. The true lead of {left} may be as large as "
        "{upper}{unit} (one-sided {level} bound), so these data cannot tell.",
    )
    return Sentence(form, parts)


def _lead_parts(equivalence: pd.DataFrame, at: int, definition: Definition) -> dict[str, object]:
    """Name day, treatments, estimate and the bound that the verdict rests on."""
    row = row_at(equivalence, at)
    view = measure_view(definition, str(row["measure"]))
    # What is said of the lower bound is that the lead is so much at least.
    bound, side = _bound(row)
    ends = {n: view.difference(float(row[n])) for n in ("difference", bound, "margin")}
    decimals = decimals_for(abs(ends[bound] - ends["difference"]))
    finer = bound_decimals(ends[bound], side, decimals, ends["margin"])
    end = bounded(ends[bound], finer, side) if math.isfinite(ends[bound]) else math.nan
    over = averaged_over(definition, definition.factor_of(str(row["left"])), row["date"])
    shown = text(abs(ends["difference"]), decimals)
    return {
        "left": in_sentence(level_label(definition, str(row["left"]))),
        "right": in_sentence(level_label(definition, str(row["right"]))),
        "margin": difference_text(definition, str(row["measure"]), float(row["margin"])),
        "level": level_text(definition.analysis.alpha),
        "unit": f" {view.difference_unit}" if view.difference_unit else "",
        "side": "behind" if float(row["difference"]) >= 0 else "ahead of",
        "day": day_text(row["date"]) + _next_event(definition, row["date"]),
        "over": f", {over}" if over else "",
        "difference": said_or_dash("equivalence", equivalence, at, "difference", shown),
        bound: said_or_dash("equivalence", equivalence, at, bound, text(end, finer)),
    }


def _bound(row: pd.Series) -> tuple[str, Side]:
    return ("lower", "at least") if row["verdict"] == "not caught up" else ("upper", "at most")


def _inside(row: pd.Series, definition: Definition) -> str:
    within = row.get("within", "")
    return in_sentence(within_label(definition, within if isinstance(within, str) else ""))


def apart_words(
    equivalence: pd.DataFrame, at: int, definition: Definition, tests: pd.DataFrame
) -> Sentence:
    """Tell a lead apart by the treatments that it is averaged over, where it may depend on them.

    Parameters
    ----------
    equivalence, tests : DataFrame
        Tables of a run, in SI.
    at : int
        Label of a row over all treatments of the other factors.
    definition : Definition
        The trial.

    Returns
    -------
    Sentence
        With estimate and verdict within each of them; empty where nothing is averaged over, or
        where the F test sees no sign that the lead depends on it.
    """
    row, held = row_at(equivalence, at), _apart(equivalence, at, definition, tests)
    if not held:
        return Sentence("")
    parts: dict[str, object] = {}
    each = []
    for one in held:
        own = row_at(equivalence, one)
        parts |= {f"lead{one}": _estimate(equivalence, one, definition, " behind", " ahead")}
        parts[f"in{one}"] = _inside(own, definition)
        parts[f"says{one}"] = _SHORT.get(str(own["verdict"]), _SHORT["cannot tell"])
        each.append(f"with {{in{one}}}, {{lead{one}}} ({{says{one}}})")
    factor = definition.factor_of(str(row["left"]))
    others = others_applied(definition, factor, row["date"])
    names = [in_sentence(factor_label(definition, name)) for name in others]
    parts["over"] = listed_words(names)
    form = "The lead may depend on the {over} ({test}): "
    parts["test"] = _test_words(_tested(tests, row, definition))
    return Sentence(form + "; ".join(each) + ".", parts)


def apart_few(
    equivalence: pd.DataFrame, at: int, definition: Definition, tests: pd.DataFrame
) -> Sentence:
    """Give the numbers of `apart_words` alone: ``4 with solid tine; 9 with hollow tine``."""
    parts: dict[str, object] = {}
    each = []
    for one in _apart(equivalence, at, definition, tests):
        parts[f"lead{one}"] = _estimate(equivalence, one, definition, "", " ahead", unit=False)
        parts[f"in{one}"] = _inside(row_at(equivalence, one), definition)
        each.append(f"{{lead{one}}} with {{in{one}}}")
    return Sentence("; ".join(each), parts)


_SHORT = {
    "caught up": "caught up",
    "not caught up": "not caught up",
    "cannot tell": "whether it had caught up, these data cannot tell",
}


def _estimate(
    equivalence: pd.DataFrame,
    at: int,
    definition: Definition,
    behind: str,
    ahead: str,
    unit: bool = True,
) -> Sentence:
    """Write the lead of one row, in the digits of its own sentence."""
    row = row_at(equivalence, at)
    parts = _lead_parts(equivalence, at, definition)
    if not math.isfinite(float(row["difference"])):
        return Sentence("not estimated")
    view: MeasureView = measure_view(definition, str(row["measure"]))
    named = f" {view.unit_after(str(parts['difference']))}".rstrip() if unit else ""
    side = behind if parts["side"] == "behind" else ahead
    about = "about " if unit else ""
    return Sentence(f"{about}{{n}}{{unit}}{side}", {"n": parts["difference"], "unit": named})


def _apart(
    equivalence: pd.DataFrame, at: int, definition: Definition, tests: pd.DataFrame
) -> list[int]:
    """List the rows within single treatments, where the lead over all may depend on them."""
    row = row_at(equivalence, at)
    same = (equivalence["kind"] == row["kind"]) & (equivalence["within"].fillna("") != "")
    for name in ("measure", "date", "left", "right"):
        same &= equivalence[name] == row[name]
    found = _tested(tests, row, definition)
    if (found["p"] >= definition.analysis.alpha).all() and len(found):
        return []
    return in_order(equivalence[same], definition)


def _tested(tests: pd.DataFrame, row: pd.Series, definition: Definition) -> pd.DataFrame:
    """Keep the tests of whether the row's factor depends on another, on its measure and day."""
    factor = definition.factor_of(str(row["left"]))
    here = tests[tests["measure"] == row["measure"]]
    here = here[pd.to_datetime(here["date"]) == pd.Timestamp(str(row["date"]))]
    crossed = [
        factor in parts and len(parts) > 1 for parts in here["term"].astype(str).str.split(":")
    ]
    # An empty list would choose no columns.
    return here[pd.Series(crossed, here.index, dtype=bool)]


def _test_words(found: pd.DataFrame) -> Sentence:
    known = found[found["p"].notna()].sort_values("p", kind="stable")
    if known.empty:
        return Sentence("which could not be tested")
    at = int(known.index[0])
    shown = p_text(float(known["p"].iloc[0]))
    parts = {"p": number("tests", found, at, "p", shown), "is": "" if shown[0] in "<>" else "= "}
    return Sentence("F test, p {is}{p}; secondary, not adjusted", parts)


def _next_event(definition: Definition, date: object) -> str:
    """Say how long before the next planned date of the trial a day is; empty after the last."""
    day = dt.date.fromisoformat(str(date)[:10])
    later = [
        (planned, name)
        for name, planned in definition.dates.items()
        if isinstance(planned, dt.date) and planned > day
    ]
    if not later:
        return ""
    planned, name = min(later)
    days = (planned - day).days
    ahead = "the day" if days == 1 else counted(days, "day")
    return f", {ahead} before the {name.replace('_', ' ')}"
