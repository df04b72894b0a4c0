"""Reference spots: pulls in established turf beside the trial, to set the plots' pulls against."""

from __future__ import annotations

import datetime as dt
from typing import Any

from wintersward.papers.pages import short_id
from wintersward.papers.scales import apart_words, rule
from wintersward.papers.workbooks import Column, Form, workbook
from wintersward.report.cautions import UNSOURCED
from wintersward.trial import Definition
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import SheetMeasure

__all__ = ["reference_books"]


def reference_books(definition: Definition, paper: str) -> dict[str, bytes]:
    """Make the sheets for pulls in established turf outside the plots.

    Parameters
    ----------
    definition : Definition
        Its measures of force from sheets; their days and readings.
    paper : str
        ``letter`` or ``a4``.

    Returns
    -------
    dict of str to bytes
        From file name, ``2026-03-24_reference_pull_force.xlsx``, to content; as many spots as a
        block has plots.

    Notes
    -----
    A spot is no plot: the sheet has neither a column for plots nor one of the measure's name, so
    that, put among the sheets, it is told as no sheet of the trial, and never counts as one.
    """
    made = {}
    for name, measure in definition.measures.items():
        if isinstance(measure, SheetMeasure) and measure.unit == "N":
            for day in dates_meant(definition.dates, measure.dates):
                form = _form(definition, name, measure, day, paper)
                made[f"{day}_reference_{name}.xlsx"] = workbook(form)
    return made


def _form(
    definition: Definition, name: str, measure: SheetMeasure, day: dt.date, paper: str
) -> Form:
    # Every layout has all combinations of treatments once in a block, a row, or a replicate.
    spots = range(1, definition.combinations + 1)
    rows = [(spot, number) for spot in spots for number in range(1, measure.per_plot + 1)]
    none, every, empty = [False] * len(rows), [True] * len(rows), [None] * len(rows)
    first = [number == 1 for _, number in rows]
    columns = [
        Column("visit", [day] * len(rows), none, 12),
        Column("spot", [spot for spot, _ in rows], none, 7),
        Column("where it lies", empty, first, 28),
        Column("pull", [number for _, number in rows], none, 7),
        Column(f"reference ({measure.unit_written})", empty, every, 14, rule(name, measure, "")),
        Column("who", empty, every, 8),
    ]
    label = measure.label or name.replace("_", " ")
    return Form(
        tab="Reference spots",
        columns=columns,
        still=2,
        head=(f"Reference spots of {day}", label, f"study {short_id(definition)}"),
        foot="Not a sheet of the trial: keep it out of the folder sheets",
        remarks=[("What to do", ""), *enumerate(_steps(definition), 1)],
        break_before=[],
        paper=paper,
        day=day,
        title=f"Reference spots of {day}",
    )


def _steps(definition: Definition) -> list[Any]:
    return [
        f"Choose {definition.combinations} spots in turf that has stood for at least two seasons, "
        "of the same kind and mowing, outside the plots and their alleys.",
        "Choose them before the first pull, at even steps along a line, not by how they look.",
        "Say where each one lies, so that the next visit finds it: steps from a post or a line.",
        "Pull on the same day, with the same tool and the same hand as in the plots, in the same "
        "direction and at the same speed, and read the peak. Keep every pull at least "
        f"{apart_words(definition.units)} from earlier ones, also of an earlier visit.",
        f"How pulls are taken, as told here, is {UNSOURCED}.",
        "This is not a sheet of the trial: keep it out of the folder sheets.",
    ]
