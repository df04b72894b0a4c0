"""Season averages, and seasons taken together, as a report words them."""

from __future__ import annotations

from collections.abc import Iterable

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
from wintersward.report.numbers import (
    counted,
    day_text,
    df_text,
    level_text,
    listed_words,
    mean_decimals,
    p_text,
    text,
)
from wintersward.report.said import Sentence, interval_said, number, row_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import (
    any_unit,
    factor_label,
    level_label,
    measure_view,
    plots_with,
)
from wintersward.report.words import amount_parts
from wintersward.trial.schema import Definition, LoggerMeasure

__all__ = [
    "period_text",
    "season_differences_table",
    "season_means_table",
    "season_words",
    "seasons_differences_table",
    "seasons_tests_table",
    "seasons_words",
    "standing_words",
]


# Loggers record every day; only some days are compared.
_BETWEEN = (
    " Straight lines between these few days stand for the days between them; what loggers recorded "
    "on every day stands under Temperature and light."
)


def period_text(row: pd.Series) -> str:
    """Name the time that a row is about.

    Examples
    --------
    >>> period_text(pd.Series({"first": "2026-03-10", "last": "2026-04-17"}))
    '10 March 2026 to 17 April 2026'
    """
    return f"{day_text(row['first'])} to {day_text(row['last'])}"


def standing_words(definition: Definition, measure: str) -> str:
    """Say, to open a sentence, how much an average over dates may be made of."""
    primary = measure == definition.analysis.primary.measure
    return (
        "Supporting, not adjusted:" if primary else "Secondary, not adjusted for other comparisons:"
    )


def season_words(
    differences: pd.DataFrame,
    definition: Definition,
    measure: str,
    visits: Iterable[object] = (),
) -> list[Sentence]:
    """Say by how much the primary treatments differed on average over the season.

    Parameters
    ----------
    differences : DataFrame
        The table ``season_differences``, in SI.
    definition : Definition
        The trial.
    measure : str
        What was observed.
    visits : iterable of date, optional
        Days on which it was observed: an average over two of them is called that.

    Returns
    -------
    list of Sentence
        One a primary comparison, over the longest time that is there; none for a logger, whose
        record of every day tells the average better than lines between a few.
    """
    rows = of_measure(differences, measure)
    rows = rows[(rows["within"].fillna("") == "") & rows["difference"].notna()]
    seen = pd.DatetimeIndex([pd.Timestamp(str(day)) for day in visits]).unique()

    def days(row: pd.Series) -> dict[str, object]:
        first, last = (pd.Timestamp(str(row[name])) for name in ("first", "last"))
        two = ((seen >= first) & (seen <= last)).sum() == 2
        over = "of the two visits on {} and {}" if two else "over all days from {} to {}"
        return {"days": over.format(day_text(first), day_text(last))}

    if isinstance(definition.measures[measure], LoggerMeasure):
        return []
    return averaged_words(
        "season_differences",
        rows,
        definition,
        measure,
        f"{standing_words(definition, measure)} we estimate that on average {{days}}",
        lambda pair: int(pair.sort_values("first", kind="stable").index[0]),
        days,
    )


def season_means_table(means: pd.DataFrame, definition: Definition, measure: str) -> Markup:
    """Show the season averages of the treatments; empty where there are none."""
    rows = of_measure(means, measure)
    if rows.empty:
        return Markup("")
    view, level = measure_view(definition, measure), level_text(definition.analysis.alpha)
    heads = [Head("Days"), Head("Treatment"), Head("average", view.unit, True)]
    heads += [Head(f"{level} interval", view.unit, True), Head("units", "", True)]
    decimals = mean_decimals([view.difference(float(se)) for se in rows["se"]])
    lines = []
    for at in _means_in_order(rows, definition):
        row = row_at(means, at)
        said = {
            n: said_or_dash("season_means", means, at, n, text(view.value(float(row[n])), decimals))
            for n in ("mean", "lower", "upper")
        }
        units = number("season_means", means, at, "units", str(int(row["units"])))
        ends = interval_said({n: said[n] for n in ("lower", "upper")})
        label = level_label(definition, str(row["level"]))
        lines.append(Row((period_text(row), label), (said["mean"], ends, units)))
    note = (
        f"Each average is the area under the curve of a {any_unit(definition)} over the real "
        "dates, divided by the days between the first and the last. Intervals are not adjusted."
    )
    if isinstance(definition.measures[measure], LoggerMeasure):
        note += _BETWEEN
    return html_table(f"{view.label}: averages over the season", heads, lines, note)


def _means_in_order(rows: pd.DataFrame, definition: Definition) -> list[int]:
    """Order means by time, effect and the definition's treatments."""
    levels = [level for factor in definition.treatments.values() for level in factor.levels]

    def rank(at: int) -> tuple[object, ...]:
        row = row_at(rows, at)
        names = str(row["level"]).split(":")
        first = pd.Timestamp(str(row["first"]))
        effects = [list(definition.treatments).index(n) for n in str(row["effect"]).split(":")]
        return (first, len(effects), effects, [levels.index(name) for name in names])

    return sorted(map(int, rows.index), key=rank)


def season_differences_table(
    differences: pd.DataFrame, definition: Definition, measure: str
) -> Markup:
    """Show the differences between season averages; empty where there are none."""
    rows = of_measure(differences, measure)
    if rows.empty:
        return Markup("")
    view = measure_view(definition, measure)
    decimals = difference_decimals(view, rows)
    heads = [Head("Days"), Head("Treatments")]
    heads += difference_heads(view, level_text(definition.analysis.alpha))
    lines = []
    for at in in_order(rows, definition, ["first"]):
        row = row_at(differences, at)
        cells = difference_cells("season_differences", differences, at, view, decimals)
        lines.append(Row((period_text(row), pair_text(definition, row)), cells))
    note = "Supporting: neither p nor intervals are adjusted."
    if isinstance(definition.measures[measure], LoggerMeasure):
        note += _BETWEEN
    caption = f"{view.label}: differences between averages over the season"
    return html_table(caption, heads, lines, note)


def seasons_words(differences: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say what the seasons together tell of the primary comparisons.

    Parameters
    ----------
    differences : DataFrame
        The table ``seasons_differences``, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One a primary comparison.
    """
    seasons = [s for s in dict.fromkeys(differences["season"].astype(str)) if s != "all"]
    over, said = differences[differences["season"] == "all"], []
    for left, right in definition.analysis.primary.pairs:
        pair = over[(over["left"] == left) & (over["right"] == right)]
        pair = pair[pair["difference"].notna()]
        if pair.empty:
            continue
        at = int(pair.index[0])
        view = measure_view(definition, str(row_at(differences, at)["measure"]))
        decimals = difference_decimals(view, pair)
        parts = amount_parts("seasons_differences", differences, at, view, decimals)
        parts |= {"left": plots_with(definition, left), "right": plots_with(definition, right)}
        parts |= {"noun": view.noun, "level": level_text(definition.analysis.alpha)}
        parts |= {"seasons": listed_words(seasons), "many": counted(len(seasons), "season")}
        form = "{left} had {estimate} {more} {noun} than {right}"
        if view.rated:
            form = "the {noun} of {left} was {estimate} {more} than that of {right}"
        said.append(
            Sentence(
                "Over the {many} {seasons} together we estimate that on the primary dates "
                + form
                + " ({level} interval {interval}).",
                parts,
            )
        )
    return said


def seasons_differences_table(differences: pd.DataFrame, definition: Definition) -> Markup:
    """Show the differences of each season and over the seasons; empty without earlier ones."""
    if differences.empty:
        return Markup("")
    view = measure_view(definition, str(differences["measure"].iloc[0]))
    decimals = difference_decimals(view, differences)
    heads = [Head("Treatments"), Head("Season")]
    heads += difference_heads(view, level_text(definition.analysis.alpha))
    ordered = differences.assign(_last=differences["season"] == "all")
    ordered = ordered.sort_values(["_last", "season"], kind="stable")
    lines = []
    for at in in_order(ordered, definition):
        row = row_at(differences, at)
        cells = difference_cells("seasons_differences", differences, at, view, decimals)
        season = str(row["season"])
        label = "all seasons" if season == "all" else season
        lines.append(Row((pair_text(definition, row), label), cells, strong=season == "all"))
    caption = f"{view.label}: differences of each season, and over the seasons"
    return html_table(caption, heads, lines, "Supporting: neither p nor intervals are adjusted.")


def seasons_tests_table(tests: pd.DataFrame, definition: Definition) -> Markup:
    """Show whether treatments differ over seasons, and whether they do so alike in each."""
    if tests.empty:
        return Markup("")
    heads = [Head("Term"), Head("F", "", True), Head("df, term", "", True)]
    heads += [Head("df, error", "", True), Head("p", "", True), Head("tested against")]
    lines = []
    for at in map(int, tests.index):
        row = row_at(tests, at)
        shown = {"f": text(float(row["f"]), 2), "p": p_text(float(row["p"]))}
        shown |= {n: df_text(float(row[n])) for n in ("df_num", "df_den")}
        cells: list[Cell] = [
            said_or_dash("seasons_tests", tests, at, n, shown[n])
            for n in ("f", "df_num", "df_den", "p")
        ]
        label = _season_term(definition, str(row["term"]))
        lines.append(Row((label,), (*cells, str(row["unit_kind"]))))
    note = "A term with × season asks whether the treatments differed in another way each season."
    return html_table("Seasons together: F tests", heads, lines, note)


def _season_term(definition: Definition, term: str) -> str:
    names = [name for name in term.split(":") if name != "season"]
    said = factor_label(definition, ":".join(names)) if names else ""
    if "season" not in term.split(":"):
        return said
    return f"{said} × season" if said else "Season"
