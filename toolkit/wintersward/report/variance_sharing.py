"""Where the variation of each measure comes from, and what that advises for next year."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from wintersward.analysis.share_columns import (
    AT_LEAST,
    LAST,
    MORE_BLOCKS,
    NO_BOUND,
    NOW,
    TOGETHER,
    TWICE,
    WITHIN,
)
from wintersward.report.numbers import counted, day_text, decimals_for, df_text, text
from wintersward.report.said import Said, Sentence, number, row_at, value_at
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import main_factor, measure_view, stands_on
from wintersward.trial.schema import Definition, PhotoMeasure, SheetMeasure

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = [
    "advice_words",
    "plans_table",
    "reading_noun",
    "shares_context",
    "shares_table",
    "shown_shares",
    "source_words",
]

# Two plans whose smallest differences are nearer than this share are called the same.
_SAME = 0.05
_PLURALS = {
    "block": "blocks",
    "row": "rows",
    "column": "columns",
    "block:row": "row strips",
    "block:column": "column strips",
    "whole_plot": "whole plots",
    "plot": "plots",
    "plot:rater": "raters on one plot",
    LAST: "{noun}s of one plot",
    TOGETHER: "plots and their only {noun}",
    WITHIN: "within single photos, at least",
}


def shares_context(page: Page) -> dict[str, Any]:
    """Fill the section on the sources of variation; it is empty in a demonstration.

    Parameters
    ----------
    page : Page
        Its tables ``variance_shares`` and ``variance_plans``.
    """
    definition = page.definition
    tested = definition.layout.tested
    shares = page.table("variance_shares") if tested else pd.DataFrame(columns=["source", "part"])
    plans = page.table("variance_plans") if tested else pd.DataFrame(columns=["measure"])
    return {
        "tested": tested,
        "waiting": page.waiting,
        "words": advice_words(plans, definition),
        "picture": page.figure("variance_shares"),
        "plans": plans_table(plans, definition),
        "shares": shares_table(shares, definition),
        "together": bool((shares["source"] == TOGETHER).any()),
        "photos": bool((shares["part"] == AT_LEAST).any()),
        "contradicted": bool((shares["part"] == NO_BOUND).any()),
        "blocked": definition.layout.blocks > 0,
    }


def reading_noun(definition: Definition, measure: str) -> str:
    """Name what is taken in a plot: a photo, a rating or a reading."""
    found = definition.measures[measure]
    if isinstance(found, PhotoMeasure):
        return "photo"
    return "rating" if isinstance(found, SheetMeasure) and found.scale is not None else "reading"


def source_words(source: str, noun: str) -> str:
    """Name a source of variation.

    Examples
    --------
    >>> source_words("whole_plot", "photo"), source_words("plot and reading", "photo")
    ('whole plots', 'plots and their only photo')
    """
    return _PLURALS[source].format(noun=noun)


def shown_shares(shares: pd.DataFrame, plans: pd.DataFrame, measure: str) -> pd.DataFrame:
    """Choose the rows of one date of a measure: that of its advice, or its last.

    Parameters
    ----------
    shares, plans : DataFrame
        Tables ``variance_shares`` and ``variance_plans`` of a run.
    measure : str
        A measure.

    Returns
    -------
    DataFrame
        Rows of ``variance_shares`` without what bounds nothing; none where nothing could be told.
    """
    own, asked = shares[shares["measure"] == measure], plans[plans["measure"] == measure]
    day = asked["date"].iloc[0] if len(asked) else own["date"].max()
    return own[(own["date"] == day) & (own["part"] != NO_BOUND)]


def advice_words(plans: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say in one sentence a measure what more readings or more blocks would bring.

    Parameters
    ----------
    plans : DataFrame
        Table ``variance_plans`` of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        In the definition's order of measures.
    """
    named = [name for name in definition.measures if (plans["measure"] == name).any()]
    return [_advice(plans[plans["measure"] == name], definition, name) for name in named]


def _advice(rows: pd.DataFrame, definition: Definition, measure: str) -> Sentence:
    view, noun = measure_view(definition, measure), reading_noun(definition, measure)
    at = {(str(row["plan"]), str(row["bound"] or "")): label for label, row in rows.iterrows()}
    decimals = _decimals(rows, definition, measure)

    def smallest(plan: str, bound: str = "") -> Said:
        label = int(str(at[plan, bound]))
        shown = text(view.difference(value_at(rows, label, "smallest")), decimals)
        return number("variance_plans", rows, label, "smallest", shown)

    now, more = (int(str(at[plan, ""])) for plan in (NOW, MORE_BLOCKS))
    blocks = int(value_at(rows, more, "blocks") - value_at(rows, now, "blocks"))
    added = _added(definition, blocks)
    parts: dict[str, object] = {
        "label": view.label,
        "day": day_text(row_at(rows, now)["date"]),
        "noun": noun,
        "now": smallest(NOW),
        "more": smallest(MORE_BLOCKS),
        "unit": view.difference_unit or "on the scale",
        "added": added,
    }
    form = (
        "{label}, {day}: as it was done, a true difference of {now} {unit} is seen with a chance "
        "of 80 %; with twice the {noun}s it is one of "
    )
    if (TWICE, "") in at:
        label = int(str(at[TWICE, ""]))
        share = text(value_at(rows, label, "reading_share"), 0)
        parts |= {
            "twice": smallest(TWICE),
            "share": number("variance_plans", rows, label, "reading_share", share),
            "verdict": _verdict(rows, at, added),
            "kind": stands_on(definition, main_factor(definition), row_at(rows, now)["date"]),
        }
        form += (
            "{twice}, with {added} one of {more}: {verdict}; the {noun}s make up {share} % of "
            "what blurs the mean of a {kind}."
        )
    else:
        best, least = (smallest(TWICE, bound) for bound in ("at most", "at least"))
        parts |= {"best": best, "least": least, "verdict": _verdict(rows, at, added)}
        twice = "{best}" if best.text == least.text else "{best} to {least}"
        form += twice + ", with {added} one of {more}: {verdict}."
    return Sentence(form.replace("{verdict}", str(parts.pop("verdict"))), parts)


def _decimals(rows: pd.DataFrame, definition: Definition, measure: str) -> int:
    """Choose decimals that show what one plan brings beside another."""
    view = measure_view(definition, measure)
    return decimals_for(view.difference(float(rows["smallest"].min())) / 8)


def _added(definition: Definition, added: int) -> str:
    layout = definition.layout
    if layout.kind == "latin square":
        return "one more square"
    if not layout.blocks:
        return f"{counted(added, 'more plot', 'more plots')} of each treatment"
    words = counted(added, "more block", "more blocks")
    return f"{words} on each ground" if layout.grounds else words


def _verdict(rows: pd.DataFrame, at: dict[tuple[str, str], Any], added: str) -> str:
    """Say which of the two brings more, as words that hold names of parts."""

    def smallest(plan: str, bound: str = "") -> float:
        return value_at(rows, int(str(at[plan, bound])), "smallest")

    more = smallest(MORE_BLOCKS)
    bring = "brings" if added.startswith("one ") else "bring"
    if (TWICE, "") in at:
        twice = smallest(TWICE)
        if abs(more - twice) <= _SAME * twice:
            return "the two bring about the same"
        return f"{{added}} {bring} more" if more < twice else "twice the {noun}s bring more"
    either = "as much or more, however the plots share their variation with the {noun}s"
    if more <= smallest(TWICE, "at most"):
        return f"{{added}} {bring} {either}"
    if more >= smallest(TWICE, AT_LEAST):
        return f"twice the {{noun}}s bring {either}"
    return "which brings more, one {noun} a plot cannot tell"


def plans_table(plans: pd.DataFrame, definition: Definition) -> Markup:
    """Show for each measure what every plan leaves of the error; empty without rows."""
    if plans.empty:
        return Markup("")
    heads = [Head("Measure"), Head("Plan"), Head("blocks", "", True)]
    heads += [Head("readings of a plot", "", True), Head("share of the readings", "%", True)]
    heads += [Head("standard error of a difference", "", True), Head("df", "", True)]
    heads += [Head("seen with a chance of 80 %", "", True)]
    if not definition.layout.blocks:
        heads[2] = Head("plots of a treatment", "", True)
    lines = []
    for name in definition.measures:
        rows = plans[plans["measure"] == name]
        view, decimals = measure_view(definition, name), 0
        if len(rows):
            decimals = _decimals(rows, definition, name)
        order = {NOW: 0, TWICE: 1, MORE_BLOCKS: 2}
        ordered = sorted(
            map(int, rows.index),
            key=lambda at: (order[str(row_at(plans, at)["plan"])], row_at(plans, at)["bound"]),
        )
        for at in ordered:
            row = row_at(plans, at)
            bound = _bound_words(row)
            shown = {
                "blocks": text(float(row["blocks"]), 0),
                "readings": f"{float(row['readings']):.3g}",
                "reading_share": _share_text(float(row["reading_share"])),
                "se": view.amount(text(view.difference(float(row["se"])), decimals + 1)),
                "df": df_text(float(row["df"])),
                "smallest": view.amount(text(view.difference(float(row["smallest"])), decimals)),
            }
            cells = [
                number("variance_plans", plans, at, column, words) if words != "–" else words
                for column, words in shown.items()
            ]
            plan = f"{row['plan']}{bound}".replace("readings", f"{reading_noun(definition, name)}s")
            lines.append(Row((f"{view.label}, {day_text(row['date'])}", plan), tuple(cells)))
    note = (
        "Of the complete layout, with the variances of this trial taken as the true ones; from few "
        "plots they are known roughly. Take the numbers as a guide, not as a promise."
    )
    return html_table("What more readings or more blocks would bring", heads, lines, note)


def _bound_words(row: pd.Series) -> str:
    """Say what is supposed of readings that cannot be told from their plots."""
    if not row["bound"] or row["bound"] != row["bound"]:
        return ""
    if row["bound"] != AT_LEAST:
        return ", if all that plots differ by is theirs"
    return ", if they vary as within a photo" if row["reading_share"] else ", if they never vary"


def _share_text(share: float) -> str:
    return "–" if share != share else text(share, 0)


def shares_table(shares: pd.DataFrame, definition: Definition) -> Markup:
    """Show the share of every source on every date; empty without rows."""
    if shares.empty:
        return Markup("")
    heads = [Head("Measure and date"), Head("Source"), Head("standard deviation", "", True)]
    heads += [Head("share", "%", True), Head("told from", "", True)]
    lines = []
    sources = list(_PLURALS)
    for name in definition.measures:
        rows = shares[shares["measure"] == name]
        view, noun = measure_view(definition, name), reading_noun(definition, name)
        largest = float(rows["variance"].max()) ** 0.5 if len(rows) else 1.0
        decimals, last = decimals_for(view.difference(largest) / 8), 0.0
        ordered = sorted(
            map(int, rows.index),
            key=lambda at: (
                row_at(shares, at)["date"],
                sources.index(row_at(shares, at)["source"]),
            ),
        )
        for at in ordered:
            row = row_at(shares, at)
            sd = view.amount(text(view.difference(float(row["variance"]) ** 0.5), decimals))
            cells = (
                number("variance_shares", shares, at, "variance", sd),
                number("variance_shares", shares, at, "share", text(float(row["share"]), 0)),
                number("variance_shares", shares, at, "n", str(int(row["n"]))),
            )
            words = source_words(str(row["source"]), noun)
            if row["part"] == NO_BOUND:
                words = "within single photos, no bound for the line above"
            elif row["source"] == WITHIN and float(row["variance"]) >= last:
                words = "within single photos, as much as the line above"
            last = float(row["variance"])
            lines.append(Row((f"{view.label}, {day_text(row['date'])}", words), cells))
    note = (
        "Treatments, and how severe each rater is on average, are set aside. What treatments do "
        "from block to block stands with the units. A source of 0 left no trace; it may be there "
        "all the same."
    )
    return html_table("Sources of variation, every measure and date", heads, lines, note)
