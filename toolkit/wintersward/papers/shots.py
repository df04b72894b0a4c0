"""Photo lists: which plots to photograph on a visit, in walking order, and names for the files."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pandas as pd

from wintersward.design.places import sampling_places
from wintersward.papers.looks import walks
from wintersward.papers.pages import short_id
from wintersward.papers.workbooks import TICK, Column, Form, workbook
from wintersward.report.cautions import UNSOURCED
from wintersward.trial import Definition
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import PhotoMeasure
from wintersward.units import from_si, reader_unit

__all__ = ["photo_lists"]


def photo_lists(definition: Definition, plots: pd.DataFrame, paper: str) -> dict[str, bytes]:
    """Make the list of photos of every visit, without treatments.

    Parameters
    ----------
    definition : Definition
        Its measures from photos.
    plots : DataFrame
        ``plan/plots.csv``.
    paper : str
        ``letter`` or ``a4``.

    Returns
    -------
    dict of str to bytes
        From file name, ``2026-03-24_photos.xlsx``, to content; the names of photos in it are
        those that `wintersward.records.photo_index` reads.
    """
    made = {}
    for day, due in sorted(_days(definition).items()):
        content = workbook(_form(definition, plots, day, due, paper))
        made[f"{day}_photos.xlsx"] = content
    return made


def _days(definition: Definition) -> dict[dt.date, list[PhotoMeasure]]:
    due: dict[dt.date, list[PhotoMeasure]] = {}
    for measure in definition.measures.values():
        if isinstance(measure, PhotoMeasure):
            for day in dates_meant(definition.dates, measure.dates):
                due.setdefault(day, []).append(measure)
    return due


def _form(
    definition: Definition, plots: pd.DataFrame, day: dt.date, due: list[PhotoMeasure], paper: str
) -> Form:
    numbers = range(1, max(measure.per_plot for measure in due) + 1)
    walked = pd.concat(walks(plots))
    rows = [(str(plot), number) for plot in walked["plot"] for number in numbers]
    none, every = [False] * len(rows), [True] * len(rows)
    empty = [None] * len(rows)
    columns = [
        Column("taken", empty, every, 7, TICK),
        Column("plot", [plot for plot, _ in rows], none, 8),
        Column("photo", [number for _, number in rows], none, 7),
        Column("name it", [f"{plot}_{number}.jpg" for plot, number in rows], none, 15),
        Column("number in the camera", empty, every, 13),
        Column("note", empty, every, 22),
    ]
    if "ground" in walked:
        names = definition.layout.grounds or {}
        grounds = [names.get(one, one) for one in walked["ground"] for _ in numbers]
        columns.insert(2, Column("ground", grounds, none, 16))
    return Form(
        tab="Photos",
        columns=columns,
        still=2,
        head=(
            f"Photos of {day}, study {short_id(definition)}",
            "Taken by: ________",
            f"Folder photos/{day}",
        ),
        foot="Before leaving: does every row have its tick?",
        remarks=_remarks(definition, plots, day, due),
        break_before=[],
        paper=paper,
        day=day,
        title=f"Photos of {day}",
    )


def _remarks(
    definition: Definition, plots: pd.DataFrame, day: dt.date, due: list[PhotoMeasure]
) -> list[tuple[Any, Any]]:
    unit = reader_unit("distance", definition.units)
    edge = from_si(definition.layout.edge_left_out, unit)
    steps = [
        "Walk the plots in the order of the rows; tick each photo as it is taken.",
        "One camera throughout the trial, at the same height over the turf on every visit (a frame "
        "or a pole keeps it), pointing straight down on the same spot.",
        "Stand so that no shadow falls on what the photo shows. Steady light: between 10 and 14 h, "
        "or under an even overcast sky, and the same for all plots of a visit.",
        "Lock exposure and white balance for the visit, or take one photo of a grey card.",
        "No photo with frost, dew, snow, standing water, cores or sand on the turf: wait until it "
        "is gone, and tell in the diary what could not be photographed.",
        "Note in the first row how many days ago the turf was mown.",
        "Photos of labels or of a grey card stay out of photos: they show no plot.",
        f"Put the photos into the folder photos/{day} and name them as the list says.",
        "If they keep the names that the camera gave them, put them anywhere in photos as they "
        "are: the command check drafts the list from the times and the walking order; so walk in "
        "this order, and take one photo after the other.",
    ]
    if edge:
        steps.insert(1, f"Leave out the outer {edge:.3g} {unit} along each side of a plot.")
    for said in _shown(definition, plots, day, due):
        steps.insert(1, said)
    steps.append(f"How photos are taken, as told here, is {UNSOURCED}.")
    return [("What to do", ""), *enumerate(steps, 1)]


def _shown(
    definition: Definition, plots: pd.DataFrame, day: dt.date, due: list[PhotoMeasure]
) -> list[str]:
    """Say what the photos of a day show, and in which order several lie in a plot."""
    unit = reader_unit("distance", definition.units)
    places = sampling_places(plots, definition)
    places = places[(places["kind"] == "photo") & (places["date"] == day)]
    said = []
    for name, measure in definition.measures.items():
        if not isinstance(measure, PhotoMeasure) or measure not in due:
            continue
        photos = measure.per_plot
        if measure.quadrat is None:
            said.append(
                "Each photo shows the middle of the plot, the same spot on each visit."
                if photos == 1
                else f"The {photos} photos of a plot lie side by side around the middle of the "
                "plot, number 1 at the left, the same spots on each visit."
            )
            continue
        width, length = (f"{from_si(side, unit):.3g} {unit}" for side in measure.quadrat)
        if photos == 1:
            said.append(f"A photo shows {width} by {length} in the middle of the plot.")
            continue
        own = places[places["measure"] == name]
        rows = int(own.groupby("plot")["y_m"].nunique().max())
        order = "number 1 at the left"
        if rows > 1:
            order = "number 1 at the lower left, row by row upwards"
        said.append(
            f"Each photo shows {width} by {length}: the {photos} of a plot lie side by side around "
            f"its middle, {order}, as on the map's enlarged plot."
        )
    return list(dict.fromkeys(said))
