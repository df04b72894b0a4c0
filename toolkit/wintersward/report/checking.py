"""Checks of what the analysis supposes, and what the blocks were worth, as tables."""

from __future__ import annotations

import re

import pandas as pd
from markupsafe import Markup

from wintersward.report.comparisons import said_or_dash
from wintersward.report.numbers import (
    counted,
    day_text,
    decimals_for,
    in_words,
    listed_words,
    p_text,
    text,
)
from wintersward.report.said import Sentence, number, row_at, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import (
    MeasureView,
    factor_label,
    in_sentence,
    level_label,
    measure_view,
)
from wintersward.report.words import difference_text
from wintersward.trial.schema import Definition

__all__ = [
    "block_value_words",
    "checks_table",
    "checks_words",
    "replication_table",
    "replication_words",
]


def checks_words(checks: pd.DataFrame, definition: Definition) -> str:
    """Say how many checks ask for a look, and how many would do so by chance alone.

    Parameters
    ----------
    checks : DataFrame
        Table of a run.
    definition : Definition
        The trial, for its alpha.

    Returns
    -------
    str
        Empty without checks.
    """
    made = checks["p"].notna().sum()
    if not made:
        return ""
    alpha = definition.analysis.alpha
    found, chance = len(_asking(checks, definition)), round(made * alpha)
    few = f"about {in_words(chance)}" if chance else "hardly any"
    verb = "asks" if found == 1 else "ask"
    many = in_words(found, "none").capitalize()
    return (
        f"{many} of {made} tests {verb} for a look, with p below {alpha:g}; {few} would do so by "
        "chance."
    )


def _asking(checks: pd.DataFrame, definition: Definition) -> pd.DataFrame:
    return checks[checks["p"] < definition.analysis.alpha]


def checks_table(checks: pd.DataFrame, definition: Definition) -> Markup:
    """Show the tests of the assumptions that ask for a look; empty without any."""
    rows = _asking(checks, definition)
    if rows.empty:
        return Markup("")
    heads = [Head("Measure"), Head("Date"), Head("What is asked"), Head("test")]
    heads += [Head("statistic", "", True), Head("p", "", True)]
    heads += [Head("what it says", prose=True)]
    lines = []
    for at in map(int, rows.index):
        row = row_at(checks, at)
        cells = (
            str(row["test"]),
            said_or_dash("checks", checks, at, "statistic", text(float(row["statistic"]), 2)),
            said_or_dash("checks", checks, at, "p", p_text(float(row["p"]))),
            _labelled(str(row["text"]), definition),
        )
        label = measure_view(definition, str(row["measure"])).label
        lines.append(
            Row((label, day_text(row["date"]), _asked(str(row["check"]), definition)), cells)
        )
    note = "With few plots a test sees little either way; all tests stand in results/checks.csv."
    return html_table("Tests that ask for a look at the picture", heads, lines, note)


# Where the words of a check name treatments, as the files call them.
_SPREAD = re.compile(r"(?<=spread most in )(\S+)( and least in )([^\s,;]+)")


def _labelled(words: str, definition: Definition) -> str:
    """Name treatments as readers know them."""

    def named(found: re.Match[str]) -> str:
        most, least = (f"‘{level_label(definition, found[at])}’" for at in (1, 3))
        return f"{most}{found[2]}{least}"

    return _SPREAD.sub(named, words)


def _asked(check: str, definition: Definition) -> str:
    """Name factors as readers know them: ``additive blocks, cover``."""
    asked, _, factors = check.partition(", ")
    names = [in_sentence(factor_label(definition, name)) for name in factors.split(" and ") if name]
    return f"{asked}, {listed_words(names)}" if names else asked


def block_value_words(block_value: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say what the blocks were worth on the primary date.

    Parameters
    ----------
    block_value : DataFrame
        Table of a run.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
    """
    said = []
    for at in map(int, block_value.index):
        row = row_at(block_value, at)
        view = measure_view(definition, str(row["measure"]))
        parts: dict[str, object] = {"noun": view.noun, "day": day_text(row["date"])}
        # What stands in brackets is for the files.
        words = str(row["text"]).partition(" (")[0].rstrip(".")
        paid = "Blocking paid for {noun} on {day}: " if words.startswith("without") else ""
        start = paid or "For {noun} on {day}: "
        parts["words"] = words
        form = start + "{words}." if words else ""
        if pd.notna(row["cv"]):
            parts["cv"] = number("block_value", block_value, at, "cv", text(float(row["cv"]), 0))
            form += " " if form else start
            form += (
                "Plots treated alike still differed by about {cv} % of their mean within a block."
                if words
                else "plots treated alike still differed by about {cv} % of their mean."
            )
        if form:
            said.append(Sentence(form, parts))
    return said


_PURPOSES = {
    "difference": "that the interval leaves out zero if the true difference is {margin}",
    "equivalence": "to show, if the true difference is zero, that it is less than {margin} "
    "either way",
}
# A chance that trials are commonly planned for; common practice, no source.
_WANTED = 0.8


def _margin(replication: pd.DataFrame, purpose: str, definition: Definition) -> str:
    """Write the difference, or the margin, that a purpose is planned for."""
    measure = definition.analysis.primary.measure
    held = replication.loc[replication["purpose"] == purpose, "margin"]
    return difference_text(definition, measure, float(held.iloc[0]))


def replication_words(replication: pd.DataFrame, definition: Definition) -> Sentence:
    """Say the chance with as many blocks as now, and with the fewest that give a good one.

    Parameters
    ----------
    replication : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Sentence
        Empty without rows.
    """
    rows = replication[(replication["purpose"] == "difference") & replication["power"].notna()]
    if rows.empty:
        return Sentence("")
    now = definition.layout.blocks or definition.layout.replicates or 0
    enough = rows.loc[rows["power"] >= _WANTED, "blocks"]
    wanted = {now, int(enough.min()) if len(enough) else int(rows["blocks"].max())}
    kept = rows[rows["blocks"].isin(wanted)].sort_values("blocks")
    if kept.empty:
        return Sentence("")
    one = "block" if definition.layout.blocks else "replicate"
    parts: dict[str, object] = {"margin": _margin(replication, "difference", definition)}
    each: list[str] = []
    for at in map(int, kept.index):
        shown = _percent(value_at(replication, at, "power"))
        parts[f"p{at}"] = number("replication", replication, at, "power", shown)
        blocks = counted(int(value_at(kept, at, "blocks")), one)
        blocks += " on each ground" if definition.layout.grounds else ""
        parts[f"n{at}"] = blocks if each else blocks[:1].upper() + blocks[1:]
        each.append(
            f"{{n{at}}} about {{p{at}}} %"
            if each
            else (f"{{n{at}}} would give a chance of about {{p{at}}} %")
        )
    form = ", ".join(each) + ", that the interval leaves out zero if the true difference is "
    return Sentence(
        form + "{margin}. It is not the chance of showing that the difference is at least "
        "{margin}.",
        parts,
    )


def replication_table(replication: pd.DataFrame, definition: Definition) -> Markup:
    """Show the chance to see the smallest difference that matters with so many blocks.

    Parameters
    ----------
    replication : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        A row a number of blocks, a group of columns a purpose; empty without rows.
    """
    if replication.empty:
        return Markup("")
    view = measure_view(definition, definition.analysis.primary.measure)
    purposes = list(dict.fromkeys(replication["purpose"].astype(str)))
    one = "blocks" if definition.layout.blocks else "replicates"
    one += " on each ground" if definition.layout.grounds else ""
    heads = [Head(one[:1].upper() + one[1:], "", True)]
    for purpose in purposes:
        margin = _margin(replication, purpose, definition)
        group = _PURPOSES.get(purpose, purpose.replace("_", " ")).format(margin=margin)
        heads += [Head("chance", "%", True, group)]
        heads += [Head("half-width of the interval", view.difference_unit, True, group)]
    heads += [Head("smallest p by randomisation", "", True)]
    # Fine enough to see what one more block brings.
    decimals = decimals_for(view.difference(float(replication["half_width"].min())) / 8)
    lines = []
    for blocks, here in replication.groupby("blocks", sort=True):
        cells: list[Cell] = []
        for purpose in purposes:
            rows = here.index[here["purpose"] == purpose]
            cells += _chance(replication, int(rows[0]), view, decimals) if len(rows) else ["–", "–"]
        at = int(here.index[0])
        least = p_text(value_at(replication, at, "smallest_p"))
        cells.append(said_or_dash("replication", replication, at, "smallest_p", least))
        lines.append(Row((f"{float(str(blocks)):.0f}",), tuple(cells)))
    note = (
        "Half-widths are those to expect. All is planned from the variances of this trial, which "
        "are uncertain themselves: take the numbers as a guide, not as a promise."
    )
    return html_table(
        f"{one[:1].upper()}{one[1:]} that a like trial would need", heads, lines, note
    )


def _chance(replication: pd.DataFrame, at: int, view: MeasureView, decimals: int) -> list[Cell]:
    power = value_at(replication, at, "power")
    half = view.difference(value_at(replication, at, "half_width"))
    shown = {"power": _percent(power), "half_width": text(half, decimals)}
    return [said_or_dash("replication", replication, at, n, words) for n, words in shown.items()]


def _percent(share: float) -> str:
    """Write a chance in percent; a chance is never sure."""
    return "> 99" if share > 0.995 else f"{100 * share:.0f}"
