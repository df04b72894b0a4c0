"""Scoring a pile of photographs: one row each, and a line for every file that is no photo."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pandas as pd

from wintersward.errors import Problem, WinterswardError
from wintersward.photos.cache import ScoreCache
from wintersward.photos.colour import GREEN, GreenWindow
from wintersward.photos.decoding import file_hash
from wintersward.photos.scoring import PhotoScore, Region, score_photo

__all__ = ["COLUMNS", "score_photos"]

COLUMNS: dict[str, str] = {
    "path": "object",
    "sha256": "object",
    "cover": "float64",
    "colour_index": "float64",
    "hue": "float64",
    "saturation": "float64",
    "brightness": "float64",
    "pixels": "Int64",
    "green_pixels": "Int64",
    "taken": "object",
    "flags": "object",
    "error": "object",
}
"""Columns of the scores, in order, with their types."""


def score_photos(
    paths: Iterable[str | os.PathLike[str]],
    window: GreenWindow = GREEN,
    cache: str | os.PathLike[str] | None = None,
    progress: Callable[[str], object] | None = None,
    region: Region | None = None,
) -> tuple[pd.DataFrame, list[Problem]]:
    """Score photographs one after another; a bad file does not stop the rest.

    Parameters
    ----------
    paths : iterable of path
        Photos, in the order wanted.
    window : GreenWindow
        What counts as green.
    cache : path, optional
        Folder in which scores are kept and found again by the photos' content.
    progress : callable, optional
        Called with each path when it is done.
    region : (4,) float [1], optional
        Left, top, right, bottom of the part to score, as fractions of the upright picture.

    Returns
    -------
    scores : pandas.DataFrame
        One row a path, in the given order: path, sha256, cover [%], colour_index [1],
        hue [degrees], saturation [1], brightness [1], pixels, green_pixels, taken (ISO 8601),
        flags (joined by "; ", empty where there are none), error (empty where there is none).
        A file that is no photo has its error and no numbers.
    problems : list of Problem
        The errors once more, sorted by file.

    Raises
    ------
    WinterswardError
        The cache folder cannot be written, or the region holds nothing.

    Notes
    -----
    A photo whose bytes appear under two paths is flagged on every row that has them: one picture
    cannot show two plots.
    """
    kept = None if cache is None else ScoreCache(cache, window, region)
    rows: list[dict[str, Any]] = []
    problems: list[Problem] = []
    for path in paths:
        shown = Path(path).as_posix()
        row: dict[str, Any] = {"path": shown, "flags": [], "error": ""}
        try:
            row |= _row(_score(path, window, kept, region))
        except WinterswardError as error:
            found = [problem for problem in error.problems if isinstance(problem, Problem)]
            if not found:
                raise
            problems += found
            row["error"] = "; ".join(str(problem) for problem in found)
        rows.append(row)
        if progress is not None:
            progress(shown)
    _flag_copies(rows)
    for row in rows:
        row["flags"] = "; ".join(row["flags"])
    frame = pd.DataFrame(rows, columns=list(COLUMNS)).astype(COLUMNS)
    return frame, sorted(problems)


def _score(
    path: str | os.PathLike[str],
    window: GreenWindow,
    kept: ScoreCache | None,
    region: Region | None,
) -> PhotoScore:
    """Find the score among those kept, or make and keep it."""
    if kept is None:
        return score_photo(path, window, region)
    score = kept.get(file_hash(path))
    if score is None:
        score = score_photo(path, window, region)
        kept.put(score)
    return score


def _row(score: PhotoScore) -> dict[str, Any]:
    """Lay a score out as the columns of the table."""
    row = {name: getattr(score, name) for name in COLUMNS if hasattr(score, name)}
    return row | {"flags": list(score.flags)}


def _flag_copies(rows: list[dict[str, Any]]) -> None:
    """Flag rows whose photos are the same to the byte."""
    first: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        if not row["error"]:
            first.setdefault(row["sha256"], []).append(row)
    for same in first.values():
        for row in same:
            others = [other["path"] for other in same if other is not row]
            if others:
                row["flags"].append(f"same picture as {', '.join(others)}")
