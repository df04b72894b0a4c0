"""The answer to the primary question in one sentence, and what it rests on."""

from __future__ import annotations

import math

import pandas as pd

from wintersward.analysis.skeleton import DEMONSTRATION
from wintersward.report.numbers import counted, day_text, level_text, listed_words, text
from wintersward.report.said import Said, Sentence, number, row_at, value_at
from wintersward.report.verdicts import answer_decimals
from wintersward.report.views import (
    MeasureView,
    averaged_over,
    in_sentence,
    level_label,
    measure_view,
    plots_with,
    unit_of,
)
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = [
    "FAMILIES",
    "PLANNED",
    "PUT_BACK",
    "amount_parts",
    "answer",
    "basis",
    "difference_text",
    "estimated",
    "matters_text",
    "not_estimated",
    "planned_rows",
    "question_text",
    "shown_decimals",
    "waiting",
]

PLANNED, PUT_BACK = "as planned", "with excluded observations"
FAMILIES = {"dunnett": "Dunnett's method", "bonferroni": "Bonferroni's method"}


def question_text(definition: Definition) -> str:
    """Say the primary question in words."""
    primary = definition.analysis.primary
    view = measure_view(definition, primary.measure)
    lefts = [plots_with(definition, left) for left, _ in primary.pairs]
    right = plots_with(definition, primary.pairs[0][1])
    day = day_text(dates_meant(definition.dates, primary.on)[0])
    word = "a different" if view.rated else "more or less"
    each = "" if len(lefts) == 1 else ", each compared with the latter"
    return (
        f"On {day}, did {listed_words(lefts)} have {word} {view.noun} than {right}{each}? The "
        f"definition names {matters_text(definition)} as the smallest difference worth acting on."
    )


def matters_text(definition: Definition) -> str:
    """Write the smallest difference that matters in the reader's unit."""
    primary = definition.analysis.primary
    return difference_text(definition, primary.measure, primary.matters_from.value)


def difference_text(definition: Definition, measure: str, si: float) -> str:
    """Write a difference that the definition names, without idle digits, in the reader's unit."""
    view = measure_view(definition, measure)
    return view.amount(f"{view.difference(si):.4g}")


def waiting(definition: Definition, counts: pd.DataFrame | None = None) -> str:
    """Say that comparisons wait for the primary date.

    Parameters
    ----------
    definition : Definition
        The trial.
    counts : DataFrame, optional
        The table ``counts``, to say how much of what is planned is there.
    """
    primary = definition.analysis.primary
    on = dates_meant(definition.dates, primary.on)[0]
    noun = measure_view(definition, primary.measure).noun
    what = "comparison waits" if definition.layout.tested else "values of the treatments wait"
    said = (
        f"The {what}: on the primary date, {day_text(on)}, every planned observation of "
        f"{noun} must be made, set aside or declared missing in the diary. "
    )
    if counts is not None:
        here = counts[counts["measure"] == primary.measure]
        here = here[pd.to_datetime(here["date"]) == pd.Timestamp(on)]
        if not here.empty:
            row = here.iloc[0]
            there = int(row["used"]) + int(row["excluded"])
            said += f"So far {there} of {int(row['expected'])} planned are there"
            said += f", {int(row['excluded'])} of them set aside. " if row["excluded"] else ". "
    told = "compares" if definition.layout.tested else "tells of"
    return f"{said}Until then, nothing here {told} the treatments."


def planned_rows(primary: pd.DataFrame, definition: Definition, which: str = PLANNED) -> list[int]:
    """List the rows of the primary question in the order of its comparisons.

    Parameters
    ----------
    primary : DataFrame
        The table ``primary``.
    definition : Definition
        The trial.
    which : str
        `PLANNED`, or `PUT_BACK` for the rows with excluded observations.

    Returns
    -------
    list of int
        Labels of the rows: one, or for a declared family one a comparison.
    """
    here = primary[primary["which"] == which]
    order = {pair: at for at, pair in enumerate(definition.analysis.primary.pairs)}
    found = {
        (str(left), str(right)): int(at)
        for at, left, right in zip(here.index, here["left"], here["right"], strict=True)
    }
    return [found[pair] for pair in sorted(found, key=lambda pair: order.get(pair, len(order)))]


def estimated(primary: pd.DataFrame, which: str = PLANNED) -> bool:
    """Tell whether at least one comparison of the primary question could be estimated."""
    differences = primary.loc[primary["which"] == which, "difference"]
    return bool(differences.notna().any())


def not_estimated(primary: pd.DataFrame, notes: pd.DataFrame | None, at: int) -> Sentence:
    """Say that the primary question could not be estimated, and why."""
    found = row_at(primary, at)
    why = "the run tells under its notes"
    if notes is not None and not notes.empty:
        on = pd.to_datetime(notes["date"]) == pd.Timestamp(str(found["date"]))
        here = notes[on & (notes["measure"] == found["measure"])]
        texts = here.loc[here["code"] == "not compared", "text"]
        if len(texts):
            why = str(texts.iloc[0]).removeprefix("not compared:").strip().rstrip(".")
    parts = {"day": day_text(found["date"]), "why": why}
    return Sentence("The primary question for {day} could not be estimated because {why}.", parts)


def answer(
    primary: pd.DataFrame,
    definition: Definition,
    which: str = PLANNED,
    notes: pd.DataFrame | None = None,
    counts: pd.DataFrame | None = None,
) -> Sentence:
    """Answer the primary question in one sentence with its interval, or with one a comparison.

    Parameters
    ----------
    primary : DataFrame
        The table ``primary``, in SI; without rows before the primary date has data.
    definition : Definition
        The trial.
    which : str
        `PLANNED` or `PUT_BACK`.
    notes, counts : DataFrame, optional
        Tables of the run: why nothing could be estimated, and how much of the data is there.

    Returns
    -------
    Sentence
    """
    if not definition.layout.tested:
        return Sentence("{words}", {"words": DEMONSTRATION})
    if primary.empty:
        return Sentence("{words}", {"words": waiting(definition, counts)})
    rows = planned_rows(primary, definition, which)
    known = [at for at in rows if math.isfinite(value_at(primary, at, "difference"))]
    if not known:
        return not_estimated(primary, notes, rows[0])
    decimals = max(_decimals(primary, at, definition) for at in known)
    said = [_clause(primary, at, definition, decimals, at == known[0]) for at in known]
    parts: dict[str, object] = {f"c{i}": one for i, one in enumerate(said)}
    form = listed_words([f"{{c{i}}}" for i in range(len(said))]).replace(" and ", ", and ")
    form = f"We estimate that on {{day}} {form}."
    parts["day"] = day_text(row_at(primary, known[0])["date"])
    if lost := [at for at in rows if at not in known]:
        levels = [plots_with(definition, str(row_at(primary, at)["left"])) for at in lost]
        parts["lost"] = listed_words(levels)
        form += " For {lost} nothing could be estimated."
    return Sentence(form, parts)


def _decimals(primary: pd.DataFrame, at: int, definition: Definition) -> int:
    row = row_at(primary, at)
    return shown_decimals(row, measure_view(definition, str(row["measure"])))


def _clause(
    primary: pd.DataFrame, at: int, definition: Definition, decimals: int, first: bool
) -> Sentence:
    """Say one comparison; a later one does not repeat what was measured, and against what."""
    found = row_at(primary, at)
    view = measure_view(definition, str(found["measure"]))
    parts: dict[str, object] = {
        "left": plots_with(definition, str(found["left"])),
        "right": plots_with(definition, str(found["right"])),
        "noun": view.noun,
        "article": "an" if view.noun[:1] in "aeiou" else "a",
        "level": level_text(float(found["alpha"])),
    }
    parts |= amount_parts("primary", primary, at, view, decimals)
    if not first:
        return Sentence("{left} {estimate} {more} ({interval})", parts)
    over = averaged_over(definition, definition.factor_of(str(found["left"])), found["date"])
    if definition.layout.grounds:
        over = f"{over} and the grounds" if over else "averaged over the grounds"
    parts["over"] = f", {over}" if over else ""
    form = "{left} had {estimate} {more} {noun} than {right}"
    if view.rated:
        form = "{left} had {article} {noun} {estimate} {more} than {right}"
    return Sentence(form + "{over} ({level} interval {interval})", parts)


def basis(primary: pd.DataFrame, definition: Definition) -> Sentence:
    """Say what the answer rests on, and how its interval and its points are meant.

    Returns
    -------
    Sentence
        Empty while there is no estimate.
    """
    if not estimated(primary):
        return Sentence("")
    rows = [row_at(primary, at) for at in planned_rows(primary, definition)]
    row = rows[0]
    kind, complete = unit_of(definition, definition.factor_of(str(row["left"])), row["date"])
    parts: dict[str, object] = {"complete": complete, "units": f"{kind}s"}
    said = _units_said(primary, definition)
    parts |= {f"n{i}": one for i, (_, one) in enumerate(said)}
    parts |= {f"w{i}": in_sentence(level_label(definition, n)) for i, (n, _) in enumerate(said)}
    form = "From {n0} of {complete} {units}"
    if len({str(one) for _, one in said}) > 1:
        each = ["{n0} of {complete} {units} with {w0}"]
        each += [f"{{n{i}}} of {{complete}} with {{w{i}}}" for i in range(1, len(said))]
        form = f"From {listed_words(each)}"
    parts |= {
        "share": f"{100 * (1 - float(row['alpha'])):g}",
        "many": counted(len(rows), "comparison"),
    }
    if len(rows) == 1:
        form += ". Intervals made in this way hold the true difference in {share} of 100 such "
        form += "trials."
    else:
        parts["all"] = "both" if len(rows) == 2 else f"all {len(rows)}"
        parts["method"] = FAMILIES.get(str(row["adjust"]), str(row["adjust"]))
        form += ". The {many} are one question: their intervals, by {method}, hold {all} true "
        form += "differences at once in {share} of 100 such trials."
    if measure_view(definition, str(row["measure"])).difference_unit == "points":
        form += " Points are percentage points."
    return Sentence(form, parts)


def _units_said(primary: pd.DataFrame, definition: Definition) -> list[tuple[str, Said]]:
    """Count the units of every treatment that takes part, each once."""
    found: dict[str, Said] = {}
    for at in planned_rows(primary, definition):
        row = row_at(primary, at)
        for side in ("left", "right"):
            name = f"units_{side}"
            said = number("primary", primary, at, name, str(int(row[name])))
            found.setdefault(str(row[side]), said)
    return list(found.items())


def amount_parts(
    table: str, frame: pd.DataFrame, at: int, view: MeasureView, decimals: int
) -> dict[str, object]:
    """Write estimate and interval; a negative difference is said as less, not with a sign.

    Parameters
    ----------
    table : str
        Name of the table that holds difference, lower and upper.
    frame : DataFrame
        The table, in SI.
    at : int
        Label of the row.
    view : MeasureView
        The measure.
    decimals : int
        How it is rounded.

    Returns
    -------
    dict
        Parts ``estimate``, ``more`` and ``interval`` of a sentence.
    """
    more, less = ("higher", "lower") if view.rated else ("more", "less")
    si = {name: value_at(frame, at, name) for name in ("difference", "lower", "upper")}
    shown = {name: view.difference(value) for name, value in si.items()}

    def said(name: str) -> Said:
        return number(table, frame, at, name, text(abs(shown[name]), decimals))

    def unit(name: str) -> str:
        named = view.unit_after(text(abs(shown[name]), decimals))
        return f" {named}" if named else ""

    estimate = Sentence("{n}{unit}", {"n": said("difference"), "unit": unit("difference")})
    parts: dict[str, object] = {"estimate": estimate}
    parts["more"] = more if shown["difference"] >= 0 else less
    parts["interval"] = Sentence("not estimated")
    if not all(math.isfinite(shown[name]) for name in ("lower", "upper")):
        return parts
    ends: dict[str, object] = {"lower": said("lower"), "upper": said("upper")}
    ends |= {"unit": unit("upper"), "at_lower": unit("lower"), "more": more, "less": less}
    if shown["lower"] >= 0:
        parts["interval"] = Sentence("{lower} to {upper}{unit}", ends)
    elif shown["upper"] <= 0:
        # Read from the smaller to the larger amount: 4 to 18 points less.
        parts["interval"] = Sentence("{upper} to {lower}{at_lower} {less}", ends)
    else:
        form = "from {lower}{at_lower} {less} to {upper}{unit} {more}"
        parts["interval"] = Sentence(form, ends)
    return parts


def shown_decimals(row: pd.Series, view: MeasureView) -> int:
    """Choose the decimals in which a row of the table ``primary`` is written."""
    names = ("se", "lower", "upper", "matters_from")
    se, lower, upper, matters = (view.difference(float(row[name])) for name in names)
    decimals = answer_decimals(se, lower, upper, matters)
    estimate = abs(view.difference(float(row["difference"])))
    # An estimate near zero is not written as none at all.
    return decimals + (0 < estimate < 0.5 * 10**-decimals)
