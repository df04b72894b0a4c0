"""The tables of results as a report words them: means, differences, tests, counts, answers."""

from __future__ import annotations

import math

import pandas as pd
from markupsafe import Markup

from wintersward.report.comparing import difference_decimals, shown_differences
from wintersward.report.numbers import (
    Said,
    Sentence,
    counted,
    day_text,
    df_text,
    interval_said,
    level_text,
    mean_decimals,
    number,
    p_text,
    row_at,
    text,
    value_at,
)
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import (
    MeasureView,
    averaged_over,
    factor_label,
    in_sentence,
    level_label,
    main_factor,
    measure_view,
    within_label,
)
from wintersward.report.words import shown_decimals
from wintersward.trial.schema import Definition

__all__ = [
    "ADJUSTED",
    "answers_table",
    "differences_table",
    "means_table",
    "over_note",
    "effects_table",
]

ADJUSTED = {
    "tukey": "Tukey's method",
    "holm": "Holm's method",
    "bonferroni": "Bonferroni's method",
}


def means_table(means: pd.DataFrame, definition: Definition, measure: str, effect: str) -> Markup:
    """Show the estimated means of an effect, a row a date, side by side for the treatments.

    Parameters
    ----------
    means : DataFrame
        Table of a run, of any measures, in SI.
    definition : Definition
        The trial.
    measure : str
        What was observed.
    effect : str
        A factor, or two joined by ``:``; the main factor goes across.

    Returns
    -------
    Markup
        Empty where there are no such means.
    """
    rows = means[(means["measure"] == measure) & (means["effect"] == effect)]
    if rows.empty:
        return Markup("")
    view, names = measure_view(definition, measure), effect.split(":")
    main = main_factor(definition)
    across = main if main in names else names[0]
    other = next((name for name in names if name != across), "")
    interval = f"{level_text(definition.analysis.alpha)} interval"
    heads = [Head("Date"), *([Head(factor_label(definition, other))] if other else [])]
    for level in definition.treatments[across].levels:
        group = level_label(definition, level)
        heads += [Head("mean", view.unit, True, group), Head(interval, "", True, group)]
    decimals = mean_decimals([view.difference(float(se)) for se in rows["se"]])
    lines = []
    for day, here in rows.groupby("date", sort=True):
        for inner in definition.treatments[other].levels if other else [""]:
            cells: list[str | Said | Sentence] = []
            for level in definition.treatments[across].levels:
                parts = {across: level, other: inner}
                found = here[here["level"] == ":".join(parts[name] for name in names)]
                cells += _mean_cells(means, found, view, decimals)
            labels = (day_text(day), *([level_label(definition, inner)] if other else []))
            lines.append(Row(labels, tuple(cells)))
    caption = f"{view.label}: means by {_by(definition, effect)}"
    note = f"{_units_note(rows, definition, names)} {_means_note(rows, definition, view)}"
    return html_table(caption, heads, lines, note)


def _by(definition: Definition, effect: str) -> str:
    return " and ".join(in_sentence(factor_label(definition, name)) for name in effect.split(":"))


def _mean_cells(
    means: pd.DataFrame, found: pd.DataFrame, view: MeasureView, decimals: int
) -> list[str | Said | Sentence]:
    if found.empty:
        return ["–", "–"]
    at = int(found.index[0])
    said = {
        name: number(
            "means", means, at, name, text(view.value(value_at(means, at, name)), decimals)
        )
        for name in ("mean", "lower", "upper")
    }
    return [said["mean"], Sentence("{lower} to {upper}", said)]


def _units_note(rows: pd.DataFrame, definition: Definition, factors: list[str]) -> str:
    """Say over how many units the means are, and over which other treatments."""
    fewest, most = int(rows["units"].min()), int(rows["units"].max())
    split = definition.layout.whole_plot
    kind = "whole plot" if factors == [split] else "subplot" if split else "plot"
    if fewest == most:
        blocks = counted(definition.layout.blocks, "block")
        said = f"Each mean is over {counted(most, kind)} in {blocks}."
    else:
        said = f"The means are over {fewest} to {most} {kind}s; results/means.csv tells which."
    return said + over_note(rows, definition)


def over_note(rows: pd.DataFrame, definition: Definition) -> str:
    """Say over which treatments of the other factor rows of single factors are averaged.

    Parameters
    ----------
    rows : DataFrame
        With the columns date and effect.
    definition : Definition
        The trial.
    """
    said: dict[str, str] = {}
    for _, row in rows.sort_values("date", kind="stable").iterrows():
        effect = str(row["effect"])
        if ":" in effect or str(row.get("within", "") or ""):
            continue
        if over := averaged_over(definition, effect, row["date"]):
            label = in_sentence(factor_label(definition, effect))
            said.setdefault(f"{label} treatments are {over}", day_text(row["date"]))
    return "".join(f" From {day} on, {words}." for words, day in said.items())


def _means_note(rows: pd.DataFrame, definition: Definition, view: MeasureView) -> str:
    note = (
        "The interval of a mean holds the variation between blocks; whether two of them overlap "
        "is no test of a difference."
    )
    ends = [view.value(float(end)) for end in [*rows["lower"], *rows["upper"]]]
    low, high = view.limits
    past = [low is not None and end < low or high is not None and end > high for end in ends]
    if any(past):
        note += (
            f" An interval reaches beyond what {view.noun} can be; it is shown as computed, for "
            "the model does not know of such limits."
        )
    return note


def differences_table(
    differences: pd.DataFrame, definition: Definition, measure: str, within: bool = False
) -> Markup:
    """Show differences between treatments, pair by pair and date by date.

    Parameters
    ----------
    differences : DataFrame
        Table of a run, of any measures, in SI.
    definition : Definition
        The trial.
    measure : str
        What was observed.
    within : bool
        Whether to show those inside single treatments of the other factor instead of those
        over all of them.

    Returns
    -------
    Markup
        Empty where there are no such differences.
    """
    if within:
        inside = differences["within"].fillna("") != ""
        rows = differences[(differences["measure"] == measure) & inside]
        rows = rows.sort_values(["effect", "left", "right", "within", "date"], kind="stable")
    else:
        rows = shown_differences(differences, definition, measure)
    if rows.empty:
        return Markup("")
    view = measure_view(definition, measure)
    decimals = difference_decimals(view, rows)
    unit, interval = view.difference_unit, f"{level_text(definition.analysis.alpha)} interval"
    heads = [
        Head("Treatments"),
        Head("Date"),
        Head("difference", unit, True),
        Head(interval, unit, True),
        Head("standard error", unit, True),
        Head("df", "", True),
        Head("p", "", True),
    ]
    lines = [_difference_row(differences, int(at), definition, view, decimals) for at in rows.index]
    caption = f"{view.label}: differences between treatments"
    caption += ", each within one treatment of the other factor" if within else ""
    note = f"{_adjust_note(rows, definition)}{over_note(rows, definition)}"
    return html_table(caption, heads, lines, note)


def _difference_row(
    differences: pd.DataFrame, at: int, definition: Definition, view: MeasureView, decimals: int
) -> Row:
    row = row_at(differences, at)
    left, right = (level_label(definition, str(row[side])) for side in ("left", "right"))
    pair = f"{left} minus {in_sentence(right)}"
    inside = within_label(definition, str(row["within"]) if row["within"] == row["within"] else "")
    pair += f", with {in_sentence(inside)}" if inside else ""
    primary = row["role"] == "primary"

    def said(name: str, shown: str) -> str | Said:
        if not math.isfinite(float(row[name])):
            return "–"
        return number("differences", differences, at, name, shown)

    shown = {
        name: text(view.difference(float(row[name])), decimals, signed=True)
        for name in ("difference", "lower", "upper")
    }
    ends = {name: said(name, shown[name]) for name in ("lower", "upper")}
    cells = (
        said("difference", shown["difference"]),
        interval_said(ends),
        said("se", text(view.difference(float(row["se"])), decimals + 1)),
        said("df", df_text(float(row["df"]))),
        said("p", p_text(float(row["p"]))),
    )
    day = day_text(row["date"]) + (", primary" if primary else "")
    return Row((pair, day), cells, strong=primary)


def _adjust_note(rows: pd.DataFrame, definition: Definition) -> str:
    """Say what is adjusted in a table of differences, as what family, and what is not."""
    notes = []
    within = (rows["within"].fillna("") != "").any()
    secondary = rows[rows["role"] == "secondary"]
    alone = "one on each date"
    alone += " within each treatment of the other factor" if within else ""
    for effect, group in secondary.groupby("effect", sort=False):
        label = in_sentence(factor_label(definition, str(effect)))
        methods = [ADJUSTED[m] for m in dict.fromkeys(group["adjust"]) if m in ADJUSTED]
        if methods:
            inside = ", within one treatment of the other factor," if within else ""
            notes.append(
                f"Pairs of {label} treatments on one date{inside} are one family: their intervals "
                f"and p are adjusted by {' and '.join(methods)}."
            )
        else:
            notes.append(f"The pair of {label} treatments is not adjusted: there is {alone}.")
    if (rows["role"] == "primary").any():
        notes.append("The primary question stands alone and is not adjusted.")
    if len(secondary):
        notes.append("All other comparisons are secondary." if not within else "All are secondary.")
    return " ".join(notes)


def effects_table(tests: pd.DataFrame, definition: Definition, measure: str) -> Markup:
    """Show the F tests of a measure, with the experimental unit of every term."""
    rows = tests[tests["measure"] == measure]
    if rows.empty:
        return Markup("")
    heads = [
        Head("Date"),
        Head("Term"),
        Head("F", "", True),
        Head("df, term", "", True),
        Head("df, error", "", True),
        Head("p", "", True),
        Head("tested against"),
    ]
    lines = []
    for at in rows.index:
        row = row_at(tests, at)
        show = {"f": text(float(row["f"]), 2), "p": p_text(float(row["p"]))}
        show |= {name: df_text(float(row[name])) for name in ("df_num", "df_den")}
        cells = [
            number("tests", tests, int(at), n, show[n]) for n in ("f", "df_num", "df_den", "p")
        ]
        label = factor_label(definition, str(row["term"]))
        lines.append(Row((day_text(row["date"]), label), (*cells, f"{row['unit_kind']}s")))
    view = measure_view(definition, measure)
    methods = " and ".join(dict.fromkeys(tests.loc[rows.index, "method"]))
    note = f"Degrees of freedom of the error: {methods}. The p values are not adjusted."
    return html_table(f"{view.label}: F tests of the treatment terms", heads, lines, note)


def answers_table(primary: pd.DataFrame, definition: Definition) -> Markup:
    """Show the primary answer as planned beside that with excluded observations put back."""
    if primary.empty:
        return Markup("")
    view = measure_view(definition, str(primary["measure"].iloc[0]))
    decimals = max(shown_decimals(row_at(primary, int(at)), view) for at in primary.index)
    left, right = (level_label(definition, str(primary[s].iloc[0])) for s in ("left", "right"))
    unit, interval = view.difference_unit, f"{level_text(definition.analysis.alpha)} interval"
    heads = [
        Head("Analysis"),
        Head(f"{left}, mean", view.unit, True),
        Head(f"{right}, mean", view.unit, True),
        Head("difference", unit, True),
        Head(interval, unit, True),
        Head("df", "", True),
        Head("p", "", True),
    ]
    lines = []
    for at in primary.index:
        row = row_at(primary, at)

        def said(name: str, shown: str, at: int = int(at)) -> str | Said:
            if not math.isfinite(value_at(primary, at, name)):
                return "–"
            return number("primary", primary, at, name, shown)

        means = [
            said(n, text(view.value(float(row[n])), decimals)) for n in ("left_mean", "right_mean")
        ]
        gap = {
            n: said(n, text(view.difference(float(row[n])), decimals, signed=True))
            for n in ("difference", "lower", "upper")
        }
        ends = interval_said({n: gap[n] for n in ("lower", "upper")})
        rest = (said("df", df_text(float(row["df"]))), said("p", p_text(float(row["p"]))))
        cells: tuple[Cell, ...] = (*means, gap["difference"], ends, *rest)
        which = str(row["which"])
        lines.append(Row((which[0].upper() + which[1:],), cells, strong=which == "as planned"))
    return html_table("The primary question, with and without exclusions", heads, lines)
