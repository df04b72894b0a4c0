"""Whether what a definition plans of an aeration fits its treatments and its dates."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from wintersward.errors import listed
from wintersward.trial.dates import dates_meant
from wintersward.trial.question_checks import Found, one_date
from wintersward.trial.reading import Place

if TYPE_CHECKING:
    from wintersward.trial.aerating import Aerating
    from wintersward.trial.decided import Decisions

__all__ = ["AERATION_CHECKS"]

_PLACE: Place = ("decisions", "aeration")


def _planned(decisions: Decisions | None) -> Aerating | None:
    return decisions.aeration if decisions else None


def _options(decisions: Decisions | None, treatments: dict[str, Any]) -> Found:
    """Yield options that are taken for a treatment, or whose holes overlap."""
    aerating = _planned(decisions)
    if aerating is None:
        return
    owner = {level: name for name, factor in treatments.items() for level in factor.levels}
    labels = {
        level.label: f"treatment {name}"
        for factor in treatments.values()
        for name, level in factor.levels.items()
    }
    for name, option in aerating.options.items():
        place: Place = (*_PLACE, "options", name)
        if name in owner:
            rule = f"a name that is not a treatment of {owner[name]} as well"
            hint = "a treatment with a tine is among the options already; choose another name"
            yield place, f"'{name}'", rule, hint
        elif option.label in labels:
            rule = f"another label than that of {labels[option.label]}"
            yield (*place, "label"), f"'{option.label}'", rule, "nobody could tell the two apart"
        labels.setdefault(option.label, f"option {name}")
        if min(option.tine.spacing) < option.tine.outside:
            found = "a spacing smaller than the outside diameter, so that holes overlap"
            hint = "measure from the middle of one hole to the middle of the next"
            yield (*place, "tine", "spacing"), found, "the outside diameter or more", hint


def _days(decisions: Decisions | None, dates: dict[str, Any]) -> Found:
    """Yield days that nothing names, or an event that is not after the aeration."""
    aerating = _planned(decisions)
    if aerating is None:
        return
    meant = {}
    for field, what in (("on", "you mean to aerate"), ("event", "the field is first used again")):
        word, place = getattr(aerating, field), (*_PLACE, field)
        if field not in aerating.model_fields_set and word not in dates:
            found = f"no '{field}', and no date called '{word}'"
            hint = f"add '{field}: ...' with the day on which {what}"
            yield place, found, f"a name from 'dates' ({listed(dates)}) or a date", hint
            continue
        wrong = list(one_date(dates, word, place))
        yield from wrong
        if not wrong:
            meant[field] = dates_meant(dates, word)[0]
    if len(meant) == 2 and meant["event"] <= meant["on"]:
        rule = f"a date after the aeration ({meant['on']})"
        hint = "the days between the two are those that the holes have to close"
        yield (*_PLACE, "event"), _said(aerating.event, meant["event"]), rule, hint


def _under_covers(
    decisions: Decisions | None, treatments: dict[str, Any], dates: dict[str, Any]
) -> Found:
    """Yield a day of aeration on which covers lie; the day on which they come off will do."""
    aerating = _planned(decisions)
    on, off = dates.get("covers_on"), dates.get("covers_off")
    covered = any(
        all(level.tine is None for level in factor.levels.values())
        for factor in treatments.values()
    )
    # Where nothing but tines is compared, the two dates are not of covers.
    if aerating is None or not covered:
        return
    if not isinstance(on, dt.date) or not isinstance(off, dt.date):
        return  # told where the dates are
    try:
        meant = dates_meant(dates, aerating.on)
    except ValueError:
        return  # told with the days of the aeration
    if len(meant) == 1 and on < meant[0] < off:
        rule = f"a day on which no covers lie (they lie from {on} to {off})"
        hint = "nothing can be aerated under covers; look at both dates"
        yield (*_PLACE, "on"), _said(aerating.on, meant[0]), rule, hint


def _said(word: dt.date | str, day: dt.date) -> str:
    """Quote a day as it is written, with the date that a name stands for."""
    return f"'{word}'" + (f" ({day})" if str(word) != str(day) else "")


AERATION_CHECKS: list[tuple[Callable[..., Found], tuple[str, ...]]] = [
    (_options, ("decisions", "treatments")),
    (_days, ("decisions", "dates")),
    (_under_covers, ("decisions", "treatments", "dates")),
]
