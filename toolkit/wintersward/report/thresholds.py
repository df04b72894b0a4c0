"""Other windows of green on the page: whether the conclusion depends on where green begins."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from wintersward.report.comparisons import pair_text, said_or_dash
from wintersward.report.numbers import day_text, level_text, text
from wintersward.report.said import Said, Sentence, interval_said, number, row_at, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.threshold_answers import Hanging, hangings
from wintersward.report.verdicts import answer_decimals
from wintersward.report.views import in_sentence, measure_view
from wintersward.report.words import matters_text
from wintersward.trial.schema import Definition, PhotoMeasure

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = [
    "PICTURE",
    "cover_words",
    "grid_words",
    "threshold_words",
    "thresholds_context",
    "windows_table",
]

PICTURE = "thresholds"
"""Name of the picture of the section."""

_LIMITS = ("hue_low", "hue_high", "saturation_low")
_TABLE, _COVERS = "window_answers", "window_covers"


def grid_words(covers: pd.DataFrame) -> Sentence:
    """Say which windows were tried.

    Parameters
    ----------
    covers : DataFrame
        Table ``window_covers`` of a run, with rows.
    """
    parts: dict[str, object] = {"n": str(len(covers))}
    for name in _LIMITS:
        for end, at in _ends(covers, name).items():
            parts[f"{name}_{end}"] = number(
                _COVERS, covers, at, name, f"{value_at(covers, at, name):g}"
            )
    form = (
        "{n} windows were tried: a lower edge of hue from {hue_low_least} to {hue_low_most} "
        "degrees, an upper edge from {hue_high_least} to {hue_high_most} degrees, and a lowest "
        "saturation from {saturation_low_least} to {saturation_low_most}."
    )
    return Sentence(form, parts)


def _ends(covers: pd.DataFrame, name: str) -> dict[str, int]:
    """Find the rows with the least and the most of a column."""
    values = covers[name].astype(float)
    return {"least": int(str(values.idxmin())), "most": int(str(values.idxmax()))}


def cover_words(covers: pd.DataFrame) -> list[Sentence]:
    """Say how far the mean cover of all plots moves with the window.

    Parameters
    ----------
    covers : DataFrame
        Table ``window_covers`` of a run.
    """
    own: list[int] = list(covers.index[(covers["declared"] == "yes") & covers["mean"].notna()])
    if not own:
        return []
    places = {"own": own[0], **_ends(covers, "mean")}
    parts: dict[str, object] = {
        name: number(_COVERS, covers, at, "mean", text(value_at(covers, at, "mean"), 1))
        for name, at in places.items()
    }
    parts["day"] = day_text(row_at(covers, own[0])["date"])
    form = (
        "On {day} the mean cover of all plots is {own} % by the declared window, and from {least} "
        "to {most} % by all that were tried: where green begins moves the level itself."
    )
    return [Sentence(form, parts)]


def threshold_words(answers: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say whether the conclusion depends on the threshold of green.

    Parameters
    ----------
    answers : DataFrame
        Table ``window_answers`` of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One a comparison; none while nothing is compared, and none in a demonstration.
    """
    return [_concluded(answers, one, definition) for one in hangings(answers, definition)]


_OPENINGS = {
    "": "{The} conclusion did not change by any of the {n} windows tried.",
    "zero": "{The} conclusion depends on the threshold of green.",
    "size": "{That} there is a difference held by all of the {n} windows of green tried, but what "
    "can be said of its size did not.",
    "size, zero held": "{That} these data cannot tell the treatments apart held by all of the {n} "
    "windows of green tried, but what can be said of the size did not.",
}


def _concluded(answers: pd.DataFrame, one: Hanging, definition: Definition) -> Sentence:
    view = measure_view(definition, definition.analysis.primary.measure)
    several = len(definition.analysis.primary.pairs) > 1
    decimals = _decimals(answers, one, definition)
    pair = pair_text(definition, row_at(answers, one.declared))
    parts: dict[str, object] = {
        name: _number(answers, at, "difference", definition, decimals)
        for name, at in (("own", one.declared), ("least", one.least), ("most", one.most))
    }
    parts |= {
        "The": f"{pair}: the" if several else "The",
        "That": f"{pair}: that" if several else "That",
        "pair": "it" if several else in_sentence(pair),
        "unit": f" {view.difference_unit}" if view.difference_unit else "",
        "n": str(one.answered),
        "matters": matters_text(definition),
        "lost": str(one.windows - one.answered),
    }
    form = _OPENINGS["size, zero held" if one.hangs == "size" and not one.side else one.hangs]
    form += " By the declared window {pair} is {own}{unit}, and the interval "
    form += "leaves out zero" if one.side else "holds zero"
    form += "; by {n} windows it lies between {least} and {most}{unit}, "
    if one.hangs == "zero":
        parts["other"] = str(one.answered - one.alike)
        form += "and by {other} of them the interval "
        form += "does not leave out zero on that side." if one.side else "leaves out zero."
    else:
        form += (
            "every interval leaves out zero on that side"
            if one.side
            else ("every interval holds zero")
        )
        parts["other"] = str(one.answered - one.same)
        form += {
            "": ", and the verdict on {matters}, the smallest difference that matters, is the same "
            "by all of them.",
            "size": ", but by {other} of them the verdict on {matters}, the smallest difference "
            "that matters, is another.",
        }[one.hangs]
    if one.answered < one.windows:
        form += " By {lost} further windows the comparison cannot be made."
    return Sentence(form, parts)


def _decimals(answers: pd.DataFrame, one: Hanging, definition: Definition) -> int:
    view = measure_view(definition, definition.analysis.primary.measure)
    se, lower, upper = (
        view.difference(value_at(answers, one.declared, name)) for name in ("se", "lower", "upper")
    )
    matters = view.difference(definition.analysis.primary.matters_from.value)
    return max(1, answer_decimals(se, lower, upper, matters))


def _number(
    answers: pd.DataFrame, at: int, name: str, definition: Definition, decimals: int
) -> str | Said:
    view = measure_view(definition, definition.analysis.primary.measure)
    shown = text(view.difference(value_at(answers, at, name)), decimals, signed=True)
    return said_or_dash(_TABLE, answers, at, name, shown)


def windows_table(covers: pd.DataFrame, answers: pd.DataFrame, definition: Definition) -> Markup:
    """Show the declared window beside those that lie furthest from it.

    Parameters
    ----------
    covers, answers : DataFrame
        Tables ``window_covers`` and ``window_answers`` of a run; without answers the covers alone.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        The declared window, those with the least and the most green, and those with the smallest
        and the largest difference of each comparison; empty without rows.
    """
    if covers.empty or covers["mean"].isna().all():
        return Markup("")
    found = hangings(answers, definition)
    if not found:
        heads = [Head("Window"), *_limit_heads(), Head("mean cover", "%", True)]
        heads += [Head("lowest plot", "%", True), Head("highest plot", "%", True)]
        rows = [
            Row((label,), (*_limits(covers, at), *_seen(covers, at)), label == _OWN)
            for label, at in _places(covers).items()
        ]
        return html_table("Cover of all plots by other windows of green", heads, rows)
    view, several = measure_view(definition, definition.analysis.primary.measure), len(found) > 1
    heads = [*([Head("Treatments")] if several else []), Head("Window"), *_limit_heads()]
    heads += [
        Head("mean cover", "%", True),
        Head("difference", view.difference_unit, True),
        Head(f"{level_text(definition.analysis.alpha)} interval", view.difference_unit, True),
        Head(f"against {matters_text(definition)}"),
    ]
    rows = [row for one in found for row in _answer_rows(covers, answers, one, definition, several)]
    return html_table("The answer by other windows of green", heads, rows)


_OWN = "as declared"
# What a verdict of the table says of the smallest difference that matters, in a word or two.
_AGAINST = {
    "beyond": "beyond it",
    "inside": "within it",
    "size open": "not settled",
    "equivalent": "within it",
    "cannot tell": "cannot tell",
}


def _limit_heads() -> list[Head]:
    return [Head("hue", "degrees", True), Head("saturation from", "", True)]


def _limits(covers: pd.DataFrame, at: int) -> tuple[Cell, ...]:
    """Write the limits that tell windows apart."""
    low, high, floor = (
        number(_COVERS, covers, at, name, f"{value_at(covers, at, name):g}") for name in _LIMITS
    )
    return Sentence("{low} to {high}", {"low": low, "high": high}), floor


def _seen(covers: pd.DataFrame, at: int) -> tuple[Cell, ...]:
    return tuple(
        said_or_dash(_COVERS, covers, at, name, text(value_at(covers, at, name), 1))
        for name in ("mean", "lowest", "highest")
    )


def _places(covers: pd.DataFrame) -> dict[str, int]:
    """Find the declared window, and those with the least and the most green."""
    ends = _ends(covers, "mean")
    own = int(covers.index[covers["declared"] == "yes"][0])
    return {_OWN: own, "least green": ends["least"], "most green": ends["most"]}


def _answer_rows(
    covers: pd.DataFrame, answers: pd.DataFrame, one: Hanging, definition: Definition, several: bool
) -> list[Row]:
    decimals = _decimals(answers, one, definition)
    own = answers[(answers["left"] == one.left) & (answers["right"] == one.right)]
    of_window = dict(zip(own["window"].astype(str), map(int, own.index), strict=True))
    seen = dict(zip(covers["window"].astype(str), map(int, covers.index), strict=True))
    labels: dict[int, list[str]] = {}
    for label, at in _places(covers).items():
        labels.setdefault(of_window[str(covers.at[at, "window"])], []).append(label)
    for label, at in (("smallest difference", one.least), ("largest difference", one.most)):
        labels.setdefault(at, []).append(label)
    pair = (pair_text(definition, row_at(answers, one.declared)),) if several else ()
    rows = []
    for at, told in labels.items():
        row = row_at(answers, at)
        place = seen[str(row["window"])]
        ends = {n: _number(answers, at, n, definition, decimals) for n in ("lower", "upper")}
        cells = (
            *_limits(covers, place),
            _seen(covers, place)[0],
            _number(answers, at, "difference", definition, decimals),
            interval_said(ends),
            _AGAINST[str(row["verdict"])],
        )
        rows.append(Row((*pair, ", ".join(told)), cells, _OWN in told))
    return rows


def thresholds_context(page: Page) -> dict[str, Any]:
    """Gather what the section about the threshold of green is filled with.

    Parameters
    ----------
    page : Page
        Its tables ``window_covers`` and ``window_answers``.

    Returns
    -------
    dict
        ``uses`` tells whether the primary measure is a cover from photos.
    """
    definition = page.definition
    name = definition.analysis.primary.measure
    measure = definition.measures[name]
    covers, answers = page.table("window_covers"), page.table("window_answers")
    return {
        "uses": isinstance(measure, PhotoMeasure) and measure.score == "cover",
        "there": not covers.empty,
        "grid": grid_words(covers) if not covers.empty else "",
        "conclusions": threshold_words(answers, definition),
        "covers": cover_words(covers),
        "picture": page.figure(PICTURE),
        "table": windows_table(covers, answers, definition),
    }
