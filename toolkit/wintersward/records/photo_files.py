"""Which photo shows which plot on which date: from file names, or from a list."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

import pandas as pd

from wintersward.errors import Problem, closest, listed
from wintersward.paths import command
from wintersward.records.tables import Table, read_tables
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition, PhotoMeasure

__all__ = ["DRAFT", "DRAFT_RECORD", "DRAFT_SHEET", "PHOTO_ENDINGS", "Untold", "photo_index"]
__all__ += ["untold_photos"]

# What is drafted for a person to confirm; nothing here reads it.
DRAFT = "index_draft.csv"
DRAFT_SHEET = "index_draft.html"
DRAFT_RECORD = ".index_draft.json"

PHOTO_ENDINGS = (".jpg", ".jpeg", ".heic", ".heif", ".hif", ".png", ".tif", ".tiff")
"""How the name of a file ends that is taken for a photo; in small letters."""

# What cameras also write, and the scoring does not read.
_OTHER_PICTURES = (
    *(".avif", ".webp", ".bmp", ".gif", ".dng", ".raw"),
    *(".cr2", ".cr3", ".nef", ".arw", ".orf", ".rw2"),
)
_INDEX = ("date", "plot", "sample", "file")
_COLUMNS = ("date", "plot", "sample", "path")


def photo_index(
    folder: Path, definition: Definition, plots: pd.DataFrame
) -> tuple[pd.DataFrame, list[Problem]]:
    """Find the photos of a study, and what each one shows.

    Parameters
    ----------
    folder : Path
        The study folder. Photos lie in it as ``photos/<date>/<plot>_<number>.jpg``, or
        anywhere in ``photos`` as listed in ``photos/index.csv`` (columns date, plot, sample,
        file; the file from ``photos`` on).
    definition : Definition
        Its measures from photos give the dates and the number for each plot; without such
        a measure no photo is looked for.
    plots : DataFrame
        Columns plot and whole_plot, one row a plot.

    Returns
    -------
    photos : DataFrame
        Columns date, plot, sample, path (from the study folder on), sorted.
    problems : list of Problem
        Everything that is wrong, sorted by place; photos without fault are still returned.
        All photos of which nothing tells plot and date are one problem together.
    """
    finder, frame = _found(folder, definition, plots)
    return frame, sorted({*finder.problems, *finder.untold_told()})


@dataclass(frozen=True)
class Untold:
    """The photos of a study, by what tells their plot and date.

    Parameters
    ----------
    listed, named : DataFrame
        Those that ``photos/index.csv`` holds, and those that it lacks but whose names tell;
        columns as from `photo_index`.
    lacking : list of str
        The others and, where there is an ``index.csv``, those in ``named`` too: a list stands
        for names. From ``photos`` on.
    """

    listed: pd.DataFrame
    named: pd.DataFrame
    lacking: list[str]


def untold_photos(folder: Path, definition: Definition, plots: pd.DataFrame) -> Untold:
    """Find the photos of which nothing tells plot and date.

    Parameters
    ----------
    folder, definition, plots
        As for `photo_index`.

    Returns
    -------
    Untold
        What lacks a list, beside what does not.
    """
    finder, listed_ones = _found(folder, definition, plots)
    if not (folder / "photos" / "index.csv").is_file():
        return Untold(listed_ones.iloc[:0], listed_ones, finder.untold)
    names = _Finder(folder / "photos", definition, plots)
    names.by_name()
    lacking = {f"photos/{name}" for name in finder.untold}
    named = [row for row in names.rows if row[3] in lacking and tuple(row[:3]) not in finder.seen]
    return Untold(listed_ones, _frame(named), finder.untold)


def _found(
    folder: Path, definition: Definition, plots: pd.DataFrame
) -> tuple[_Finder, pd.DataFrame]:
    finder = _Finder(folder / "photos", definition, plots)
    if finder.per_plot:
        if (folder / "photos" / "index.csv").is_file():
            finder.by_list()
        else:
            finder.by_name()
    return finder, _frame(finder.rows)


def _frame(rows: list[tuple[Any, ...]]) -> pd.DataFrame:
    frame = pd.DataFrame(rows, columns=list(_COLUMNS))
    frame = frame.astype({"date": "datetime64[ns]", "plot": str, "sample": "int64", "path": str})
    return frame.sort_values(["date", "plot", "sample"], ignore_index=True)


class _Finder:
    """Gathers photos, and keeps what is wrong and what was seen."""

    def __init__(self, place: Path, definition: Definition, plots: pd.DataFrame) -> None:
        self.place = place
        self.plots = list(plots["plot"])
        self.whole_plots = set(plots["whole_plot"]) - {""}
        self.per_plot: dict[dt.date, int] = {}
        for measure in definition.measures.values():
            if isinstance(measure, PhotoMeasure):
                for day in dates_meant(definition.dates, measure.dates):
                    self.per_plot[day] = max(self.per_plot.get(day, 0), measure.per_plot)
        self.rows: list[tuple[Any, ...]] = []
        self.problems: list[Problem] = []
        self.seen: dict[tuple[dt.date, str, int], str] = {}
        # Photos of which nothing tells plot and date, from the folder of photos on.
        self.untold: list[str] = []

    def by_name(self) -> None:
        """Read dates from folder names, plots and numbers from file names."""
        for file in self._pictures():
            inside = file.relative_to(self.place)
            name = f"photos/{inside.as_posix()}"
            if not self._tries_to_tell(file.stem):
                self.untold.append(inside.as_posix())
                continue
            day = self._day(inside.parts[0]) if len(inside.parts) > 1 else None
            if len(inside.parts) == 1:
                hint = "move it into a folder named by the date, such as photos/2026-03-24"
                self._wrong(name, "a photo outside the folders of dates", "", hint)
            elif day is None:
                hint = "name the folder by the date, or move it out of photos"
                rule = "a date written year-month-day, such as 2026-03-24"
                self._wrong(f"photos/{inside.parts[0]}", "a folder of photos", rule, hint)
            elif len(inside.parts) > 2:
                hint = f"move it up into photos/{inside.parts[0]}, or out of photos"
                self._wrong(name, "a photo in a folder within the folder of a date", "", hint)
            else:
                self._named(day, file, name)

    def _named(self, day: dt.date, file: Path, name: str) -> None:
        plot, _, number = file.stem.rpartition("_")
        if not plot or not re.fullmatch("[0-9]{1,6}", number):
            hint = "rename it, such as 101_1.jpg for the first photo of plot 101"
            self._wrong(name, "a name that does not tell the plot", "plot_number", hint)
            return
        folder = f"photos/{file.parent.name}"
        self._add(day, plot, int(number), name, Problem(name), Problem(folder))

    def by_list(self) -> None:
        """Read dates, plots and numbers from ``index.csv``."""
        tables, problems = read_tables(self.place / "index.csv", "photos/index.csv")
        self.problems += problems
        if problems:
            return
        columns = self._columns(tables[0])
        if columns is None:
            return
        listed_files: set[str] = set()
        for number, cells in enumerate(tables[0].rows[1:], 2):
            if any(cells):
                row = {n: cells[i] if i < len(cells) else "" for n, i in columns.items()}
                self._listed(row, number, listed_files)
        for file in self._pictures():
            inside = file.relative_to(self.place).as_posix()
            if inside not in listed_files:
                self.untold.append(inside)

    def _tries_to_tell(self, stem: str) -> bool:
        """Tell a name that is meant to name a plot, perhaps wrongly, from a camera's own."""
        # Four characters and four digits are a camera's (DCF, JEITA CP-3461).
        if re.fullmatch("[0-9]{3}_[0-9]{4}", stem):
            return False
        first = re.split("[^A-Za-z0-9]", stem)[0]
        named = stem.rpartition("_")[0] in self.plots or first in {*self.plots, *self.whole_plots}
        return named or bool(re.fullmatch("[0-9]{1,5}[A-Za-z]?_[0-9]{1,3}", stem))

    def untold_told(self) -> list[Problem]:
        """Say in one problem that nothing tells what photos show, and what to do about it."""
        if not self.untold:
            return []
        many = len(self.untold)
        which = "name does" if many == 1 else "names do"
        count = "a photo" if many == 1 else f"{many} photos"
        found = f"{count} whose {which} not tell plot and date"
        if (self.place / "index.csv").is_file():
            found = f"{count} that photos/index.csv lacks"
        shown = listed(f"photos/{name}" for name in self.untold[:2])
        found += f" ({shown}{', ...' if many > 2 else ''})"
        if (self.place / DRAFT).is_file():
            hint = (
                f"none of them is used until you look at photos/{DRAFT_SHEET}, correct "
                f"photos/{DRAFT} and rename it to index.csv"
            )
        else:
            hint = f"have a list of them drafted: {command('check', self.place.parent)}; or " + (
                "add a row for each"
                if (self.place / "index.csv").is_file()
                else "name each as plot_number in a folder named by the date, such as "
                "2026-03-24/101_1.jpg"
            )
        return [Problem("photos", found=found, hint=hint)]

    def _columns(self, table: Table) -> dict[str, int] | None:
        headings = [h.casefold() for h in table.rows[0]] if table.rows else []
        for name in _INDEX:
            if headings.count(name) != 1:
                found = "no such heading" if name not in headings else "the heading twice"
                rule = listed(_INDEX)
                where = Problem("photos/index.csv", row=1, field=name)
                self._at(where, found, rule, closest(name, headings))
        if any(headings.count(name) != 1 for name in _INDEX):
            return None
        return {name: headings.index(name) for name in _INDEX}

    def _listed(self, row: dict[str, str], number: int, listed_files: set[str]) -> None:
        places = {n: Problem("photos/index.csv", row=number, field=n) for n in _INDEX}
        inside = PurePosixPath(row["file"].replace("\\", "/")).as_posix()
        day = self._day(row["date"]) or self._rewritten(row["date"])
        sound = True
        if day is None:
            rule = "a date written year-month-day, such as 2026-03-24"
            self._at(places["date"], f"'{row['date']}'", rule)
        if not re.fullmatch(r"[0-9]{1,6}(\.0+)?", row["sample"]):
            self._at(places["sample"], f"'{row['sample']}'", "a whole number from 1")
            sound = False
        if not row["file"] or ".." in inside.split("/") or not (self.place / inside).is_file():
            hint = "correct the name; it counts from the folder photos on"
            self._at(places["file"], f"'{row['file']}'", "a file that is there", hint)
            sound = False
        elif not inside.lower().endswith(PHOTO_ENDINGS):
            self._at(places["file"], f"'{row['file']}'", listed(PHOTO_ENDINGS))
            sound = False
        elif inside in listed_files:
            hint = "a photo shows one plot: correct one of the rows"
            self._at(places["file"], f"'{row['file']}' a second time", "", hint)
            sound = False
        listed_files.add(inside)
        if day is not None and sound:
            sample = int(float(row["sample"]))
            plot = re.sub(r"\.0+$", "", row["plot"])
            plot = row["plot"] if row["plot"] in self.plots else plot
            self._add(day, plot, sample, f"photos/{inside}", places["plot"], places["date"])

    def _add(
        self, day: dt.date, plot: str, sample: int, path: str, at: Problem, at_date: Problem
    ) -> None:
        """Add a photo if it is planned, of a plot that is there, and the first of its kind."""
        if plot not in self.plots:
            shown = listed(self.plots[:6]) + (" ..." if len(self.plots) > 6 else "")
            whole = plot in self.whole_plots
            hint = "that is a whole plot; name the plot within it" if whole else ""
            self._at(at, f"plot '{plot}'", f"a plot of plan/plots.csv ({shown})", hint)
            return
        if day not in self.per_plot:
            rule = f"a date on which photos are taken ({listed(sorted(self.per_plot))})"
            hint = "if the visit was moved, change trial.yaml and tell it under deviations in "
            hint += "diary.yaml"
            self._at(at_date, f"'{day}'", rule, hint)
            return
        if not 1 <= sample <= self.per_plot[day]:
            hint = "move spare photos out of photos, or change per_plot in trial.yaml"
            rule = f"1 to {self.per_plot[day]}" if self.per_plot[day] > 1 else "1"
            self._at(at, f"photo number {sample} of plot {plot}", rule, hint)
            return
        key = (day, plot, sample)
        if key in self.seen:
            hint = f"the first is {self.seen[key]}; rename one, or move it out of photos"
            self._at(at, f"a second photo {sample} of plot {plot} on {day}", "", hint)
            return
        self.seen[key] = path
        self.rows.append((day, plot, sample, path))

    def _pictures(self) -> list[Path]:
        """List the photos in the folder, and tell of pictures that cannot be read."""
        if not self.place.is_dir():
            return []
        found = []
        for file in sorted(self.place.rglob("*")):
            inside = file.relative_to(self.place)
            if any(part[0] in "~." for part in inside.parts) or not file.is_file():
                continue
            if file.suffix.lower() in PHOTO_ENDINGS:
                found.append(file)
            elif file.suffix.lower() in _OTHER_PICTURES:
                hint = "let the camera write JPEG or HEIC, or save it again as JPEG"
                said = f"a picture of kind {file.suffix.lower()}"
                self._wrong(f"photos/{inside.as_posix()}", said, listed(PHOTO_ENDINGS), hint)
        return found

    @staticmethod
    def _day(text: str) -> dt.date | None:
        try:
            return dt.date.fromisoformat(text) if re.fullmatch("[0-9-]{10}", text) else None
        except ValueError:
            return None

    def _rewritten(self, text: str) -> dt.date | None:
        """Read a date as a spreadsheet program rewrites it, where only one planned day fits."""
        match = re.fullmatch("([0-9]{1,2})[/.-]([0-9]{1,2})[/.-]([0-9]{2}|[0-9]{4})", text)
        if match is None:
            return None
        one, two, year = (int(part) for part in match.groups())
        year += 2000 if year < 100 else 0
        days = {
            day
            for month, number in ((one, two), (two, one))
            if (day := self._day(f"{year}-{month:02}-{number:02}")) in self.per_plot
        }
        return days.pop() if len(days) == 1 else None

    def _wrong(self, path: str, found: str, allowed: str = "", hint: str = "") -> None:
        self._at(Problem(path), found, allowed, hint)

    def _at(self, where: Problem, found: str, allowed: str = "", hint: str = "") -> None:
        at = (where.path, where.line, where.column, where.field)
        self.problems.append(Problem(*at, found, allowed, hint, where.row))
