"""All dates of a measure in one model: which structure was chosen, tests and differences."""

from __future__ import annotations

import pandas as pd
from markupsafe import Markup

from wintersward.report.averages import averaged_words, of_measure
from wintersward.report.comparing import difference_decimals
from wintersward.report.comparisons import (
    difference_cells,
    difference_heads,
    in_order,
    pair_text,
    said_or_dash,
)
from wintersward.report.numbers import day_text, df_text, level_text, p_text, text
from wintersward.report.said import Sentence, number, row_at
from wintersward.report.seasonal import period_text, standing_words
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import any_unit, factor_label, in_sentence, measure_view
from wintersward.trial.schema import Definition

__all__ = [
    "joint_differences_table",
    "joint_tests_table",
    "joint_words",
    "structure_text",
    "structure_words",
    "structures_table",
    "term_text",
]

_STRUCTURES = {
    "cs": "alike on all dates",
    "car1": "fading with the days between",
}
_VERDICTS = ("chosen", "runner-up", "considered", "refused")


def structure_text(row: pd.Series) -> str:
    """Name how the dates of one unit hang together, by a row of the table ``structures``."""
    kind = _STRUCTURES.get(str(row["structure"]), str(row["structure"]))
    return f"{kind}, {'a variance for each date' if row['by_date'] == 'yes' else 'one variance'}"


def _scope(definition: Definition, scope: str) -> str:
    return in_sentence(factor_label(definition, scope))


def structure_words(
    structures: pd.DataFrame, definition: Definition, measure: str
) -> list[Sentence]:
    """Say how the dates of one unit were found to hang together, and what came second.

    Parameters
    ----------
    structures : DataFrame
        Table of a run.
    definition : Definition
        The trial.
    measure : str
        What was observed.

    Returns
    -------
    list of Sentence
        One a scope of the analysis.
    """
    rows, said = of_measure(structures, measure), []
    for scope, own in rows.groupby("scope", sort=False):
        chosen, second = (own[own["verdict"] == name] for name in ("chosen", "runner-up"))
        if chosen.empty:
            continue
        at = int(chosen.index[0])
        row = row_at(structures, at)
        aicc = text(float(row["aicc"]), 1)
        parts: dict[str, object] = {
            "scope": _scope(definition, str(scope)),
            "chosen": structure_text(row),
            "unit": any_unit(definition),
            "aicc": number("structures", structures, at, "aicc", aicc),
        }
        form = "For {scope}, observations of one {unit} are taken as {chosen} (AICc {aicc}"
        if len(second):
            other = int(second.index[0])
            parts["second"] = structure_text(row_at(structures, other))
            shown = text(float(row_at(structures, other)["aicc"]), 1)
            parts["runner"] = number("structures", structures, other, "aicc", shown)
            form += "; runner-up: {second}, AICc {runner}"
        if str(row["structure"]) == "car1" and pd.notna(row["correlation"]):
            day = text(float(row["correlation"]), 2)
            parts["day"] = number("structures", structures, at, "correlation", day)
            form += "; correlation of residuals one day apart {day}"
        said.append(Sentence(form + ").", parts))
    return said


def structures_table(structures: pd.DataFrame, definition: Definition, measure: str) -> Markup:
    """Show every structure that was tried, the chosen one first; empty where none was."""
    rows = of_measure(structures, measure)
    if rows.empty:
        return Markup("")
    heads = [Head("Treatments"), Head("Dates of one plot"), Head("verdict")]
    heads += [Head("AICc", "", True), Head("log-likelihood", "", True)]
    heads += [Head("parameters", "", True), Head("why")]
    rank = {name: at for at, name in enumerate(_VERDICTS)}
    ordered = rows.assign(_rank=rows["verdict"].map(rank).fillna(len(rank)))
    ordered = ordered.sort_values(["scope", "_rank", "aicc"], kind="stable")
    lines = []
    for at in map(int, ordered.index):
        row = row_at(structures, at)
        names = {n: text(float(row[n]), 1) for n in ("aicc", "loglik")}
        names["parameters"] = f"{float(row['parameters']):.0f}"
        cells: tuple[Cell, ...] = (
            str(row["verdict"]),
            *(said_or_dash("structures", structures, at, n, shown) for n, shown in names.items()),
            str(row["reason"]) if isinstance(row["reason"], str) else "",
        )
        label = factor_label(definition, str(row["scope"]))
        lines.append(Row((label, structure_text(row)), cells, strong=row["verdict"] == "chosen"))
    note = (
        "AICc weighs how well a model fits against how many numbers it needs (from the restricted "
        "likelihood, with the same fixed part): the lower, the better. "
        "Parameters count every variance and correlation, those at zero too. The simpler one is "
        "kept unless AICc falls by more than 2."
    )
    caption = f"{measure_view(definition, measure).label}: how the dates hang together"
    return html_table(caption, heads, lines, note)


def joint_words(differences: pd.DataFrame, definition: Definition, measure: str) -> list[Sentence]:
    """Say by how much the primary treatments differed, averaged over the dates of one model.

    Parameters
    ----------
    differences : DataFrame
        The table ``joint_differences``, in SI.
    definition : Definition
        The trial.
    measure : str
        What was observed.

    Returns
    -------
    list of Sentence
        One a primary comparison that could be estimated, over the dates of its own factor, and
        why they differ from season averages, where they do; empty without any.
    """
    own = of_measure(differences, measure)
    dated = own[own["date"].astype(str) != "all"]
    rows = own[(own["date"].astype(str) == "all") & own["difference"].notna()]
    days = dated.groupby("scope")["date"].nunique()
    two = len(days) > 0 and set(days[days.index.isin(rows["scope"])]) == {2}
    said = averaged_words(
        "joint_differences",
        rows,
        definition,
        measure,
        f"{standing_words(definition, measure)} with all dates in one model we estimate that, "
        f"averaged over the {'two visits' if two else 'dates'},",
        lambda pair: int(pair.index[0]),
    )
    weighed = "Season averages weigh every day the same, the model of all dates every visit."
    # Over two visits both weigh alike.
    return [*said, Sentence(weighed)] if said and not two else said


def term_text(definition: Definition, term: str) -> str:
    """Name a term of the model of all dates: ``cover:date`` as Cover × date."""
    names = [name for name in term.split(":") if name != "date"]
    said = factor_label(definition, ":".join(names)) if names else ""
    if "date" not in term.split(":"):
        return said
    return f"{said} × date" if said else "Date"


def joint_tests_table(tests: pd.DataFrame, definition: Definition, measure: str) -> Markup:
    """Show the tests of all dates together, design degrees of freedom beside those used."""
    rows = of_measure(tests, measure)
    if rows.empty:
        return Markup("")
    heads = [Head("Days"), Head("Term"), Head("F", "", True), Head("df, term", "", True)]
    heads += [Head("df by the layout", "", True), Head("df used", "", True), Head("p", "", True)]
    heads += [Head("tested against")]
    lines = []
    for at in map(int, rows.index):
        row = row_at(tests, at)
        shown = {"f": text(float(row["f"]), 2)}
        shown |= {n: df_text(float(row[n])) for n in ("df_num", "df_design", "df_den")}
        shown["p"] = p_text(float(row["p"]))
        cells = [said_or_dash("joint_tests", tests, at, n, words) for n, words in shown.items()]
        label = term_text(definition, str(row["term"]))
        lines.append(Row((period_text(row), label), (*cells, str(row["unit_kind"]))))
    methods = " and ".join(dict.fromkeys(rows["method"].astype(str)))
    note = f"Degrees of freedom used: {methods}. A term with × date asks whether the treatments "
    note += "differed in another way from date to date. The p values are not adjusted."
    caption = f"{measure_view(definition, measure).label}: F tests of all dates together"
    return html_table(caption, heads, lines, note)


def joint_differences_table(
    differences: pd.DataFrame, definition: Definition, measure: str, each: bool = False
) -> Markup:
    """Show differences in the model of all dates together.

    Parameters
    ----------
    differences : DataFrame
        The table ``joint_differences``, in SI.
    definition : Definition
        The trial.
    measure : str
        What was observed.
    each : bool
        Whether to show those of each date instead of those averaged over the dates.

    Returns
    -------
    Markup
        Empty where there are none.
    """
    rows = of_measure(differences, measure)
    rows = rows[(rows["date"].astype(str) != "all") == each]
    if rows.empty:
        return Markup("")
    view = measure_view(definition, measure)
    decimals = difference_decimals(view, rows)
    heads = [Head("Treatments"), Head("Date" if each else "Averaged over the dates of")]
    heads += difference_heads(view, level_text(definition.analysis.alpha))
    lines = []
    for at in in_order(rows, definition):
        row = row_at(differences, at)
        cells = difference_cells("joint_differences", differences, at, view, decimals)
        when = day_text(row["date"]) if each else _scope(definition, str(row["scope"]))
        if each and str(row["scope"]).count(":"):
            when += f", {_scope(definition, str(row['scope']))}"
        lines.append(Row((pair_text(definition, row), when), cells))
    what = "date by date" if each else "averaged over the dates"
    caption = f"{view.label}: differences {what}, all dates in one model"
    return html_table(caption, heads, lines, "Supporting: neither p nor intervals are adjusted.")
