"""The tables of results as a report words them: means, differences, tests, counts, answers."""

from __future__ import annotations

import datetime as dt

import pandas as pd
from markupsafe import Markup

from wintersward.report.adjusting import adjust_note, letters_note
from wintersward.report.averaging import over_words
from wintersward.report.comparing import difference_decimals, shown_differences
from wintersward.report.comparisons import difference_cells, difference_heads, pair_text
from wintersward.report.demonstrating import shown_means_table
from wintersward.report.no_spread import no_spread_words
from wintersward.report.numbers import (
    counted,
    day_text,
    days_listed,
    df_text,
    level_text,
    listed_words,
    mean_decimals,
    p_text,
    text,
)
from wintersward.report.said import Said, Sentence, number, row_at, value_at
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import (
    MeasureView,
    factor_label,
    in_sentence,
    level_label,
    main_factor,
    measure_view,
    unit_kind,
)
from wintersward.trial.schema import Definition

__all__ = [
    "differences_table",
    "means_table",
    "over_note",
    "effects_table",
]


def means_table(
    means: pd.DataFrame,
    definition: Definition,
    measure: str,
    effect: str,
    differences: pd.DataFrame | None = None,
    tests: pd.DataFrame | None = None,
    plot_means: pd.DataFrame | None = None,
) -> Markup:
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
    differences : DataFrame, optional
        Table of the run, which names the family behind letters.
    tests : DataFrame, optional
        Table of the run, which tells why a date has no letters.
    plot_means : DataFrame, optional
        Table of the run, which tells whose plots do not vary.

    Returns
    -------
    Markup
        Empty where there are no such means.
    """
    if not definition.layout.tested:
        return shown_means_table(means, definition, measure, effect)
    rows = means[(means["measure"] == measure) & (means["effect"] == effect)]
    if rows.empty:
        return Markup("")
    view, names = measure_view(definition, measure), effect.split(":")
    main = main_factor(definition)
    across = main if main in names else names[0]
    other = next((name for name in names if name != across), "")
    interval = f"{level_text(definition.analysis.alpha)} interval"
    heads = [Head("Date"), *([Head(factor_label(definition, other))] if other else [])]
    lettered = bool((rows["letters"].fillna("") != "").any())
    for level in definition.treatments[across].levels:
        group = level_label(definition, level)
        heads += [Head("mean", view.unit, True, group), Head(interval, "", True, group)]
        heads += [Head("letters", "", False, group)] if lettered else []
    decimals = mean_decimals([view.difference(float(se)) for se in rows["se"]])
    lines = []
    for day, here in rows.groupby("date", sort=True):
        for inner in definition.treatments[other].levels if other else [""]:
            cells: list[str | Said | Sentence] = []
            for level in definition.treatments[across].levels:
                parts = {across: level, other: inner}
                found = here[here["level"] == ":".join(parts[name] for name in names)]
                cells += _mean_cells(means, found, view, decimals)
                cells += [", ".join(found["letters"].fillna(""))] if lettered else []
            labels = (day_text(day), *([level_label(definition, inner)] if other else []))
            lines.append(Row(labels, tuple(cells)))
    caption = f"{view.label}: means by {_by(definition, effect)}"
    still = ""
    if plot_means is not None:
        still = no_spread_words(plot_means, definition, measure, effect, rows["date"])
    notes = (_units_note(rows, definition, names), _means_note(rows, view), still)
    note = " ".join(one for one in notes if one)
    if lettered and differences is not None:
        why = "" if tests is None else _without_letters(tests, rows, definition)
        note += f" {letters_note(differences, measure, why)}"
    return html_table(caption, heads, lines, note)


def _without_letters(tests: pd.DataFrame, rows: pd.DataFrame, definition: Definition) -> str:
    """Say on which days another factor, or the ground, keeps letters away, and how.

    Parameters
    ----------
    tests : DataFrame
        Table of a run.
    rows : DataFrame
        Means of one factor in one measure.
    definition : Definition
        The trial.
    """
    own, measure = str(rows["effect"].iloc[0]), str(rows["measure"].iloc[0])
    name = in_sentence(factor_label(definition, own))
    seen: dict[str, list[str]] = {}
    blind: dict[str, list[dt.date]] = {}
    bare = set(rows["date"]) - set(rows.loc[rows["letters"].fillna("") != "", "date"])
    for _, row in tests[tests["measure"] == measure].sort_values("date").iterrows():
        parts = str(row["term"]).split(":")
        if row["date"] not in bare or own not in parts or len(parts) < 2:
            continue
        other = in_sentence(factor_label(definition, next(p for p in parts if p != own)))
        day = pd.Timestamp(str(row["date"])).date()
        if pd.isna(row["p"]):
            blind.setdefault(other, []).append(day)
        elif row["p"] < definition.analysis.alpha:
            seen.setdefault(other, []).append(f"{day_text(day)} (p = {p_text(float(row['p']))})")
    said = [
        f"No letters stand on {listed_words(days)}: over all its treatments the {name} difference "
        f"may depend on the {other} (F test, secondary, unadjusted), which a mean over it hides."
        for other, days in seen.items()
    ]
    said += [
        f"No letters stand on {days_listed(days)}: whether the {name} difference depends on the "
        f"{other} could not be tested."
        for other, days in blind.items()
    ]
    return " ".join(said).replace("p = <", "p <")


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
    kind, blocks = unit_kind(definition, ":".join(factors)), definition.layout.block_count
    if fewest == most:
        said = f"Each mean is over {counted(most, kind)}"
        said += f" in {counted(blocks, 'block')}." if blocks else "."
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
    return over_words(rows, definition, "{name} treatments are")


def _means_note(rows: pd.DataFrame, view: MeasureView) -> str:
    note = ""
    ends = [view.value(float(end)) for end in [*rows["lower"], *rows["upper"]]]
    low, high = view.limits
    past = [low is not None and end < low or high is not None and end > high for end in ends]
    if any(past):
        note = (
            f"An interval reaches beyond what {view.noun} can be; it is shown as computed, for "
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
    heads = [Head("Treatments"), Head("Date")]
    level = level_text(definition.analysis.alpha)
    heads += difference_heads(view, level, ("p alone", "p, Holm"))
    lines = [_difference_row(differences, int(at), definition, view, decimals) for at in rows.index]
    caption = f"{view.label}: differences between treatments"
    caption += ", each within one treatment of the other factor" if within else ""
    note = f"{adjust_note(rows, definition)}{over_note(rows, definition)}"
    return html_table(caption, heads, lines, note)


def _difference_row(
    differences: pd.DataFrame, at: int, definition: Definition, view: MeasureView, decimals: int
) -> Row:
    row = row_at(differences, at)
    cells = difference_cells("differences", differences, at, view, decimals, ("p_alone", "p"))
    primary = row["role"] == "primary"
    if primary:  # no member of the family
        cells = (*cells[:-1], "–")
    day = day_text(row["date"]) + (", primary" if primary else "")
    return Row((pair_text(definition, row), day), cells, strong=primary)


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
