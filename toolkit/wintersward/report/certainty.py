"""How sure the answer is: by the draw alone, against a margin, and by other analyses."""

from __future__ import annotations

import math

import pandas as pd
from markupsafe import Markup

from wintersward.report.comparisons import in_order, pair_text, said_or_dash
from wintersward.report.meanings import more_text
from wintersward.report.numbers import (
    Said,
    Sentence,
    common_decimals,
    counted,
    day_text,
    df_text,
    interval_said,
    level_text,
    listed_words,
    number,
    p_text,
    row_at,
    text,
    value_at,
)
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.verdicts import answer_decimals
from wintersward.report.views import MeasureView, in_sentence, level_label, measure_view
from wintersward.report.words import difference_text
from wintersward.trial.schema import Definition

__all__ = [
    "caught_up_words",
    "large_text",
    "margin_words",
    "randomisation_words",
    "sensitivity_table",
    "sensitivity_words",
    "slopes_table",
]

_RAISED = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")


def large_text(value: float) -> str:
    """Write a count that may be very large.

    Examples
    --------
    >>> large_text(64), large_text(46656), large_text(1.0155995666841600e16)
    ('64', '46,656', 'about 1.0 × 10¹⁶')
    """
    if value < 1e9:
        return f"{value:,.0f}"
    power = math.floor(math.log10(value))
    return f"about {value / 10**power:.1f} × 10{str(power).translate(_RAISED)}"


def randomisation_words(randomisation: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say what the draw of the plan alone tells about the primary question.

    Parameters
    ----------
    randomisation : DataFrame
        Table of a run.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One a test; a declared family is tested at once.
    """
    groups: dict[tuple[str, float, float], list[int]] = {}
    for at in in_order(randomisation, definition):
        row = row_at(randomisation, at)
        key = (str(row["null"]), float(row["arrangements"]), float(row["smallest_p"]))
        groups.setdefault(key, []).append(at)
    return [_drawn_again(randomisation, rows, definition) for rows in groups.values()]


def _drawn_again(randomisation: pd.DataFrame, rows: list[int], definition: Definition) -> Sentence:
    """Say one test, with the p of each comparison that was tested by it."""
    first, alpha = row_at(randomisation, rows[0]), definition.analysis.alpha

    def said(name: str, shown: str, at: int = rows[0]) -> Said:
        return number("randomisation", randomisation, at, name, shown)

    parts: dict[str, object] = {
        "null": in_sentence(str(first["null"]).strip().rstrip(".")),
        "arrangements": said("arrangements", large_text(float(first["arrangements"]))),
        "draws": said("draws", large_text(float(first["draws"]))),
        "smallest_p": said("smallest_p", _small_text(float(first["smallest_p"]))),
        "seed": said("seed", f"{float(first['seed']):.0f}"),
    }
    form = "Randomisation test. What is supposed: {null}. "
    if str(first["exact"]) == "yes":
        form += "All {arrangements} arrangements that the layout allows were looked at: "
    else:
        form += (
            "Of {arrangements} arrangements that the layout allows, {draws} were drawn with the "
            "seed {seed}: "
        )
    each = []
    for i, at in enumerate(rows):
        p = p_text(value_at(randomisation, at, "p"))
        parts[f"p{i}"] = said("p", p, at)
        pair = in_sentence(pair_text(definition, row_at(randomisation, at)))
        parts[f"pair{i}"] = f" for {pair}" if len(randomisation) > 1 else ""
        each.append(f"p{'' if p[0] in '<>' else ' ='} {{p{i}}}{{pair{i}}}")
    form += f"{listed_words(each)}, where the smallest p that the layout can give is "
    form += "{smallest_p}."
    if float(first["smallest_p"]) > alpha:
        parts["alpha"] = f"{alpha:g}"
        form += " With so few arrangements this test can never fall below {alpha}."
    return Sentence(form, parts)


def _small_text(p: float) -> str:
    return p_text(p) if p >= 0.001 else f"{p:.1g}" if p >= 1e-6 else "less than 0.000001"


def margin_words(
    equivalence: pd.DataFrame, definition: Definition, kind: str = "matters"
) -> list[Sentence]:
    """Say how each primary difference compares with the smallest one that matters.

    Parameters
    ----------
    equivalence : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.
    kind : str
        Rows to say.

    Returns
    -------
    list of Sentence
        One a comparison, in plain words.
    """
    rows = equivalence[equivalence["kind"] == kind]
    return [_margin(equivalence, at, definition) for at in in_order(rows, definition)]


def _parts(equivalence: pd.DataFrame, at: int, definition: Definition) -> dict[str, object]:
    """Name day, treatments, margin, estimate and interval of a row."""
    row = row_at(equivalence, at)
    view = measure_view(definition, str(row["measure"]))
    decimals = _decimals(equivalence, at, view)
    parts: dict[str, object] = {
        "day": day_text(row["date"]),
        "margin": difference_text(definition, str(row["measure"]), float(row["margin"])),
        "level": level_text(2 * definition.analysis.alpha),
        "noun": view.noun,
        "more": more_text(view),
    }
    for name in ("difference", "lower", "upper"):
        shown = text(view.difference(float(row[name])), decimals, signed=True)
        parts[name] = said_or_dash("equivalence", equivalence, at, name, shown)
    unit = view.difference_unit
    parts["unit"] = f" {unit}" if unit else ""
    for side in ("left", "right"):
        parts[side] = in_sentence(level_label(definition, str(row[side])))
    return parts


def _decimals(equivalence: pd.DataFrame, at: int, view: MeasureView) -> int:
    """Choose decimals with which the written interval says the same as the computed one."""
    lower, upper = (view.difference(value_at(equivalence, at, n)) for n in ("lower", "upper"))
    margin = view.difference(value_at(equivalence, at, "margin"))
    return answer_decimals((upper - lower) / 3.5, lower, upper, margin)


def _margin(equivalence: pd.DataFrame, at: int, definition: Definition) -> Sentence:
    row, parts = row_at(equivalence, at), _parts(equivalence, at, definition)
    ahead = ("left", "right") if float(row["difference"]) >= 0 else ("right", "left")
    parts |= {"ahead": parts[ahead[0]], "behind": parts[ahead[1]]}
    there = "on {day} there was {more} with {ahead} than with {behind}"
    inner = " ({level} interval {lower} to {upper}{unit})"
    form = {
        "beyond": f"Different, and by more than {{margin}}: {there}, and the whole interval of the "
        "answer lies beyond the margin",
        "inside": f"Different, but by less than {{margin}}: {there}{inner}",
        "size open": f"Different, but the size is not settled: {there}; whether by more than "
        "{margin}, these data cannot tell, for the interval of the answer reaches from below it to "
        "above it",
        "equivalent": "Alike to within {margin}: which of {left} and {right} had {more} on {day}, "
        "these data cannot tell, but they can tell that the two were less than {margin} apart"
        + inner,
    }.get(
        str(row["verdict"]),
        "These data cannot tell which of {left} and {right} had {more} on {day}, nor whether the "
        "two were less than {margin} apart" + inner,
    )
    return Sentence(form + ".", parts)


def caught_up_words(equivalence: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say whether the control had caught up with each treatment at the last visit.

    Parameters
    ----------
    equivalence : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One a treatment; bounds are one-sided.
    """
    rows = equivalence[equivalence["kind"] == "caught up"]
    said = []
    for at in in_order(rows, definition):
        row, parts = row_at(equivalence, at), _parts(equivalence, at, definition)
        parts["level"] = level_text(definition.analysis.alpha)
        form = {
            "caught up": "By {day} {right} had caught up with {left} to within {margin}: we "
            "estimate a lead of {left} of {difference}{unit}, and of {upper}{unit} at most",
            "not caught up": "By {day} {right} had not caught up with {left}: we estimate a lead "
            "of {left} of {difference}{unit}, and of {lower}{unit} at least, more than {margin}",
        }.get(
            str(row["verdict"]),
            "Whether {right} had caught up with {left} to within {margin} by {day}, these data "
            "cannot tell: we estimate a lead of {left} of {difference}{unit}, and of "
            "{upper}{unit} at most",
        )
        said.append(Sentence(form + " (one-sided {level} bound).", parts))
    return said


def sensitivity_words(sensitivity: pd.DataFrame) -> Sentence:
    """Say how many other analyses of the primary question lead to the same conclusion.

    Returns
    -------
    Sentence
        Empty where none could be judged.
    """
    judged = sensitivity[sensitivity["agrees"].isin(["yes", "no"])]
    if judged.empty:
        return Sentence("")
    other = judged[judged["agrees"] == "no"]
    parts: dict[str, object] = {"yes": len(judged) - len(other), "all": len(judged)}
    form = "{yes} of {all} other analyses agree with the planned one: the same side of zero and "
    form += "the same conclusion."
    if len(other):
        parts["other"] = listed_words(list(dict.fromkeys(other["text"].astype(str))))
        form += " Not so: {other}."
    return Sentence(form + " The answer stays the planned one, whatever the others say.", parts)


def sensitivity_table(sensitivity: pd.DataFrame, definition: Definition) -> Markup:
    """Show the primary question by other analyses, each on its own scale.

    Parameters
    ----------
    sensitivity : DataFrame
        Table of a run; differences in SI where the scale is that of the measure.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        Empty without rows.
    """
    if sensitivity.empty:
        return Markup("")
    several = len(definition.analysis.primary.pairs) > 1
    heads = [*([Head("Treatments")] if several else []), Head("Analysis")]
    heads += [Head("in"), Head("difference", "", True)]
    heads += [Head(f"{level_text(definition.analysis.alpha)} interval", "", True)]
    heads += [Head("df", "", True), Head("p", "", True), Head("agrees")]
    lines = []
    for at in in_order(sensitivity, definition):
        row = row_at(sensitivity, at)
        words = str(row["text"])
        label = (words[:1].upper() + words[1:],)
        pair = (pair_text(definition, row),) if several else ()
        lines.append(Row(pair + label, _other_cells(sensitivity, at, definition)))
    note = (
        "Agrees: the difference lies on the same side of zero and leads to the same conclusion "
        "about it. Differences on unlike scales are not compared in size."
    )
    return html_table("The same question by other analyses", heads, lines, note)


def _other_cells(sensitivity: pd.DataFrame, at: int, definition: Definition) -> tuple[Cell, ...]:
    row = row_at(sensitivity, at)
    view = measure_view(definition, str(row["measure"]))
    own = str(row["scale"]) == "measure"
    names = ("difference", "lower", "upper", "se")
    values = {n: float(row[n]) for n in names}
    if own:
        values = {n: view.difference(value) for n, value in values.items()}
    decimals = common_decimals([values["se"]])
    said = {
        n: said_or_dash("sensitivity", sensitivity, at, n, text(values[n], decimals, signed=True))
        for n in names[:3]
    }
    df, p = df_text(float(row["df"])), p_text(float(row["p"]))
    agrees = row["agrees"] if isinstance(row["agrees"], str) else ""
    return (
        _scale(view, row),
        said["difference"],
        interval_said({n: said[n] for n in ("lower", "upper")}),
        said_or_dash("sensitivity", sensitivity, at, "df", df),
        said_or_dash("sensitivity", sensitivity, at, "p", p),
        agrees or "–",
    )


def _scale(view: MeasureView, row: pd.Series) -> str:
    """Name what a difference is in; the words stay on one line."""
    if str(row["scale"]) == "measure":
        return view.difference_unit or view.unit or "rating"
    return str(row["scale"]).replace(" ", "\N{NO-BREAK SPACE}")


def slopes_table(slopes: pd.DataFrame, definition: Definition) -> Markup:
    """Show how the measure went with the covariate, date by date; empty without one."""
    if slopes.empty:
        return Markup("")
    heads = [Head("Measure"), Head("Date"), Head("covariate"), Head("slope", "", True)]
    heads += [Head(f"{level_text(definition.analysis.alpha)} interval", "", True)]
    heads += [Head("df", "", True), Head("p", "", True)]
    lines = []
    for at in map(int, slopes.index):
        row = row_at(slopes, at)
        decimals = common_decimals([float(row["se"])])
        said = {
            n: said_or_dash("slopes", slopes, at, n, text(float(row[n]), decimals, signed=True))
            for n in ("slope", "lower", "upper")
        }
        cells: tuple[Cell, ...] = (
            str(row["covariate"]).replace("_", " "),
            said["slope"],
            interval_said({n: said[n] for n in ("lower", "upper")}),
            said_or_dash("slopes", slopes, at, "df", df_text(float(row["df"]))),
            said_or_dash("slopes", slopes, at, "p", p_text(float(row["p"]))),
        )
        label = measure_view(definition, str(row["measure"])).label
        lines.append(Row((label, day_text(row["date"])), cells))
    note = f"In SI units, from {counted(len(lines), 'analysis', 'analyses')} with the covariate."
    return html_table("Slopes of the covariate", heads, lines, note)
