"""The brief: one printed page for a club, from the tables and figures of one run."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import jinja2
import pandas as pd
from markupsafe import Markup

from wintersward import __version__
from wintersward.paths import template
from wintersward.report.brief_numbers import brief_numbers
from wintersward.report.cautions import cautions, measures_hardness
from wintersward.report.checking import replication_words
from wintersward.report.demonstrating import demonstration_context
from wintersward.report.frozen import freeze_of
from wintersward.report.grounds import several_grounds
from wintersward.report.handing_in import last_day, season_text
from wintersward.report.meanings import exclusions_effect, meaning
from wintersward.report.numbers import counted, days_listed
from wintersward.report.pin_words import pin_alarms
from wintersward.report.said import value_at
from wintersward.report.trial_section import days_of
from wintersward.report.verdicts import verdict
from wintersward.report.views import factor_label, level_label, measure_view, picture_name
from wintersward.report.words import answer, planned_rows, question_text, waiting
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import LoggerMeasure

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["CAUTIONS", "ROOMS", "brief_page"]

Context = dict[str, Any]

ROOMS = {"roomy": 5400, "close": 6300, "tight": 7600, "tight tightest": 0}
"""Sizes of type, each with the room that a page may take in it; the last one takes any.

Room is counted in letters; half a line goes with every paragraph, a line with every date, and a
picture takes that of a thousand. Measured with Chromium on letter paper, the shorter one.
"""

_PINS = "Count pins and staples"
CAUTIONS = (
    "Frozen, dry, bare",
    "Whether a field is opened",
    "A cover in wind",
    _PINS,
    "Watch the temperature",
)
"""Beginnings of the cautions that stand in a brief; the report has all of them.

Where pins may be left in the turf, that on pins gives way to the alarm.
"""


def brief_page(page: Page) -> str:
    """Make the brief of a run; nothing is computed.

    Parameters
    ----------
    page : Page
        Tables and figures of the run.

    Returns
    -------
    str
        HTML without a script and without anything to fetch: pins that may be left in the turf,
        question, answer, one picture, three numbers, what next, cautions. It prints on one page of
        letter or A4.

    Raises
    ------
    jinja2.TemplateError
        For a mistake in a study's own copy of the template.
    """
    surroundings = jinja2.Environment(
        loader=jinja2.FunctionLoader(
            lambda name: template("reports", name, page.study).read_text("utf-8")
        ),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    index, context = surroundings.get_template("brief/index.html.j2"), _context(page)
    made = index.render(context, room="roomy")
    taken = _room(made)
    fitting = (name for name, most in ROOMS.items() if taken <= most or not most)
    return index.render(context, room=next(fitting))


def _room(made: str) -> int:
    """Count the room that a page takes, in letters; see `ROOMS`."""
    main = made.partition("<main")[2]
    paragraphs = sum(main.count(tag) for tag in ("<p", "<li", "<dt"))
    letters = len(Markup(main).striptags()) + 45 * paragraphs + 100 * main.count("<dt")
    return letters + (1000 if "<figure" in main else 0)


def _context(page: Page) -> Context:
    """Gather what the template shows."""
    definition, state = page.definition, _state(page)
    held = cautions(definition.units, measures_hardness(definition))
    alarms = pin_alarms(page)
    starts = [start for start in CAUTIONS if not (alarms and start == _PINS)]
    kept = [one for start in starts for one in held if one.text.startswith(start)]
    shown = {} if definition.layout.tested else demonstration_context(page)
    primary, counts = page.table("primary"), page.table("counts")
    return {
        "page": page,
        "definition": definition,
        "version": __version__,
        "state": state,
        "tested": definition.layout.tested,
        "freeze": freeze_of(page),
        "season": season_text(page),
        "data_to": last_day(page),
        "people": [f"{one.name} ({one.role})" for one in definition.people],
        "notice": definition.notice or "",
        "alarms": alarms,
        "grounds": several_grounds(definition),
        "question": shown["question"] if shown else question_text(definition),
        "planned": _planned(page),
        "waits": waiting(definition, counts),
        "answer": answer(primary, definition, notes=page.table("notes"), counts=counts),
        "meaning": meaning(primary, definition),
        "put_back": exclusions_effect(primary, definition),
        "picture": _picture(page, state),
        "numbers": brief_numbers(page, state),
        "verdicts": _verdicts(page),
        "chances": replication_words(page.table("replication"), definition),
        "needs": shown.get("needs", []),
        "coming": _coming(page),
        "cautions": kept,
        "others": counted(len(held) - len(kept), "caution"),
    }


def _state(page: Page) -> str:
    """Tell what there is to say; see `wintersward.report.brief_numbers.brief_numbers`."""
    if page.waiting:
        return "planned"
    if not page.definition.layout.tested:
        return "shown"
    return "answered" if page.answered else "open"


def _planned(page: Page) -> Context:
    """Tell what is planned and when. No plot is named with its treatment, since raters read it."""
    definition = page.definition
    dates = sorted((days_of(days), name) for name, days in definition.dates.items())
    return {
        "treatments": [
            (
                factor_label(definition, name),
                [level_label(definition, one) for one in factor.levels],
            )
            for name, factor in definition.treatments.items()
        ],
        "dates": [(name.replace("_", " "), days_listed(days)) for days, name in dates],
        "measures": [
            (
                measure_view(definition, name).label,
                days_listed(dates_meant(definition.dates, held.dates)),
            )
            for name, held in definition.measures.items()
        ],
    }


def _picture(page: Page, state: str) -> Markup:
    """Choose the one picture; none before the data, or where nothing could be estimated."""
    measure = page.definition.analysis.primary.measure
    names = {
        "answered": ["answer", picture_name("differences", measure)],
        "shown": [picture_name("progress", measure)],
    }
    found = (page.figure(name, "lead") for name in names.get(state, []))
    return next((figure for figure in found if figure), Markup(""))


def _verdicts(page: Page) -> list[str]:
    """List what the intervals say against zero and what matters, each verdict once."""
    primary, names = page.table("primary"), ("lower", "upper", "matters_from")
    found = [
        verdict(*(value_at(primary, at, name) for name in names)).name
        for at in planned_rows(primary, page.definition)
    ]
    return list(dict.fromkeys(found))


def _coming(page: Page) -> list[tuple[str, str]]:
    """List the planned days that lie after all that was observed and is told in the diary."""
    last, later = _told_until(page), []
    for name, days in page.definition.dates.items():
        left = [day for day in days_of(days) if day > last]
        if left:
            later.append((left, name.replace("_", " ")))
    return [(name, days_listed(days)) for days, name in sorted(later)]


def _told_until(page: Page) -> dt.date:
    """Find the last day that a person told of; a logger goes on by itself when a visit is lost."""
    measures, observed = page.definition.measures, page.table("observations")
    alone = [name for name, one in measures.items() if isinstance(one, LoggerMeasure)]
    found = [*observed.loc[~observed["measure"].isin(alone), "date"]]
    for name in ("cover_events", "management"):
        found += [*page.table(name)["date"]]
    days = [pd.Timestamp(str(day)).date() for day in found]
    days += [day for spell in page.covers for day in (spell.on, spell.off) if day is not None]
    return max(days, default=dt.date.min)
