"""Scoring a pile of photographs: one row each, and a line for every file that is no photo."""

from __future__ import annotations

import datetime as dt
import os
import time
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import pandas as pd

from wintersward.errors import Problem, WinterswardError
from wintersward.photos.cache import ScoreCache
from wintersward.photos.colour import GREEN, GreenWindow
from wintersward.photos.hashes import KeptHashes
from wintersward.photos.region import Region, outline_of
from wintersward.photos.scoring import PhotoScore
from wintersward.photos.sharing import shared_out
from wintersward.photos.visit import Shown, day_of, visit_flags
from wintersward.photos.work import Job, Outcome, done

__all__ = ["COLUMNS", "score_photos"]

COLUMNS: dict[str, str] = {
    "path": "object",
    "sha256": "object",
    "cover": "float64",
    "cover_se": "float64",
    "colour_index": "float64",
    "colour_index_sd": "float64",
    "hue": "float64",
    "saturation": "float64",
    "brightness": "float64",
    "patchiness": "float64",
    "largest_bare_patch": "float64",
    "clipped": "float64",
    "pixels": "Int64",
    "green_pixels": "Int64",
    "taken": "object",
    "camera": "object",
    "flags": "object",
    "error": "object",
}
"""Columns of the scores, in order, with their types."""


def score_photos(
    paths: Iterable[str | os.PathLike[str]],
    window: GreenWindow = GREEN,
    cache: str | os.PathLike[str] | None = None,
    progress: Callable[[int, int, float], object] | None = None,
    region: Region | None = None,
    dates: Iterable[dt.date] | None = None,
    workers: int | None = None,
) -> tuple[pd.DataFrame, list[Problem]]:
    """Score photographs, several at a time; a bad file does not stop the rest.

    Parameters
    ----------
    paths : iterable of path
        Photos, in the order wanted.
    window : GreenWindow
        What counts as green.
    cache : path, optional
        Folder in which scores are kept and found again by the photos' content. A score is kept
        as soon as it is made.
    progress : callable, optional
        Called after each photo with the number done, the number of all, and about how many
        seconds are left.
    region : (4,) or (n, 2) float [1], optional
        The part to score, as for :func:`wintersward.photos.score_photo`.
    dates : iterable of date, optional
        Day of the visit of each photo; left out, the name of the folder that it lies in.
    workers : int, optional
        Processes that score; left out, one a processor where there is enough to do.

    Returns
    -------
    scores : pandas.DataFrame
        One row a path, in the given order: path, sha256, cover [%], cover_se [points],
        colour_index and colour_index_sd [1], hue [degrees], saturation [1], brightness [1],
        patchiness [points], largest_bare_patch [%], clipped [%], pixels, green_pixels, taken
        (ISO 8601), camera, flags (joined by "; ", empty where there are none), error (empty where
        there is none). A file that is no photo has its error and no numbers.
    problems : list of Problem
        The errors once more, sorted by file.

    Raises
    ------
    WinterswardError
        The cache folder cannot be written, or the region holds nothing.

    Notes
    -----
    Flags that need the other photos too are those of :func:`wintersward.photos.visit.visit_flags`.
    """
    files = list(paths)
    if region is not None:
        outline_of(region, (2**24, 2**24))
    kept = None if cache is None else ScoreCache(cache, window, region)
    hashes = KeptHashes(cache)
    outcomes: dict[int, Outcome] = {}
    jobs = []
    for place, path in enumerate(files):
        known = hashes.get(path)
        score = kept.get(known) if kept is not None and known is not None else None
        if score is not None:
            outcomes[place] = Outcome(place, score)
        else:
            jobs.append(Job(place, path, known))
    try:
        start, found = time.monotonic(), len(outcomes)
        work = partial(done, window=window, region=region, kept=kept)
        for outcome in shared_out(work, jobs, workers):
            outcomes[outcome.place] = outcome
            if outcome.score is not None and outcome.stat is not None:
                hashes.put(files[outcome.place], outcome.score.sha256, outcome.stat)
            if progress is not None:
                made, left = len(outcomes) - found, len(files) - len(outcomes)
                progress(len(outcomes), len(files), (time.monotonic() - start) / made * left)
    finally:
        hashes.save()
    if progress is not None and files and not jobs:
        progress(len(files), len(files), 0.0)
    days = [day_of(Path(path).as_posix()) for path in files] if dates is None else list(dates)
    return _table(files, days, [outcomes[place] for place in range(len(files))])


def _table(
    files: Sequence[str | os.PathLike[str]],
    days: Sequence[dt.date | None],
    outcomes: Sequence[Outcome],
) -> tuple[pd.DataFrame, list[Problem]]:
    """Lay the scores out as a table, with what is seen when all lie side by side."""
    general = [p for outcome in outcomes for p in outcome.problems if isinstance(p, str)]
    if general:
        raise WinterswardError(list(dict.fromkeys(general)))
    rows: list[dict[str, Any]] = []
    shown: list[Shown] = []
    problems: list[Problem] = []
    for path, day, outcome in zip(files, days, outcomes, strict=True):
        found = [problem for problem in outcome.problems if isinstance(problem, Problem)]
        name = Path(path).as_posix()
        error = "; ".join(str(problem) for problem in found)
        row: dict[str, Any] = {"path": name, "flags": [], "error": error}
        if outcome.score is not None:
            row |= _row(outcome.score)
            shown.append(Shown(name, day, outcome.score))
        rows.append(row)
        problems += found
    scored = [row for row in rows if not row["error"]]
    for row, flags in zip(scored, visit_flags(shown), strict=True):
        row["flags"] += flags
    for row in rows:
        row["flags"] = "; ".join(row["flags"])
    frame = pd.DataFrame(rows, columns=list(COLUMNS)).astype(COLUMNS)
    return frame, sorted(problems)


def _row(score: PhotoScore) -> dict[str, Any]:
    """Lay a score out as the columns of the table."""
    row = {name: getattr(score, name) for name in COLUMNS if hasattr(score, name)}
    return row | {"flags": list(score.flags)}
