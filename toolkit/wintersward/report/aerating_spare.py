"""Whether the holes of an aeration have closed at the first use, in words and side by side."""

from __future__ import annotations

import math

import pandas as pd
from markupsafe import Markup

from wintersward.decisions.closure import CLOSED
from wintersward.report.aerating_days import SOLID
from wintersward.report.aerating_rows import (
    DAYS,
    NAME,
    basis_of,
    days_of,
    ends,
    in_order,
    numbered,
)
from wintersward.report.numbers import day_text
from wintersward.report.said import Said, Sentence, row_at, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import factor_label, in_sentence, within_label
from wintersward.trial import Definition

__all__ = ["days_table", "spare_words"]

# Days that somebody else has told.
_BY_OTHERS = {"stated", "published", "lengthened", "cold"}
# Less than a day is neither to spare nor too few [day].
_LEAST = 1.0
_SCALED = "observed, scaled"
_SHORT = {
    "observed": "this trial",
    _SCALED: "this trial, scaled",
    "stated": "the definition",
    "published": "published",
    "lengthened": "published, lengthened",
    "cold": "no figure: too cold",
    "solid": "no figure known",
}


def spare_words(found: pd.DataFrame, days: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say of every way to aerate whether its holes have closed at the first use, by the figures.

    Parameters
    ----------
    found, days : DataFrame
        The tables ``aeration_options`` and ``aeration_days``.
    definition : Definition
        The trial.
    """
    said = []
    for at in in_order(found, definition):
        row = row_at(found, at)
        rows = days_of(days, str(row["option"]), definition)
        if rows and math.isfinite(float(row["days_available"])):
            scaled = basis_of(row) == _SCALED
            said.append(_by_treatment(days, rows, str(row["label"]), definition, scaled))
            continue
        low, high = (float(row[name]) for name in ("spare_low", "spare_high"))
        parts: dict[str, object] = {"label": row["label"], "why": _why_none(row)}
        parts |= {
            "low": numbered(found, at, "spare_low", abs(low), 0),
            "high": numbered(found, at, "spare_high", abs(high), 0),
        }
        parts |= {
            f"unit_{end}": "day" if str(parts[end]) == "1" else "days" for end in ("low", "high")
        }
        said.append(Sentence("{label}: " + _spare_form(low, high, float(row["days_low"])), parts))
    return said


def _spare_form(low: float, high: float, fewest: float) -> str:
    if not math.isfinite(fewest):
        return "{why}."
    if not math.isfinite(high):
        return "without a day of first use nothing can be left over."
    if not math.isfinite(low):
        end = "{high} {unit_high} to spare" if high >= 0 else "{high} {unit_high} too few"
        return f"at best {end}; some holes were still open when they were last seen."
    if low >= _LEAST:
        return "by these figures its holes have closed with {low} to {high} {unit_high} to spare."
    if high <= -_LEAST:
        return (
            "by these figures its holes are open {high} to {low} {unit_low} longer than there are."
        )
    if high < 0:
        return "by these figures it may be either, {low} {unit_low} too few at most."
    if low >= 0:
        return "by these figures it may be either, {high} {unit_high} to spare at most."
    return "by these figures it may be either, from {low} {unit_low} too few to {high} to spare."


def _why_none(row: pd.Series) -> str:
    said = str(row["days_basis"])
    return f"{said}; {SOLID}" if basis_of(row) == "solid" else said


def _by_treatment(
    days: pd.DataFrame, rows: list[int], label: str, definition: Definition, scaled: bool
) -> Sentence:
    """Say it where holes were looked at: what was seen last, then each group of treatments.

    Of a tine that was not run, whose days are scaled from holes of another, nothing was seen.
    """
    parts: dict[str, object] = {"label": label}
    said = []
    groups = _groups(days, rows)
    for at, own in enumerate(groups):
        words = [within_label(definition, str(days.at[row, "within"] or "")) for row in own]
        named = " or ".join(in_sentence(one) for one in words if one) if len(groups) > 1 else ""
        again = at > 0 and _verdict(days, groups[at - 1]) == _verdict(days, own)
        parts[f"group_{at}"] = _group(days, own, named, again, scaled)
        said.append(f"{{group_{at}}}")
    form = "; ".join(said) + "."
    if scaled:
        whose = "by days scaled by diameter from holes of this trial, not seen, "
        return Sentence("{label}: " + whose + form, parts)
    if pd.isna(row_at(days, rows[0])["seen_on"]):
        return Sentence("{label}: by these figures " + form, parts)
    parts["seen"] = _sight(days, rows)
    return Sentence("{label}: {seen}. By days read off between visits, " + form, parts)


def _groups(days: pd.DataFrame, rows: list[int]) -> list[list[int]]:
    """Put treatments together of which the same can be said: none lies a day or more apart."""
    found: list[list[int]] = []
    for at in sorted(rows, key=lambda at: value_at(days, at, "days_low")):
        before = found[-1] if found else []
        last = max((_or_far(value_at(days, one, "days_high")) for one in before), default=math.inf)
        alike = before and _verdict(days, before) == _verdict(days, [at])
        if alike and value_at(days, at, "days_low") - last < _LEAST:
            before.append(at)
        else:
            found.append([at])
    return found


def _verdict(days: pd.DataFrame, own: list[int]) -> str:
    return _judged(row_at(days, own[0]))


def _judged(row: pd.Series) -> str:
    """Tell on which side of the first use the holes closed, or that it may be either.

    Notes
    -----
    Of holes that were looked at themselves the last look before the first use tells more than the
    visits on either side of it: where none was closed then, days that are read off stand.
    """
    seen = not pd.isna(row["seen_on"])
    if seen and not int(row["seen_closed"]) and float(row["spare_high"]) <= -_LEAST:
        return "open"
    return str(row["says"])


def _group(days: pd.DataFrame, own: list[int], named: str, again: bool, scaled: bool) -> Sentence:
    """Say of one group how its days lie to those there are; again: as of the one before it."""
    most = max(own, key=lambda at: _or_far(value_at(days, at, "days_high")))
    least = min(own, key=lambda at: value_at(days, at, "days_low"))
    wide = max(own, key=lambda at: value_at(days, at, "apart"))

    def shown(at: int, column: str, turn: float = 1.0) -> Said | str:
        return numbered(days, at, column, turn * value_at(days, at, column), 0, DAYS)

    parts: dict[str, object] = {"with": f"with {named} " if named else ""}
    parts |= {"share": f"{CLOSED:g}", "apart": shown(wide, "apart")}
    parts["there"] = shown(own[0], "days_available")
    says = _verdict(days, own)
    known = math.isfinite(value_at(days, most, "days_high"))
    if says == "closed":
        parts["range"] = _days(shown(most, "spare_low"), shown(least, "spare_high"))
        closed = "would have closed" if scaled else "has closed"
        what = "" if again else f"{{share}} % of the hole area {closed} with "
        return Sentence("{with}" + what + "about {range} to spare", parts)
    if says == "open":
        late = shown(least, "spare_high", -1.0)
        parts["range"] = _days(late, shown(most, "spare_low", -1.0) if known else late)
        parts["about"] = "about" if known else "at best"
        closed = "would be closed" if scaled else "is closed"
        what = "" if again else f"{{share}} % of the hole area {closed} "
        return Sentence("{with}" + what + "only {about} {range} after the first use", parts)
    parts["range"] = ends(days, least, "days_low", "days_high", table=DAYS)
    if least != most:
        parts["range"] = _between(shown(least, "days_low"), shown(most, "days_high"))
    form = "{with}it may be either ({range} of {there} days, read off visits up to {apart} days "
    return Sentence(form + "apart)", parts)


def _between(low: Said | str, high: Said | str) -> Sentence:
    """Write fewest and most days; an open end where the most are not known."""
    form = "{low} or more" if str(high) == "–" else "{low} to {high}"
    return Sentence("{low}" if str(low) == str(high) else form, {"low": low, "high": high})


def _days(low: Said | str, high: Said | str) -> Sentence:
    unit = "day" if str(high) == "1" else "days"
    return Sentence("{range} {unit}", {"range": _between(low, high), "unit": unit})


def _or_far(value: float) -> float:
    return value if math.isfinite(value) else math.inf


def _sight(days: pd.DataFrame, rows: list[int]) -> Sentence:
    """Say what was seen at the last visit up to the first use."""
    low = min(rows, key=lambda at: value_at(days, at, "seen_low"))
    high = max(rows, key=lambda at: value_at(days, at, "seen_high"))
    closed, plots = (int(days.loc[rows, f"seen_{n}"].sum()) for n in ("closed", "plots"))
    parts: dict[str, object] = {
        "day": day_text(max(days.loc[rows, "seen_on"])),
        "share": f"{CLOSED:g}",
        "plots": str(plots),
        "many": f"{closed}" if closed else "none",
        "low": numbered(days, low, "seen_low", value_at(days, low, "seen_low"), 0, DAYS),
        "high": numbered(days, high, "seen_high", value_at(days, high, "seen_high"), 0, DAYS),
    }
    form = "on {day}, the last visit before the first use, "
    if closed == plots:
        return Sentence(form + "all {plots} plots were {share} % closed or more", parts)
    form += "{many} of {plots} plots was" if closed < 2 else "{many} of {plots} plots were"
    return Sentence(form + " {share} % closed ({low} to {high} %)", parts)


def days_table(found: pd.DataFrame, days: pd.DataFrame, definition: Definition) -> Markup:
    """Show the days until holes have closed, and those to spare, by treatment where they differ.

    Parameters
    ----------
    found, days : DataFrame
        The tables ``aeration_options`` and ``aeration_days``.
    definition : Definition
        The trial.
    """
    withins = [str(one or "") for one in days["within"]]
    factor = next((one.partition("=")[0] for one in withins if one), "")
    heads = [Head("Tine")]
    heads += [Head(factor_label(definition, factor))] if factor else []
    heads += [Head("to close", "", True, "Days")]
    heads += [Head("by the visits", "", True, "Days")] if len(days) else []
    heads += [Head("to spare", "", True, "Days"), Head("Days from")]
    rows = []
    for at in in_order(found, definition):
        row = row_at(found, at)
        own = days_of(days, str(row["option"]), definition)
        for place in own or [at]:
            table, name = (days, DAYS) if own else (found, NAME)
            within = str(days.at[place, "within"] or "") if own else ""
            cells: list[Cell] = [ends(table, place, "days_low", "days_high", table=name)]
            if len(days):
                looks = ends(table, place, "visits_low", "visits_high", table=name) if own else "–"
                cells.append(looks)
            cells.append(ends(table, place, "spare_low", "spare_high", signed=True, table=name))
            inside = (within_label(definition, within) or "–",) if factor else ()
            rows.append(Row((str(row["label"]), *inside), (*cells, _SHORT[basis_of(row)])))
    note = (
        "To spare: days between aeration and first use, less those that the holes are open; below "
        "zero they are still open then. "
    )
    if len(days):
        note += "By the visits: between which looks they closed, which is all that was seen. "
    bases = {basis_of(row_at(found, at)) for at in in_order(found, definition)}
    note += "Closed: of holes seen here"
    note += ", and of tines scaled from them," if _SCALED in bases else ""
    note += f" {CLOSED:g} % of their area, a mark of this report (common practice, no source)"
    note += "; of others, what their source calls closed." if bases & _BY_OTHERS else "."
    caption = "Days until holes have closed, against those to the first use"
    return html_table(caption, heads, rows, note)
