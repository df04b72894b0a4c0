"""A drafted list of photos: which one shows which plot, for a person to look at and confirm."""

from __future__ import annotations

import csv
import datetime as dt
import hashlib
import io
import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import Any

import pandas as pd

from wintersward import records
from wintersward.errors import Problem, WinterswardError
from wintersward.papers.contact_sheets import THUMB, Sighted, contact_sheet, thumbnail
from wintersward.papers.looks import walks
from wintersward.paths import study_folder
from wintersward.photos.decoding import camera_of, open_photo
from wintersward.photos.refused import refused_photos
from wintersward.records.photo_files import DRAFT, DRAFT_RECORD, DRAFT_SHEET, Untold
from wintersward.records.photo_order import SURE, Place, Shot, Stop, placed_in_order
from wintersward.records.tables import read_tables
from wintersward.runs.files import read_json, write_json, write_whole
from wintersward.runs.paper_files import paper_for
from wintersward.study import Trial, open_study

__all__ = ["Drafted", "draft_photos"]

_HEADINGS = ("date", "plot", "sample", "file", "taken", "sure")
# Hashes of the two files as they were written, to tell those that a person changed since, and
# the times of capture, so that photos are not opened again at every check.
_LISTED = "yes: it stood in index.csv"
_NAMED = "yes: by its name"

Row = dict[str, str]


@dataclass(frozen=True)
class Drafted:
    """What was drafted.

    Parameters
    ----------
    photos : int
        Photos whose plot and date no name and no list tells.
    without_plot : int
        Those of them to which the draft gives no plot.
    kept : bool
        Whether the draft was left as a person has changed it.
    """

    photos: int
    without_plot: int
    kept: bool


@dataclass(frozen=True)
class _Seen:
    """A photo of which nothing tells the plot: its day and time, and what is doubtful in them."""

    file: str
    day: str
    taken: dt.datetime | None
    doubt: str = ""
    note: str = ""


def draft_photos(folder: str | Path = "") -> Drafted | None:
    """Draft the list of photos that lack one, with a contact sheet to confirm it by.

    Parameters
    ----------
    folder : str or Path
        The study folder, or anything in it; empty, the current folder.

    Returns
    -------
    Drafted or None
        None where every photo tells its plot and date, by its name or in ``photos/index.csv``.

    Raises
    ------
    WinterswardError
        With everything that is wrong in the definition, the plots or the diary; or where a draft
        that a person changed holds none of the photos that lack one.

    Notes
    -----
    Writes ``photos/index_draft.csv`` and ``photos/index_draft.html``, which nothing else reads:
    the person renames the first to ``index.csv``. It holds a row for each photo, those that
    were listed or named before included. A draft that a person changed stays; the sheet then
    shows what the person wrote. Both are taken away when no photo needs them any more.
    """
    trial = open_study(study_folder(folder or Path.cwd()))
    place = trial.folder / "photos"
    found = records.untold_photos(trial.folder, trial.definition, trial.plots)
    record = _Record(place)
    if not found.lacking:
        record.take_away()
        return None
    kept = record.by_hand(DRAFT)
    rows = _written(place / DRAFT) if kept else _rows(trial, found, record)
    if kept and not {row["file"] for row in rows} & set(found.lacking):
        raise WinterswardError(_in_the_way(len(found.lacking)))
    if not kept:
        record.write(DRAFT, _csv(rows))
    days = {row["date"] for row in rows if row["file"] in found.lacking}
    shown = [row for row in rows if row["date"] in days]
    mark = _mark(place, shown)
    if not record.by_hand(DRAFT_SHEET) and record.stale(mark):
        photos = [_sighted(place, row) for row in shown]
        paper = paper_for(trial.definition.site.country)
        page = contact_sheet(trial.definition, trial.plots, paper, photos, trial.folder)
        record.write(DRAFT_SHEET, page.encode("utf-8"))
        record.held["sheet of"] = mark
    record.save()
    plots = {row["file"]: row["plot"] for row in rows}
    return Drafted(len(found.lacking), sum(not plots.get(file) for file in found.lacking), kept)


class _Record:
    """What was written into the folder of photos, and when each photo was taken."""

    def __init__(self, place: Path) -> None:
        self.place = place
        try:
            self.held: dict[str, Any] = dict(read_json(place / DRAFT_RECORD))
        except (json.JSONDecodeError, UnicodeDecodeError, TypeError, ValueError):
            # Without a record every file there is a person's.
            self.held = {}
        self.before = json.dumps(self.held, sort_keys=True)

    def by_hand(self, name: str) -> bool:
        """Tell whether a file is there that is not as it was written."""
        path = self.place / name
        return path.is_file() and _hash(path.read_bytes()) != self.held.get(name)

    def stale(self, mark: str) -> bool:
        """Tell whether the sheet is not there, or shows something else than `mark`."""
        return self.held.get("sheet of") != mark or not (self.place / DRAFT_SHEET).is_file()

    def write(self, name: str, content: bytes) -> None:
        """Write a file unless it is there already, and keep its hash."""
        path = self.place / name
        if not path.is_file() or path.read_bytes() != content:
            write_whole(path, content)
        self.held[name] = _hash(content)

    def taken(self, file: str) -> tuple[dt.datetime | None, str]:
        """Tell when a photo was taken, else why not; a photo that did not change stays shut."""
        found = (self.place / file).stat()
        stamp = [found.st_size, found.st_mtime_ns]
        times = self.held.setdefault("times", {})
        entry = times.get(file)
        if not isinstance(entry, list) or entry[:2] != stamp:
            if refused_photos([self.place / file]):
                entry = [*stamp, "", "no: the file cannot be opened"]
            else:
                entry = [*stamp, camera_of(self.place / file).taken or "", ""]
            times[file] = entry
        if not entry[2]:
            return None, entry[3] or "no: the file does not tell when it was taken"
        # The camera's own clock counts: what it showed, wherever it stood.
        return dt.datetime.fromisoformat(entry[2]).replace(tzinfo=None), ""

    def save(self) -> None:
        """Keep the record, where it is another than before."""
        if json.dumps(self.held, sort_keys=True) != self.before:
            write_json(self.place / DRAFT_RECORD, self.held)

    def take_away(self) -> None:
        """Remove what was written here and nobody changed."""
        for name in (DRAFT, DRAFT_SHEET):
            path = self.place / name
            if path.is_file() and not self.by_hand(name):
                path.unlink()
        (self.place / DRAFT_RECORD).unlink(missing_ok=True)


def _in_the_way(many: int) -> Problem:
    return Problem(
        f"photos/{DRAFT}",
        found="a draft that you changed, without "
        + (
            "the photo that lacks a plot" if many == 1 else f"any of {many} photos that lack a plot"
        ),
        hint="rename it to index.csv, or delete it if index.csv is right; then check again",
    )


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _mark(place: Path, rows: Sequence[Row]) -> str:
    """Hash what a sheet shows, photos by size and time of change."""
    stamps = []
    for row in rows:
        path = place / row["file"]
        found = path.stat() if path.is_file() else None
        stamps.append([found.st_size, found.st_mtime_ns] if found else None)
    return _hash(json.dumps([list(rows), stamps]).encode("utf-8"))


def _rows(trial: Trial, found: Untold, record: _Record) -> list[Row]:
    """Make the rows of a draft: what is told already, then by day and time what is not."""
    path = trial.folder / "photos" / "index.csv"
    rows = _written(path, _LISTED) if path.is_file() else []
    rows += _named(found.named)
    told = pd.concat([found.listed, found.named])
    named = {row["file"] for row in rows}
    by_day: dict[str, list[_Seen]] = {}
    for one in _seen([file for file in found.lacking if file not in named], record):
        by_day.setdefault(one.day, []).append(one)
    for day in sorted(by_day, key=lambda d: (not d, d)):
        rows += _rows_of_day(trial, told, day, by_day[day])
    return rows


def _written(path: Path, sure: str = "") -> list[Row]:
    """Read a list as a person wrote it, with all its columns; nothing where it cannot be read."""
    tables, problems = read_tables(path, path.name)
    if problems or not tables or not tables[0].rows:
        return []
    headings = [heading.casefold() for heading in tables[0].rows[0]]
    rows = []
    for cells in tables[0].rows[1:]:
        if any(cells):
            filled = [*cells, *[""] * (len(headings) - len(cells))]
            row = {**dict.fromkeys(_HEADINGS, ""), **dict(zip(headings, filled, strict=False))}
            row["file"] = PurePosixPath(row["file"].replace("\\", "/")).as_posix()
            row["sure"] = row["sure"] or sure
            rows.append(row)
    return rows


def _named(told: pd.DataFrame) -> Iterator[Row]:
    """Give the photos that their names tell: a list stands for names, so it must hold them too."""
    for row in told.itertuples():
        day = str(pd.Timestamp(str(row.date)).date())
        file = str(row.path).removeprefix("photos/")
        yield _row(day, str(row.plot), str(row.sample), file, "", _NAMED)


def _row(day: str, plot: str, sample: str, file: str, taken: str, sure: str) -> Row:
    return dict(zip(_HEADINGS, (day, plot, sample, file, taken, sure), strict=True))


def _seen(untold: list[str], record: _Record) -> Iterator[_Seen]:
    """Find the day of every photo: by its folder, else by the camera's clock."""
    folders: dict[str, list[tuple[str, dt.datetime | None, str]]] = {}
    for file in untold:
        first = file.split("/")[0]
        folder = first if "/" in file and _is_day(first) else ""
        folders.setdefault(folder, []).append((file, *record.taken(file)))
    for folder, held in folders.items():
        clock = {str(taken.date()) for _, taken, _ in held if taken is not None}
        for file, taken, doubt in held:
            if taken is None:
                yield _Seen(file, folder, None, doubt)
                continue
            day = str(taken.date())
            if not folder or day == folder:
                yield _Seen(file, day, taken)
            elif len(clock) == 1:
                note = f"look: day by the folder; the camera's clock said {day}"
                yield _Seen(file, folder, taken, note=note)
            else:
                said = f"no: taken on {day} by the camera's clock, but in the folder of {folder}"
                yield _Seen(file, day, taken, said)


def _is_day(text: str) -> bool:
    try:
        return bool(re.fullmatch("[0-9-]{10}", text) and dt.date.fromisoformat(text))
    except ValueError:
        return False


def _rows_of_day(trial: Trial, told: pd.DataFrame, day: str, seen: list[_Seen]) -> list[Row]:
    """Give the photos of one day to plots, as far as that can be told."""
    walk = _walk(trial, told, day)
    if walk is None and day:
        said = (
            "no: no photos are planned on this day; was the camera's clock wrong, put them into a "
            "folder named by the date; was the visit moved, change trial.yaml"
        )
        seen = [replace(one, doubt=one.doubt or said) for one in seen]
    latest = dt.datetime.max
    ordered = sorted(seen, key=lambda one: (one.taken or latest, one.file))
    certain = [one for one in ordered if one.taken is not None and not one.doubt]
    shots = [Shot(one.file, one.taken) for one in certain if one.taken is not None]
    places = _between_grounds(trial, placed_in_order(shots, walk or []))
    found = {one.file: place for one, place in zip(certain, places, strict=True)}
    rows = []
    for one in ordered:
        place = found.get(one.file, Place("", 0, one.doubt))
        sure = one.note if one.note and place.sure == SURE else place.sure
        taken = one.taken.isoformat(" ") if one.taken else ""
        sample = str(place.sample or "")
        rows.append(_row(one.day, place.plot, sample, one.file, taken, sure))
    return rows


def _walk(trial: Trial, told: pd.DataFrame, day: str) -> list[Stop] | None:
    """List the plots of which photos are still wanted on a day; None where none are planned."""
    wanted = {
        name: measure.per_plot
        for name, measure in trial.photo_measures.items()
        if day in map(str, trial.dates(name))
    }
    if not wanted:
        return None
    have = {
        (str(row.plot), int(str(row.sample)))
        for row in told[told["date"] == pd.Timestamp(day)].itertuples()
    }
    stops = []
    for plot, whole in _walked(trial.plots):
        samples = tuple(
            sample
            for sample in range(1, max(wanted.values()) + 1)
            if (plot, sample) not in have
            and not all(
                _lost(trial, name, day, (plot, whole), sample)
                for name, many in wanted.items()
                if sample <= many
            )
        )
        if samples:
            stops.append(Stop(plot, samples))
    return stops


def _walked(plots: pd.DataFrame) -> list[tuple[str, str]]:
    """List plot and whole plot in walking order."""
    return [
        (str(row.plot), str(row.whole_plot)) for walk in walks(plots) for row in walk.itertuples()
    ]


def _lost(trial: Trial, name: str, day: str, plot: tuple[str, str], sample: int) -> bool:
    """Tell whether the diary declares a photo missing."""
    when = dt.date.fromisoformat(day)
    return any(entry.means(name, when, plot, sample) for entry in trial.diary.missing)


def _between_grounds(trial: Trial, places: list[Place]) -> list[Place]:
    """Ask for a look where another ground begins: which comes first is not in the plan."""
    if "ground" not in trial.plots:
        return places
    starts = {
        str(walk["plot"].iloc[0]): trial.definition.layout.grounds or {}
        for walk in walks(trial.plots)
    }
    grounds = {str(plot): str(one) for plot, one in trial.plots[["plot", "ground"]].values}
    made = []
    for place in places:
        name = starts.get(place.plot, {}).get(grounds.get(place.plot, ""), "")
        if name and (place.sure == SURE or place.sure.endswith("was a plot passed by?")):
            said = f"look: here begins {name}; were the grounds walked in this order?"
            place = replace(place, sure=said)
        made.append(place)
    return made


def _csv(rows: list[Row]) -> bytes:
    """Write the draft as CSV (RFC 4180), marked as UTF-8 for programs that would guess."""
    own = [name for row in rows for name in row if name not in _HEADINGS]
    headings = [*_HEADINGS[:4], *dict.fromkeys(own), *_HEADINGS[4:]]
    stream = io.StringIO()
    writer = csv.DictWriter(stream, headings, restval="")
    writer.writeheader()
    writer.writerows(rows)
    return stream.getvalue().encode("utf-8-sig")


def _sighted(place: Path, row: Row) -> Sighted:
    """Open a photo for the sheet; a person who gave it a plot has settled why there was none."""
    sure = row["sure"]
    settled = bool(row["plot"]) and sure.startswith("no:")
    remark = sure if sure.startswith(("look:", "no:")) and not settled else ""
    try:
        picture = thumbnail(open_photo(place / row["file"], THUMB).image)
    except WinterswardError:
        picture = b""
    told = (row["date"], row["plot"], row["sample"], row["file"], row["taken"])
    return Sighted(*told, remark, picture)
