"""The contact sheet: small pictures of the photos in walking order, to confirm a list by eye."""

from __future__ import annotations

import base64
import datetime as dt
import io
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from wintersward.papers.looks import walks
from wintersward.papers.pages import printable
from wintersward.report.numbers import counted, day_text
from wintersward.trial import Definition

if TYPE_CHECKING:
    import pandas as pd
    from PIL.Image import Image

__all__ = ["THUMB", "Sighted", "contact_sheet", "thumbnail"]

THUMB = 240
"""Longer side of a small picture [pixels]."""

_QUALITY = 68


@dataclass(frozen=True)
class Sighted:
    """One photo of the sheet.

    Parameters
    ----------
    day : str
        Year-month-day; empty where it cannot be told.
    plot, sample : str
        What it shows; empty where it cannot be told.
    file : str
        Its name, from the folder of photos on.
    taken : str
        Day and time of capture, ``2026-03-24 11:10:00``; empty where unknown.
    remark : str
        Why to look twice; empty for no reason.
    picture : bytes
        A small JPEG, as `thumbnail` makes it; empty where the file could not be opened.
    """

    day: str
    plot: str
    sample: str
    file: str
    taken: str
    remark: str
    picture: bytes

    @property
    def time(self) -> str:
        """Time of day for a reader, also where a spreadsheet program rewrote the day."""
        return self.taken.partition(" ")[2]

    @property
    def data(self) -> str:
        """The picture for an address that begins with ``data:``."""
        return base64.b64encode(self.picture).decode("ascii")


@dataclass(frozen=True)
class _Day:
    heading: str
    told: str
    cells: list[tuple[str, list[Sighted]]]
    others: list[Sighted]


def thumbnail(image: Image) -> bytes:
    """Make a picture small.

    Parameters
    ----------
    image : PIL.Image.Image
        RGB; it is not changed.

    Returns
    -------
    bytes
        JPEG, `THUMB` pixels at its longer side at most.
    """
    small = image.copy()
    small.thumbnail((THUMB, THUMB))
    stream = io.BytesIO()
    small.save(stream, "JPEG", quality=_QUALITY, optimize=True)
    return stream.getvalue()


def contact_sheet(
    definition: Definition,
    plots: pd.DataFrame,
    paper: str,
    photos: Iterable[Sighted],
    study: Path | None = None,
) -> str:
    """Make the contact sheet of a drafted list of photos.

    Parameters
    ----------
    definition : Definition
        The trial.
    plots : DataFrame
        ``plan/plots.csv``. Its treatments are not read.
    paper : {'letter', 'a4'}
        What it is printed on.
    photos : iterable of Sighted
        In the order of the list.
    study : Path, optional
        Study folder whose own copies of the templates go first.

    Returns
    -------
    str
        HTML: for each day the plots in walking order, with an empty frame where a plot has no
        photo, and after them the photos of which the plot cannot be told. No treatment is named.

    Raises
    ------
    WinterswardError
        For a paper that is not known.
    """
    walked = [str(plot) for walk in walks(plots) for plot in walk["plot"]]
    days: dict[str, list[Sighted]] = {}
    for photo in photos:
        days.setdefault(photo.day, []).append(photo)
    made = [_day(day, days[day], walked) for day in sorted(days, key=lambda d: (not d, d))]
    several = any(photo.sample not in ("", "1") for held in days.values() for photo in held)
    told = {"days": made, "several": several, "walked": walked}
    return printable("contact_sheet", definition, paper, study, **told)


def _day(day: str, photos: list[Sighted], walked: list[str]) -> _Day:
    by_plot: dict[str, list[Sighted]] = {plot: [] for plot in walked}
    others: list[Sighted] = []
    for photo in photos:
        by_plot.get(photo.plot, others).append(photo)
    cells = list(by_plot.items()) if len(others) < len(photos) else []
    told = [counted(len(photos), "photo")]
    told += [f"{len(others)} without a plot yet"] if others else []
    looks = sum(bool(photo.remark) for held in by_plot.values() for photo in held)
    told += [f"{looks} to look at twice"] if looks else []
    lacking = sum(not held for held in by_plot.values())
    told += [f"{counted(lacking, 'plot')} without a photo"] if lacking and cells else []
    return _Day(_heading(day), ", ".join(told), cells, others)


def _heading(day: str) -> str:
    try:
        return day_text(dt.date.fromisoformat(day))
    except ValueError:
        return day or "Day unknown"
