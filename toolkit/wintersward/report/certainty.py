"""How sure the answer is: by the draw alone, against a margin, and by other analyses."""

from __future__ import annotations

import math
import re

import pandas as pd
from markupsafe import Markup

from wintersward.report.comparisons import in_order, pair_text, said_or_dash
from wintersward.report.numbers import (
    common_decimals,
    counted,
    df_text,
    in_words,
    level_text,
    listed_words,
    p_text,
    text,
)
from wintersward.report.said import Said, Sentence, interval_said, number, row_at, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.verdicts import Verdict, answer_decimals, verdict
from wintersward.report.views import MeasureView, in_sentence, level_label, measure_view
from wintersward.report.words import difference_text, planned_rows
from wintersward.trial.schema import Definition

__all__ = [
    "draw_words",
    "large_text",
    "randomisation_words",
    "sensitivity_table",
    "sensitivity_words",
]

# How the table says that two names are exchanged, where, and what makes that less than exact.
_EXCHANGED = re.compile(r"these labels are exchanged (?P<where>[^.,]+)\.(?P<more>.*)$")
# The scale whose differences are read as how many times the odds are as high.
_ODDS = "log odds ratio"
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


def draw_words(randomisation: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say in one sentence what `randomisation_words` tells.

    Parameters
    ----------
    randomisation : DataFrame
        Table of a run.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One, or none without a test.
    """
    rows = in_order(randomisation, definition)
    if not rows:
        return []
    parts: dict[str, object] = {}
    each = []
    for at in rows:
        row = row_at(randomisation, at)
        p, least = (float(row[name]) for name in ("p", "smallest_p"))
        shown, smallest = p_text(p), _small_text(least)
        parts[f"p{at}"] = number("randomisation", randomisation, at, "p", shown)
        parts[f"least{at}"] = number("randomisation", randomisation, at, "smallest_p", smallest)
        parts[f"of{at}"] = f" for {in_sentence(pair_text(definition, row))}" * (len(rows) > 1)
        words = f"p {'' if shown[0] in '<>' else '= '}{{p{at}}}{{of{at}}}"
        if math.isclose(p, least, rel_tol=1e-6):
            each.append(f"{words}, the smallest that this layout can give")
        else:
            each.append(f"{words} (the smallest that this layout can give is {{least{at}}})")
    return [Sentence(f"The draw alone gives {listed_words(each)}.", parts)]


def _drawn_again(randomisation: pd.DataFrame, rows: list[int], definition: Definition) -> Sentence:
    """Say one test, with the p of each comparison that was tested by it."""
    first, alpha = row_at(randomisation, rows[0]), definition.analysis.alpha
    exchanged = _EXCHANGED.search(str(first["null"]))
    if len(rows) == 1 and str(first["exact"]) == "yes" and exchanged:
        return _swapped(randomisation, rows[0], definition, exchanged)

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


def _swapped(
    randomisation: pd.DataFrame, at: int, definition: Definition, exchanged: re.Match[str]
) -> Sentence:
    """Say in plain words a test that looked at every way to swap two names."""
    row = row_at(randomisation, at)
    p, least, ways = (float(row[name]) for name in ("p", "smallest_p", "arrangements"))
    parts: dict[str, object] = {
        "ways": number("randomisation", randomisation, at, "arrangements", large_text(ways)),
        "clear": large_text(round(p * ways)),
        "p": number("randomisation", randomisation, at, "p", p_text(p)),
        "equal": "p" if p_text(p)[0] in "<>" else "p =",
        "least": number("randomisation", randomisation, at, "smallest_p", _small_text(least)),
        "where": exchanged["where"],
        "alpha": f"{definition.analysis.alpha:g}",
        "unsure": exchanged["more"].strip(),
    }
    for side in ("left", "right"):
        parts[side] = in_sentence(level_label(definition, str(row[side])))
    form = (
        "Randomisation test. If turf had been the same with {left} as with {right}, the two "
        "names could be swapped {where}. There are {ways} ways to lay them out; {clear} of them "
        "give a result at least as clear as ours ({equal} {p}). With this layout no p can be "
        "smaller than {least}."
    )
    if least > definition.analysis.alpha:
        form += " So this test can never fall below {alpha}."
    return Sentence(form + (" {unsure}" if parts["unsure"] else ""), parts)


def _small_text(p: float) -> str:
    return p_text(p) if p >= 0.001 else f"{p:.1g}" if p >= 1e-6 else "less than 0.000001"


def sensitivity_words(
    sensitivity: pd.DataFrame, primary: pd.DataFrame, definition: Definition
) -> list[Sentence]:
    """Say how many other analyses of the primary question lead to the same conclusion.

    Parameters
    ----------
    sensitivity, primary : DataFrame
        Tables of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One a comparison that other analyses judged. Rows that only repeat the planned answer are
        not counted; the size is compared where the scale is that of the measure.
    """
    said = []
    for planned in planned_rows(primary, definition):
        row = row_at(primary, planned)
        if row[["difference", "lower", "upper"]].isna().any():
            continue
        same = (sensitivity["left"] == row["left"]) & (sensitivity["right"] == row["right"])
        judged = sensitivity[same & sensitivity["agrees"].isin(["yes", "no"])]
        judged = judged[~_repeats(judged, row)]
        if len(judged):
            said.append(_others(judged, row, definition))
    return said


def _repeats(judged: pd.DataFrame, planned: pd.Series) -> pd.Series:
    """Tell which analyses, on the scale of the measure, only repeat the planned numbers."""
    numbers = ["difference", "lower", "upper"]
    near = (judged[numbers] - planned[numbers].astype(float)).abs().max(axis=1) < 1e-9
    return near & (judged["scale"] == "measure")


def _others(judged: pd.DataFrame, planned: pd.Series, definition: Definition) -> Sentence:
    """Count analyses that agree about zero; name those that do not, or that differ on size."""
    against = judged[judged["agrees"] == "no"]
    agree = len(judged) - len(against)
    clear = float(planned["lower"]) > 0 or float(planned["upper"]) < 0
    ahead, behind = ("left", "right") if float(planned["difference"]) >= 0 else ("right", "left")
    parts: dict[str, object] = {
        "agree": counted(agree, "other analysis", "other analyses").capitalize(),
        "ahead": in_sentence(level_label(definition, str(planned[ahead]))),
        "behind": in_sentence(level_label(definition, str(planned[behind]))),
        "verb": "puts" if agree == 1 else "put",
        "other": listed_words(list(dict.fromkeys(against["text"].astype(str)))),
    }
    form = "{agree} also {verb} {ahead} above {behind}."
    if not clear:
        form = "{agree} also cannot tell which of {ahead} and {behind} had more."
    if len(against):
        form += " Not so: {other}."
    matters = float(planned["matters_from"])
    asked = verdict(float(planned["lower"]), float(planned["upper"]), matters)
    own = judged[(judged["scale"] == "measure") & (judged["agrees"] == "yes")]
    unlike = [
        at
        for at in map(int, own.index)
        if verdict(value_at(own, at, "lower"), value_at(own, at, "upper"), matters) is not asked
    ]
    if unlike:
        verb = "says" if len(unlike) == 1 else "say"
        parts["unlike"] = f"{in_words(len(unlike)).capitalize()} of them {verb}"
        each = []
        for at in unlike:
            parts[f"size{at}"] = _size(judged, at, matters, definition)
            each.append(f"{{size{at}}}")
        form += " {unlike} something else of the size: " + listed_words(each) + "."
    many = "It was" if len(judged) == 1 else "All were"
    return Sentence(f"{form} {many} named as supporting, so the planned answer stays.", parts)


def _size(judged: pd.DataFrame, at: int, matters: float, definition: Definition) -> Sentence:
    """Say the estimate of another analysis, and where its interval lies against what matters."""
    row = row_at(judged, at)
    view = measure_view(definition, str(row["measure"]))
    values = {n: view.difference(float(row[n])) for n in ("difference", "lower", "upper")}
    limit = view.difference(matters)
    decimals = answer_decimals(
        (values["upper"] - values["lower"]) / 2, values["lower"], values["upper"], limit
    )
    parts: dict[str, object] = {
        n: said_or_dash("sensitivity", judged, at, n, text(value, decimals, signed=True))
        for n, value in values.items()
    }
    found = verdict(values["lower"], values["upper"], limit)
    place = {
        Verdict.LARGE: "all of it beyond {limit}",
        Verdict.SMALL: "all of it nearer to zero than {limit}",
        Verdict.NEGLIGIBLE: "all of it nearer to zero than {limit}",
    }.get(found, "reaching from below {limit} to above it")
    parts["limit"] = difference_text(definition, str(row["measure"]), matters)
    parts["text"] = str(row["text"])
    parts["unit"] = f" {view.difference_unit}" if view.difference_unit else ""
    return Sentence("{text}, {difference}{unit} ({lower} to {upper}), " + place, parts)


def sensitivity_table(
    sensitivity: pd.DataFrame, definition: Definition, primary: pd.DataFrame | None = None
) -> Markup:
    """Show the primary question by other analyses, each on its own scale.

    Parameters
    ----------
    sensitivity : DataFrame
        Table of a run; differences in SI where the scale is that of the measure.
    definition : Definition
        The trial.
    primary : DataFrame, optional
        Table of the run, to say which rows only repeat the planned answer.

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
    own = sensitivity[sensitivity["scale"] == "measure"]
    view = measure_view(definition, definition.analysis.primary.measure)
    shared = common_decimals([view.difference(float(se)) for se in own["se"].dropna()])
    # No end of an interval is written onto what matters, or across it.
    shared += any(_finer(own, int(at), view, definition) > shared for at in own.index)
    for at in in_order(sensitivity, definition):
        row = row_at(sensitivity, at)
        words = str(row["text"])
        label = (words[:1].upper() + words[1:],)
        pair = (pair_text(definition, row),) if several else ()
        lines.append(Row(pair + label, _other_cells(sensitivity, at, definition, shared)))
    note = (
        "Agrees: the difference lies on the same side of zero and leads to the same conclusion "
        "about it. Differences on unlike scales are not compared in size."
    )
    if (sensitivity["scale"] == _ODDS).any():
        note += " Times the odds: 1 would be alike, 2 twice the odds (share to what it lacks)."
    if primary is not None and _some_repeat(sensitivity, primary, definition):
        note += " A row that only gives the planned numbers again is not counted above."
    return html_table("The same question by other analyses", heads, lines, note)


def _finer(own: pd.DataFrame, at: int, view: MeasureView, definition: Definition) -> int:
    """Tell how many decimals keep a row on its side of zero and of what matters."""
    lower, upper = (view.difference(value_at(own, at, name)) for name in ("lower", "upper"))
    matters = view.difference(definition.analysis.primary.matters_from.value)
    return answer_decimals(math.inf, lower, upper, matters)


def _some_repeat(sensitivity: pd.DataFrame, primary: pd.DataFrame, definition: Definition) -> bool:
    """Tell whether an analysis that agrees only repeats the planned numbers."""
    judged = sensitivity[sensitivity["agrees"].isin(["yes", "no"])]
    for at in planned_rows(primary, definition):
        row = row_at(primary, at)
        same = (judged["left"] == row["left"]) & (judged["right"] == row["right"])
        if _repeats(judged[same], row).any():
            return True
    return False


def _other_cells(
    sensitivity: pd.DataFrame, at: int, definition: Definition, shared: int
) -> tuple[Cell, ...]:
    """Write one analysis; those in the measure's own unit share their decimals."""
    row = row_at(sensitivity, at)
    view = measure_view(definition, str(row["measure"]))
    own = str(row["scale"]) == "measure"
    names = ("difference", "lower", "upper", "se")
    values = {n: float(row[n]) for n in names}
    if own:
        values = {n: view.difference(value) for n, value in values.items()}
    decimals = shared if own else common_decimals([values["se"]])
    odds = str(row["scale"]) == _ODDS
    shown = {
        n: text(math.exp(values[n]) if odds else values[n], 2 if odds else decimals, not odds)
        for n in names[:3]
    }
    said = {n: said_or_dash("sensitivity", sensitivity, at, n, shown[n]) for n in shown}
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
    if str(row["scale"]) == _ODDS:
        return "times\N{NO-BREAK SPACE}the\N{NO-BREAK SPACE}odds"
    return str(row["scale"]).replace(" ", "\N{NO-BREAK SPACE}")
