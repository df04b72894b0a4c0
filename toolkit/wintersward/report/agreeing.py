"""How raters agree with one another, and the eye with the photo, as tables."""

from __future__ import annotations

import pandas as pd
from markupsafe import Markup

from wintersward.report.comparisons import said_or_dash
from wintersward.report.numbers import common_decimals, day_text, listed_words, text
from wintersward.report.said import Sentence, interval_said, number, row_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import MeasureView, measure_view, rater_name
from wintersward.trial.schema import Definition

__all__ = ["agreement_table", "agreement_words", "eye_words", "rater_gaps", "rater_words"]
__all__ += ["raters_table"]

_CORRELATION, _ON_ONE_DATE = "repeated-measures correlation", "between plots, within dates"


def agreement_table(
    agreement: pd.DataFrame, definition: Definition, measure: str, against: str
) -> Markup:
    """Show how well a measure agrees with another one, or its raters with one another.

    Parameters
    ----------
    agreement : DataFrame
        Table of a run.
    definition : Definition
        The trial.
    measure : str
        The rated measure.
    against : str
        ``raters``, or a measure from photos.

    Returns
    -------
    Markup
        Empty without rows.
    """
    rows = agreement[(agreement["measure"] == measure) & (agreement["against"] == against)]
    if rows.empty:
        return Markup("")
    view = measure_view(definition, measure)
    heads = [Head("Statistic"), Head("Form"), Head("value", "", True)]
    heads += [Head("95 % interval", "", True), Head("n", "", True)]
    lines = []
    for at in map(int, rows.index):
        row = row_at(agreement, at)
        statistic = str(row["statistic"])
        said = {
            n: said_or_dash("agreement", agreement, at, n, _shown(view, row, n))
            for n in ("value", "lower", "upper")
        }
        cells = (
            said["value"],
            interval_said({n: said[n] for n in ("lower", "upper")}),
            said_or_dash("agreement", agreement, at, "n", f"{float(row['n']):.0f}"),
        )
        lines.append(Row((statistic[:1].upper() + statistic[1:], str(row["form"])), cells))
    other = "its raters" if against == "raters" else measure_view(definition, against).noun
    note = "n counts plots and dates."
    if rows["statistic"].isin(["bias", "limits"]).any() and view.difference_unit:
        note += f" Bias and limits are in {view.difference_unit}."
    caption = f"{view.label} and {other}: agreement"
    return html_table(caption, heads, lines, note)


def agreement_words(
    agreement: pd.DataFrame, measure: str, against: str, few: bool = False
) -> list[tuple[str, str]]:
    """Say what each number of `agreement_table` tells, the same words once.

    Parameters
    ----------
    agreement : DataFrame
        Table of a run.
    measure, against : str
        As for `agreement_table`.
    few : bool
        Whether to keep, of raters, only absolute agreement on single dates: what a reader of
        one visit can rely on, where every mark counts as it was written down.

    Returns
    -------
    list of (str, str)
        Which numbers, and the words.
    """
    rows = agreement[(agreement["measure"] == measure) & (agreement["against"] == against)]
    forms = rows["form"].astype(str)
    kept = forms.str.contains("absolute") & forms.str.contains("within dates")
    rows = rows[kept] if few and kept.any() else rows
    said: dict[str, list[str]] = {}
    for _, row in rows.iterrows():
        name = f"{row['statistic']}, {row['form']}"
        said.setdefault(str(row["text"]).rstrip("."), []).append(name)
    return [(listed_words(names), words) for words, names in said.items()]


def eye_words(agreement: pd.DataFrame, definition: Definition, measure: str) -> list[Sentence]:
    """Say how the eye went together with each measure from photos, from plot to plot on one date.

    Parameters
    ----------
    agreement : DataFrame
        Table of a run.
    definition : Definition
        The trial.
    measure : str
        What was rated.
    """
    rows = agreement[(agreement["measure"] == measure) & (agreement["against"] != "raters")]
    rows = rows[(rows["statistic"] == _CORRELATION) & (rows["form"] == _ON_ONE_DATE)]
    rows = rows.dropna(subset=["value", "lower", "upper"])
    said = []
    for at in map(int, rows.index):
        row = row_at(agreement, at)
        parts: dict[str, object] = {
            n: said_or_dash("agreement", agreement, at, n, text(float(row[n]), 2))
            for n in ("value", "lower", "upper")
        }
        parts["photo"] = measure_view(definition, str(row["against"])).noun
        said.append(
            Sentence(
                "From plot to plot on one date the eye and {photo} from photos went together with "
                "r = {value} (95 % interval {lower} to {upper}).",
                parts,
            )
        )
    return said


def _shown(view: MeasureView, row: pd.Series, name: str) -> str:
    """Write a share with two decimals, a difference in the reader's unit."""
    value = float(row[name])
    if str(row["statistic"]) in ("bias", "limits"):
        half = (float(row["upper"]) - float(row["lower"])) / 4
        decimals = common_decimals([view.difference(half)])
        return text(view.difference(value), decimals, signed=True)
    return text(value, 2)


def rater_words(raters: pd.DataFrame, definition: Definition, measure: str) -> str:
    """Say how far apart two raters marked the same plots; empty unless there are two of them.

    Parameters
    ----------
    raters : DataFrame
        Table of a run.
    definition : Definition
        The trial.
    measure : str
        What was rated.
    """
    rows = raters[raters["measure"] == measure]
    apart = rater_gaps(rows)
    if apart.empty:
        return ""
    view = measure_view(definition, measure)
    gaps = [view.difference(float(gap)) for gap in apart]
    higher, lower = (rater_name(definition, one) for one in apart.attrs["raters"])
    average = text(sum(gaps) / len(gaps), 1)
    unit = f" {view.unit_after(average)}".rstrip()
    said = f"{higher} marked {average}{unit} higher than {lower}"
    low, high = min(gaps), max(gaps)
    if len(gaps) == 1:
        return f"{said} on the one date with both."
    ends = f"{text(low, 1, signed=low < 0)} to {text(high, 1, signed=low < 0)}"
    return f"{said} on every date ({ends})." if low > 0 else f"{said} on average ({ends})."


def rater_gaps(rows: pd.DataFrame) -> pd.Series:
    """Take one rater less the other, date by date, the one who marks higher first.

    Parameters
    ----------
    rows : DataFrame
        Rows of the table ``raters`` of one measure.

    Returns
    -------
    Series
        By date, in the unit of the rows; ``attrs["raters"]`` names both. Empty unless two raters
        share a date.
    """
    if rows["rater"].nunique() != 2:
        return pd.Series(dtype=float)
    wide = rows.pivot(index="date", columns="rater", values="severity").dropna()
    one, other = map(str, wide.columns)
    if float((wide[one] - wide[other]).sum()) < 0:
        one, other = other, one
    found = (wide[one] - wide[other]).astype(float)
    found.attrs["raters"] = (one, other)
    return found


def raters_table(raters: pd.DataFrame, definition: Definition, measure: str) -> Markup:
    """Show how far each rater lies from the average of the raters, date by date.

    Returns
    -------
    Markup
        A row a date, a column a rater; empty where fewer than two rated the same plots.
    """
    rows = raters[raters["measure"] == measure]
    if rows.empty:
        return Markup("")
    view = measure_view(definition, measure)
    names = list(dict.fromkeys(rows["rater"].astype(str)))
    order = list(getattr(definition.measures[measure], "raters", []))
    names.sort(key=lambda name: order.index(name) if name in order else len(order))
    heads = [
        Head("Date"),
        *(Head(rater_name(definition, n), view.difference_unit, True) for n in names),
    ]
    heads.append(Head("plots", "", True))
    lines = []
    for day, here in rows.groupby("date", sort=True):
        cells: list[Cell] = []
        for name in names:
            found = here.index[here["rater"] == name]
            if not len(found):
                cells.append("–")
                continue
            value = float(row_at(raters, int(found[0]))["severity"])
            shown = text(view.difference(value), 2, signed=True)
            cells.append(said_or_dash("raters", raters, int(found[0]), "severity", shown))
        at = int(here.index[0])
        plots = number("raters", raters, at, "plots", f"{float(row_at(raters, at)['plots']):.0f}")
        lines.append(Row((day_text(day),), (*cells, plots)))
    note = (
        "Mean of the rater less the mean of all raters, over the plots that all of them rated. A "
        "rater who drifts moves away from zero from date to date."
    )
    return html_table(f"{view.label}: each rater against the average", heads, lines, note)
