"""Whether ratings compared by their ranks say the same as their means."""

from __future__ import annotations

import pandas as pd
from markupsafe import Markup

from wintersward.report.comparisons import pair_rank, pair_text, said_or_dash
from wintersward.report.numbers import (
    counted,
    day_text,
    in_words,
    level_text,
    p_text,
    table_decimals,
    text,
)
from wintersward.report.said import Said, Sentence, interval_said, row_at
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import MeasureView, in_sentence, measure_view
from wintersward.trial.schema import Definition

__all__ = ["rank_apart", "rank_context", "rank_table", "rank_words"]


def rank_context(ranked: pd.DataFrame, definition: Definition, measure: str) -> dict[str, object]:
    """Gather what a page says of the ranks of a measure; all of it empty where there are none."""
    return {
        "words": rank_words(ranked, definition, measure),
        "apart": rank_apart(ranked, definition, measure),
        "table": rank_table(ranked, definition, measure),
    }


def rank_words(ranked: pd.DataFrame, definition: Definition, measure: str) -> str:
    """Count in how many comparisons of a rating ranks and means say the same.

    Parameters
    ----------
    ranked : DataFrame
        The table ``rank_differences``.
    definition : Definition
        The trial.
    measure : str
        What was rated.

    Returns
    -------
    str
        Empty where nothing was compared by ranks.
    """
    rows = ranked[ranked["measure"] == measure]
    if rows.empty:
        return ""
    agrees = rows["agrees"].fillna("")
    same, apart, mute = (int((agrees == word).sum()) for word in ("yes", "no", ""))
    said = (
        "A step of a rating need not be the same amount everywhere on the scale, so "
        f"{counted(len(rows), 'comparison')} of treatments were made by ranks too. "
    )
    limit = f"{definition.analysis.alpha:g}"
    if same + apart:
        agreed = "all of them" if same == len(rows) else f"{in_words(same)} of them"
        said += (
            f"In {agreed} ranks and means say the same about whether the two can be told apart (p "
            f"of the single comparison below {limit} or not)"
        )
        said += f"; in {in_words(apart)} they do not" if apart else ""
        said += "."
    if mute:
        which = "the other" if same + apart else "all"
        many = in_words(mute)
        said += (
            f" In {which} {many} too few plots differ for a p by ranks below {limit}, so "
            "ranks can tell nothing there."
        )
    return said.strip()


def rank_apart(ranked: pd.DataFrame, definition: Definition, measure: str) -> list[Sentence]:
    """List the comparisons of a rating in which ranks and means do not say the same.

    Returns
    -------
    list of Sentence
        One a comparison, in the order of pairs and dates.
    """
    rows = _ordered(ranked[ranked["measure"] == measure], definition)
    view = measure_view(definition, measure)
    return [_apart(ranked, int(at), definition, view) for at in rows.index[rows["agrees"] == "no"]]


def _ordered(rows: pd.DataFrame, definition: Definition) -> pd.DataFrame:
    pairs = zip(rows["effect"], rows["left"], rows["right"], strict=True)
    rank = [pair_rank(definition, *map(str, pair)) for pair in pairs]
    order = {key: at for at, key in enumerate(sorted(set(rank)))}
    ranked = rows.assign(_rank=[order[key] for key in rank])
    return ranked.sort_values(["_rank", "date"], kind="stable").drop(columns="_rank")


def _apart(ranked: pd.DataFrame, at: int, definition: Definition, view: MeasureView) -> Sentence:
    row = row_at(ranked, at)
    parts: dict[str, object] = {
        "pair": pair_text(definition, row),
        "day": day_text(row["date"]),
        "mean": _amount(ranked, at, "mean_difference", view, 2),
        "rank": _amount(ranked, at, "difference", view, 2),
        "unit": " ranks" if str(row["scale"]) == "ranks" else "",
    }
    for name in ("mean_p", "p_alone"):
        shown = p_text(float(row[name]))
        parts[name] = said_or_dash("rank_differences", ranked, at, name, shown)
        parts[f"{name}_is"] = "p" if shown[0] in "<>" else "p ="
    return Sentence(
        "{pair}, {day}: by means {mean} ({mean_p_is} {mean_p}), by ranks {rank}{unit} "
        "({p_alone_is} {p_alone}).",
        parts,
    )


def _amount(
    ranked: pd.DataFrame, at: int, name: str, view: MeasureView, decimals: int
) -> str | Said:
    row = row_at(ranked, at)
    bare = name != "mean_difference" and str(row["scale"]) == "ranks"
    value = float(row[name]) if bare else view.difference(float(row[name]))
    return said_or_dash("rank_differences", ranked, at, name, text(value, decimals, signed=True))


def rank_table(ranked: pd.DataFrame, definition: Definition, measure: str) -> Markup:
    """Show every comparison of a rating by means and by ranks, side by side.

    Parameters
    ----------
    ranked : DataFrame
        The table ``rank_differences``.
    definition : Definition
        The trial.
    measure : str
        What was rated.

    Returns
    -------
    Markup
        Empty where nothing was compared by ranks.
    """
    rows = _ordered(ranked[ranked["measure"] == measure], definition)
    if rows.empty:
        return Markup("")
    view, level = measure_view(definition, measure), level_text(definition.analysis.alpha)
    means, ranks = "by means", "by ranks"
    heads = [Head("Treatments"), Head("Date"), Head("difference", "", True, means)]
    heads += [Head("p alone", "", True, means), Head("difference", "", True, ranks)]
    heads += [Head(f"{level} interval", "", True, ranks), Head("p alone", "", True, ranks)]
    heads += [Head("p, Holm", "", True, ranks), Head("the same")]
    spread = (rows["upper"] - rows["lower"]).dropna().abs() / 4
    decimals = max(1, table_decimals([float(one) for one in spread]))
    lines = []
    for at in map(int, rows.index):
        row = row_at(ranked, at)
        ends = {n: _amount(ranked, at, n, view, decimals) for n in ("lower", "upper")}
        ps = {
            n: said_or_dash("rank_differences", ranked, at, n, p_text(float(row[n])))
            for n in ("mean_p", "p_alone", "p")
        }
        cells = (
            _amount(ranked, at, "mean_difference", view, decimals),
            ps["mean_p"],
            _amount(ranked, at, "difference", view, decimals),
            interval_said(ends),
            ps["p_alone"],
            ps["p"],
            str(row["agrees"]) if isinstance(row["agrees"], str) and row["agrees"] else "–",
        )
        lines.append(Row((pair_text(definition, row), day_text(row["date"])), cells))
    how = "; ".join(in_sentence(text) for text in dict.fromkeys(rows["text"].astype(str)))
    what = "that of mean ranks" if (rows["scale"] == "ranks").all() else "Hodges and Lehmann's"
    note = (
        f"By ranks: {how}; the difference is {what}, its interval that of one comparison by "
        "itself. p by Holm over "
        f"{int(rows['comparisons'].max())} comparisons by ranks on every planned date. The same: "
        "both p of the single comparison, or neither, lie below "
        f"{definition.analysis.alpha:g}, on the same side of zero; a dash where too few plots "
        "differ for ranks to tell."
    )
    return html_table(f"{view.label}: means and ranks side by side", heads, lines, note)
