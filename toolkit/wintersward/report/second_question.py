"""What the other factors did to the primary measure, beside the primary question."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd

from wintersward.report.comparing import difference_decimals
from wintersward.report.comparisons import in_order, said_or_dash
from wintersward.report.holes import holes_beside
from wintersward.report.interactions import asked_crossing, crossing_of, interactions
from wintersward.report.numbers import (
    common_decimals,
    day_text,
    in_words,
    level_text,
    listed_words,
    p_text,
    text,
)
from wintersward.report.said import Sentence, number, row_at, value_at
from wintersward.report.views import (
    MeasureView,
    factor_label,
    in_sentence,
    level_label,
    measure_view,
    within_label,
)
from wintersward.report.words import amount_parts
from wintersward.trial.schema import Definition

__all__ = ["second_words"]


def second_words(
    differences: pd.DataFrame, definition: Definition, tests: pd.DataFrame | None = None
) -> list[Sentence]:
    """Say what the other factors did to the primary measure, as far as these data can tell.

    Parameters
    ----------
    differences : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.
    tests : DataFrame, optional
        Table of the run; its F test over all treatments may say more than the pair asked about.

    Returns
    -------
    list of Sentence
        A few sentences a pair of another factor with its control; empty without another factor.
    """
    question = definition.analysis.primary
    main, said = definition.factor_of(question.levels[0]), list[Sentence]()
    compared = []
    of_measure = differences[differences["measure"] == question.measure]
    for name, factor in definition.treatments.items():
        own = of_measure[(of_measure["effect"] == name) & of_measure["difference"].notna()]
        within = own["within"].fillna("").astype(str)
        inside = own[within.str.startswith(f"{main}=")]
        own = inside if len(inside) else own[within == ""]
        if name == main or own.empty:
            continue
        for level in (one for one in factor.levels if one != factor.control):
            pair = own[(own["left"] == level) & (own["right"] == factor.control)]
            compared += [(level, factor.control)] if len(pair) else []
            for day in dict.fromkeys([pair["date"].min(), pair["date"].max()] if len(pair) else []):
                said.append(_second(pair[pair["date"] == day], definition))
    if not said:
        return []
    beside = holes_beside(definition, question.measure, compared)
    said += [Sentence("{words}", {"words": words}) for words in beside]
    crossed = _crossed(differences, definition, tests)
    return [*said, crossed] if str(crossed) else said


def _second(rows: pd.DataFrame, definition: Definition) -> Sentence:
    """Say the differences of one pair on one date, one for each treatment they stand within."""
    first = rows.iloc[0]
    view = measure_view(definition, str(first["measure"]))
    decimals = common_decimals([view.difference(float(se)) for se in rows["se"]])
    parts: dict[str, object] = {
        "left": level_label(definition, str(first["left"])),
        "right": level_label(definition, str(first["right"])),
        "day": day_text(first["date"]),
        "noun": view.label,
        "unit": f" {view.difference_unit}" if view.difference_unit else "",
    }
    each = []
    for at in in_order(rows, definition):
        row = row_at(rows, at)
        parts[f"gap{at}"] = _interval(rows, at, view, decimals)
        inside = row["within"] if isinstance(row["within"], str) else ""
        label = in_sentence(within_label(definition, inside))
        parts[f"in{at}"] = f" with {label}" if label else ""
        each.append(f"{{gap{at}}}{{in{at}}}")
    form = (
        "{noun} with ‘{left}’ minus that with ‘{right}’ on {day}, in{unit}: "
        if parts["unit"]
        else "{noun} with ‘{left}’ minus that with ‘{right}’ on {day}: "
    )
    return Sentence(form + listed_words(each) + ".", parts)


def _interval(rows: pd.DataFrame, at: int, view: MeasureView, decimals: int) -> Sentence:
    """Write a difference with its interval in brackets."""
    parts = {
        n: said_or_dash(
            "differences",
            rows,
            at,
            n,
            text(view.difference(value_at(rows, at, n)), decimals, signed=True),
        )
        for n in ("difference", "lower", "upper")
    }
    return Sentence("{difference} ({lower} to {upper})", parts)


def _crossed(
    differences: pd.DataFrame, definition: Definition, tests: pd.DataFrame | None
) -> Sentence:
    """Say whether the treatments asked about changed the other factor's difference."""
    measure = definition.analysis.primary.measure
    at = asked_crossing(differences, definition, measure)
    if at is None:
        return Sentence("")
    row, view = row_at(differences, at), measure_view(definition, measure)
    found = crossing_of(definition, str(row["effect"]), str(row["left"]), str(row["right"]))
    names = [in_sentence(level_label(definition, one)) for one in (*found.outer, *found.inner)]
    parts: dict[str, object] = dict(zip(("one", "other", "first", "second"), names, strict=True))
    outer, inner = (
        in_sentence(factor_label(definition, name)) for name in str(row["effect"]).split(":")
    )
    parts |= {"outer": outer, "inner": inner, "day": day_text(row["date"]), "noun": view.noun}
    parts["level"] = level_text(definition.analysis.alpha)
    # What is compared are differences: one is higher or lower than the other.
    decimals = difference_decimals(view, interactions(differences, measure))
    parts |= amount_parts("differences", differences, at, replace(view, rated=True), decimals)
    form = (
        "Did the {outer} change what the {inner} did? On {day} the difference in {noun} (‘{first}’ "
        "minus ‘{second}’) was {estimate} {more} with {one} than with {other} ({level} interval "
        "{interval}): "
    )
    if float(row["lower"]) > 0 or float(row["upper"]) < 0:
        return Sentence(form + "the whole interval is on one side of zero.", parts)
    form += "from these two treatments these data cannot tell whether the {outer} changed it."
    many = len(definition.treatments[str(row["effect"]).split(":")[0]].levels)
    parts["all"] = in_words(many).capitalize()
    return _overall(Sentence(form, parts), row, definition, tests)


def _overall(
    said: Sentence, row: pd.Series, definition: Definition, tests: pd.DataFrame | None
) -> Sentence:
    """Add what the F test over all treatments says, where it says more than the pair."""
    if tests is None:
        return said
    here = (tests["measure"] == row["measure"]) & (tests["date"] == row["date"])
    overall = tests[here & (tests["term"] == row["effect"])]
    if not (overall["p"] < definition.analysis.alpha).any():
        return said
    shown = p_text(float(overall["p"].iloc[0]))
    parts = dict(said.parts)
    parts["p"] = number("tests", tests, int(overall.index[0]), "p", shown)
    parts["is"] = "" if shown.startswith("<") else "= "
    return Sentence(
        said.form + " {all} {outer} treatments together hint that it did (F test, p {is}{p}; "
        "secondary, not adjusted).",
        parts,
    )
