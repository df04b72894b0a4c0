"""The hand-filled sheets of the example, with the blemishes that sheets have, and a list of those.

Everything in them is invented. Each blemish is planted on purpose, in a place that is written here.
`blemish_table` lists them with what is true, so that whatever claims to find blemishes can be held
against it.
"""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pandas as pd
from openpyxl import Workbook

from field_model import FieldTruth
from season_weather import NOT_IN_FILE, NOT_MEASURED, draw_weather

__all__ = ["BLURRED", "MISSING", "SHADOWED", "blemish_table", "write_pulls", "write_ratings"]

# Photos: date and plot.
MISSING = ("2026-03-16", "204")
BLURRED = ("2026-04-04", "503")
SHADOWED = ("2026-03-24", "302")

RATINGS, PULLS, STATION = "sheets/colour_ratings.xlsx", "sheets/pulls.csv", "loggers/station.csv"
TITLE = "Colour ratings, Alder Road ground, 2026 (1 straw, 9 dark green)"
HEADINGS = ["Day", "Plot", "Rated by", "Colour 1-9", "Second look", "Remarks"]
NOTE = "shower at half past eleven, went on after lunch"

# Where ratings are not as they should be: date, rater and, mostly, plots.
NOTE_DAY = "2026-04-04"
_NOTE_AFTER = (NOTE_DAY, "rx", "306")
_SPACED_INITIALS = ("2026-03-10", "te", ("301", "302", "303", "304", "305", "306"))
_SPACED_PLOTS = ("2026-04-17", "rx", ("504", "505", "506"))
_DAY_AS_TEXT = ("2026-03-24", "te", ("101", "102", "103", "104", "105", "106"))
_SWAPPED = ("2026-03-10", "rx", ("105", "505"))
_REMARKS = {
    ("2026-01-15", "te", "601"): "a little snow left in the corner",
    ("2026-03-10", "rx", "404"): "frost on the leaves",
    ("2026-04-04", "te", "505"): "worm casts",
    ("2026-04-17", "rx", "203"): "clover",
}

# Pulls: date, plot and pull.
_NOT_PULLED = ("2026-04-17", "304", 3)
_SLIPPED = ("2026-03-24", "101", 1)

_STAMP = dt.datetime(2026, 4, 17, 12, 0, 0)


def write_ratings(path: Path, truth: FieldTruth, again: pd.DataFrame, walk: list[str]) -> None:
    """Write the workbook of ratings: visit by visit, rater by rater, in walking order.

    Parameters
    ----------
    path : Path
        Of the workbook.
    truth : FieldTruth
        Its ratings are the first looks.
    again : DataFrame
        Second looks as `field_model.draw_second_looks` gives them.
    walk : list of str
        Plots in walking order.
    """
    book = Workbook()
    page = book.active
    page.title = "Ratings"
    for row in _rating_rows(truth, again, walk):
        page.append(row)
    page.freeze_panes = "A4"
    book.properties.created = book.properties.modified = _STAMP
    book.properties.creator = "wintersward example study"
    held = io.BytesIO()
    book.save(held)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(_same_bytes(held.getvalue()))


def _rating_rows(
    truth: FieldTruth, again: pd.DataFrame, walk: list[str]
) -> Iterator[list[dt.date | str | int | None]]:
    yield [TITLE]
    yield []
    yield list(HEADINGS)
    order = {plot: at for at, plot in enumerate(walk)}
    looks = pd.concat([truth.ratings.assign(repeat=0), again.assign(repeat=1)])
    looks = looks.assign(
        order=looks["plot"].map(order),
        turn=looks["rater"].map({rater: at for at, rater in enumerate(looks["rater"].unique())}),
    )
    looks = looks.sort_values(["date", "turn", "repeat", "order"])
    first = looks[looks["repeat"] == 0].set_index(["date", "rater", "plot"])["rating"]
    for look in looks.itertuples():
        place = (look.date, look.rater, look.plot)
        mark = int(look.rating)
        if _is_at(place, _SWAPPED) and not look.repeat:
            other = next(plot for plot in _SWAPPED[2] if plot != look.plot)
            mark = int(first[(look.date, look.rater, other)])
        yield [
            look.date if _is_at(place, _DAY_AS_TEXT) else dt.date.fromisoformat(look.date),
            f"{look.plot} " if _is_at(place, _SPACED_PLOTS) else int(look.plot),
            f"{look.rater} " if _is_at(place, _SPACED_INITIALS) else look.rater,
            mark,
            1 if look.repeat else None,
            None if look.repeat else _REMARKS.get(place),
        ]
        if place == _NOTE_AFTER and not look.repeat:
            yield [NOTE]


def _is_at(place: tuple[str, str, str], where: tuple[str, str, tuple[str, ...]]) -> bool:
    return place[:2] == where[:2] and place[2] in where[2]


def _same_bytes(book: bytes) -> bytes:
    """Repack a workbook with fixed times, so that the same sheet is the same file."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(book)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            content = old.read(name)
            if name == "docProps/core.xml":
                now = content.split(b"<dcterms:modified")[1].split(b">")[1].split(b"<")[0]
                content = content.replace(now, _STAMP.isoformat().encode() + b"Z")
            entry = zipfile.ZipInfo(name, _STAMP.timetuple()[:6])
            entry.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(entry, content)
    return out.getvalue()


def write_pulls(path: Path, truth: FieldTruth) -> None:
    """Write the table of pulls, in the order of plots.

    Parameters
    ----------
    path : Path
        Of the CSV file.
    truth : FieldTruth
        Its pulls.
    """
    lines = ["date,plot,pull,peak lbf"]
    for pull in truth.pulls.itertuples():
        place = (pull.date, pull.plot, pull.pull)
        force = "-" if place == _NOT_PULLED else f"{pull.force:.1f}"
        if place == _SLIPPED:
            force = _slipped(pull.force)
        lines.append(f"{pull.date},{pull.plot},{pull.pull},{force}")
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(("\n".join(lines) + "\n").encode("utf-8"))


def _slipped(force: float) -> str:
    """Write a force with the point one digit too far to the left."""
    return f"{force / 10:.2f}"


def blemish_table(truth: FieldTruth) -> pd.DataFrame:
    """List every blemish that was planted.

    Parameters
    ----------
    truth : FieldTruth
        The field as it is.

    Returns
    -------
    DataFrame
        Columns file, kind, date, plot, rater, sample, written, true, found_by; empty text where
        one does not apply. ``written`` is what the file holds, ``true`` what should stand there.
        ``found_by`` says what tells of it: the sums of a sheet, a flag, a gap of the weather, a
        mark on a photo, the diary, or ``read as meant``.
    """
    columns = ["file", "kind", "date", "plot", "rater", "sample", "written", "true", "found_by"]
    rows = [*_rating_blemishes(truth), *_pull_blemishes(truth), *_day_blemishes()]
    for kind, (date, plot), found_by in (
        ("photo not there", MISSING, "counts; diary: missing"),
        ("photo blurred", BLURRED, "mark on the photo"),
        ("shadow across the photo", SHADOWED, "diary: exclusion"),
    ):
        name = f"photos/{date}/{plot}_1.jpg"
        rows.append((name, kind, date, plot, "", "", "", "", found_by))
    return pd.DataFrame(rows, columns=columns).astype(str)


def _rating_blemishes(truth: FieldTruth) -> Iterator[tuple[object, ...]]:
    yield RATINGS, "title above the headings", "", "", "", "", TITLE, "", "sums: headings"
    date, rater, plot = _NOTE_AFTER
    yield RATINGS, "note row", date, plot, rater, "", NOTE, "", "sums: empty"
    yield RATINGS, "column of remarks", "", "", "", "", HEADINGS[-1], "", "sums: not read"
    for kind, (date, rater, plots), form in (
        ("space after the initials", _SPACED_INITIALS, "{rater} "),
        ("space after the plot", _SPACED_PLOTS, "{plot} "),
        ("date as text", _DAY_AS_TEXT, "{date}"),
    ):
        for plot in plots:
            written = form.format(date=date, rater=rater, plot=plot)
            true = written.strip()
            yield RATINGS, kind, date, plot, rater, "1", written, true, "read as meant"
    date, rater, plots = _SWAPPED
    marks = truth.ratings.set_index(["date", "rater", "plot"])["rating"]
    true = [int(marks[(date, rater, plot)]) for plot in plots]
    for plot, right, wrong in zip(plots, true, reversed(true), strict=True):
        kind, found_by = "two plots swapped", "flag: two plots swapped; diary: exclusion"
        yield RATINGS, kind, date, plot, rater, "1", wrong, right, found_by


def _pull_blemishes(truth: FieldTruth) -> Iterator[tuple[object, ...]]:
    forces = truth.pulls.set_index(["date", "plot", "pull"])["force"]
    for kind, place, found_by in (
        ("decimal point slipped", _SLIPPED, "flag: jump; diary: exclusion"),
        ("marked missing", _NOT_PULLED, "sums: marked missing; diary: missing"),
    ):
        date, plot, pull = place
        force = float(forces[place])
        written = _slipped(force) if place == _SLIPPED else "-"
        yield PULLS, kind, date, plot, "", str(pull), written, f"{force:.1f}", found_by


def _day_blemishes() -> Iterator[tuple[object, ...]]:
    weather = draw_weather().set_index("date")
    for kind, day, written, found_by in (
        ("day not in the file", NOT_IN_FILE, "", "gap of the weather"),
        ("day without values", NOT_MEASURED, "M M M", "days of the month"),
    ):
        true = weather.loc[day]
        values = f"{true['low']:.0f} {true['high']:.0f} {true['rain']:.2f}"
        yield STATION, kind, day.isoformat(), "", "", "", written, values, found_by
