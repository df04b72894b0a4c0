"""The point count of a study, written once into ``plan/papers/point_count``."""

from __future__ import annotations

import io
import os
import shutil
import tempfile
from dataclasses import replace
from pathlib import Path

import pandas as pd

from wintersward import records
from wintersward.errors import Problem, WinterswardError
from wintersward.papers.point_counts import PHOTOS, Chosen, choose, count_book, crossed, key_table
from wintersward.paths import command, study_folder
from wintersward.photos.decoding import file_hash, open_photo
from wintersward.records.point_counts import FOLDER, KEY, STEM, count_files
from wintersward.records.tables import read_tables
from wintersward.report.numbers import counted
from wintersward.runs.paper_files import paper_for
from wintersward.study import Trial, open_study
from wintersward.trial.dates import dates_meant

__all__ = ["write_point_count"]

_QUALITY = 90


def write_point_count(folder: str | Path = "", many: int = PHOTOS) -> str:
    """Write the pictures, the sheet and the key of a point count, unless there is one already.

    Parameters
    ----------
    folder : str or Path
        The study folder, or anything in it; empty, the current folder.
    many : int
        Photos wanted. Until so many are there, or all that are planned, nothing is written.

    Returns
    -------
    str
        One line that says what was done, or why nothing was; empty where no measure of the trial
        is green cover from photos.

    Raises
    ------
    WinterswardError
        With everything that is wrong in the definition, the diary or the plots, and with every
        photo that cannot be opened; nothing is written then.

    Notes
    -----
    The folder is there whole or not at all, and is never written into again: who has begun to
    count must find the same crosses.
    """
    trial = open_study(study_folder(folder or Path.cwd()))
    planned = _planned(trial)
    if not planned:
        return ""
    place = trial.folder / FOLDER
    index, problems = records.photo_index(trial.folder, trial.definition, trial.plots)
    if place.exists() and (not place.is_dir() or any(place.iterdir())):
        return _stays(trial, index)
    if problems:
        see = command("check", folder if isinstance(folder, str) else trial.folder)
        return f"{FOLDER}: not made, for something is wrong with the photos; see {see}"
    if len(index) < min(many, planned) or index.empty:
        return (
            f"{FOLDER}: not made yet; it is drawn from {min(many, planned)} photos or more, "
            f"and there are {len(index)}"
        )
    chosen = choose(index, trial.definition.layout.seed, many)
    _write(trial, place, chosen)
    dates = index["date"].nunique()
    said = f"drawn from {len(index)} photos of {counted(dates, 'date')}"
    said += f" (planned are {planned})" if len(index) < planned else ""
    return (
        f"{FOLDER}: {counted(len(chosen), 'photo')} with crosses to count on, {said}; fill in "
        f"{STEM}.xlsx and save it in photos; look into key.csv only afterwards"
    )


def _planned(trial: Trial) -> int:
    """Count the photos that the definition asks for; 0 where none is for green cover."""
    per_plot: dict[object, int] = {}
    for measure in trial.photo_measures.values():
        for day in dates_meant(trial.definition.dates, measure.dates):
            per_plot[day] = max(per_plot.get(day, 0), measure.per_plot)
    covers = any(measure.score == "cover" for measure in trial.photo_measures.values())
    return sum(per_plot.values()) * len(trial.plots) if covers else 0


def _stays(trial: Trial, index: pd.DataFrame) -> str:
    """Say that what is there is left, and how it could be drawn anew."""
    said = f"{FOLDER}: stays as it is"
    if filled := count_files(trial.folder):
        return f"{said}; it is being counted in photos/{filled[0].name}"
    made, key = _drawn(trial.folder), trial.folder / KEY
    dates = pd.Series(index["date"].to_numpy(), index=list(index["path"]))
    own = dates[dates.index.isin(made)].nunique()
    if own < dates.nunique() and key.is_file():
        said += (
            f"; it shows {own} of the {dates.nunique()} dates with photos: to have it drawn "
            "from all of them, take the folder away, if nobody has begun to count"
        )
    return said


def _drawn(study: Path) -> set[str]:
    """List the photos in the key."""
    tables, _ = read_tables(study / KEY, KEY)
    return {cell for table in tables for row in table.rows for cell in row}


def _write(trial: Trial, place: Path, chosen: list[Chosen]) -> None:
    """Write the folder under another name first, so that nobody ever finds half of it."""
    place.parent.mkdir(parents=True, exist_ok=True)
    part = Path(tempfile.mkdtemp(prefix=f".{place.name}-", dir=place.parent))
    try:
        hashes = _pictures(trial, part, chosen)
        paper = paper_for(trial.definition.site.country)
        (part / f"{STEM}.xlsx").write_bytes(count_book(trial.definition, len(chosen), paper))
        (part / "key.csv").write_bytes(key_table(chosen, hashes))
        # Made for its owner alone; what lies there is to be read by others too.
        part.chmod(0o755)
        if place.exists():
            place.rmdir()
        os.replace(part, place)
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _pictures(trial: Trial, part: Path, chosen: list[Chosen]) -> list[str]:
    """Write every picture, and give the hashes of the photos."""
    wide = max(2, len(str(len(chosen))))
    hashes: list[str] = []
    problems: list[Problem] = []
    for one in chosen:
        path = trial.folder / one.photo
        try:
            picture = crossed(open_photo(path).image, one.seed)
        except WinterswardError as error:
            found = (it for it in error.problems if isinstance(it, Problem))
            problems += [replace(it, path=one.photo) for it in found]
            continue
        stream = io.BytesIO()
        picture.save(stream, "JPEG", quality=_QUALITY, optimize=True)
        (part / f"{one.number:0{wide}}.jpg").write_bytes(stream.getvalue())
        hashes.append(file_hash(path))
    if problems:
        raise WinterswardError(problems)
    return hashes
