"""Cover by a grid of windows for a pile of photographs, several at a time, kept by content."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Sequence
from functools import partial
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from wintersward.errors import Problem, WinterswardError
from wintersward.photos.decoding import decoders
from wintersward.photos.hashes import KeptHashes
from wintersward.photos.keeping import Kept
from wintersward.photos.region import Region
from wintersward.photos.scoring import SCORING_VERSION
from wintersward.photos.sharing import shared_out
from wintersward.photos.window_grid import WindowGrid, tally_over

__all__ = ["GRID_VERSION", "KeptCovers", "pile_covers"]

GRID_VERSION = 1
"""Raised whenever a cover by a grid may come out differently; kept ones are then redone."""


class Counted(NamedTuple):
    """Green pixels of a photo by each window of a grid, and the pixels looked at."""

    green: tuple[int, ...]
    pixels: int

    @property
    def covers(self) -> NDArray[np.float64]:
        """In percent: (windows,) float."""
        return np.asarray(100 * np.array(self.green, dtype=np.int64) / self.pixels)


class KeptCovers(Kept):
    """A folder with one small file a photo and grid; it may be deleted at any time.

    Parameters
    ----------
    folder : path
        Made when missing.
    grid : WindowGrid
        The windows.
    region : (4,) or (n, 2) float [1], optional
        Part of the picture that is counted.

    Raises
    ------
    WinterswardError
        The folder cannot be made.

    Notes
    -----
    Found as scores are (`wintersward.photos.cache.ScoreCache`): by the SHA-256 of the photo's
    bytes and by how it was counted. An entry that is not exactly as it was written is not used.
    """

    def __init__(
        self, folder: str | os.PathLike[str], grid: WindowGrid, region: Region | None = None
    ) -> None:
        self._windows = len(grid.windows)
        versions = f"{SCORING_VERSION} {GRID_VERSION} {decoders()}"
        super().__init__(folder, f"grid {grid.hash()} {region} {versions}", "covers", ".grid.json")

    def get(self, sha256: str) -> Counted | None:
        """Find the counts of a photo; None where there is no entry, or one that is damaged."""
        try:
            entry: Any = json.loads(self.path(sha256).read_text(encoding="utf-8"))
            kept, check = entry["counts"], entry["check"]
            sound = check == _check(sha256, kept) and len(kept["green"]) == self._windows
        except (OSError, ValueError, KeyError, TypeError):
            return None
        return Counted(tuple(kept["green"]), kept["pixels"]) if sound else None

    def put(self, sha256: str, counted: Counted) -> None:
        """Keep the counts of a photo, whole or not at all.

        Raises
        ------
        WinterswardError
            The folder cannot be written.
        """
        kept = {"green": list(counted.green), "pixels": counted.pixels}
        text = json.dumps({"counts": kept, "check": _check(sha256, kept)}, sort_keys=True)
        self.write(sha256, text)


class _Job(NamedTuple):
    """A photo to count: its place in the pile, the file, and the SHA-256 of its bytes."""

    place: int
    path: str | os.PathLike[str]
    sha256: str


class _Outcome(NamedTuple):
    """What came of a photo."""

    place: int
    counted: Counted | None
    problems: tuple[Problem | str, ...] = ()


def pile_covers(
    paths: Sequence[str | os.PathLike[str]],
    grid: WindowGrid,
    cache: str | os.PathLike[str] | None = None,
    region: Region | None = None,
    workers: int | None = None,
) -> tuple[NDArray[np.float64], list[Problem]]:
    """Score the cover of photographs by every window of a grid; a bad file does not stop the rest.

    Parameters
    ----------
    paths : sequence of path
        Photos, in the order wanted.
    grid : WindowGrid
        The windows.
    cache : path, optional
        Folder in which counts are kept and found again by the photos' content.
    region : (4,) or (n, 2) float [1], optional
        The part to score.
    workers : int, optional
        Processes that count; left out, one a processor where there is enough to do.

    Returns
    -------
    covers : (photos, windows) float [%]
        NaN for a file that is no photo.
    problems : list of Problem
        Why some are none, sorted by file.

    Raises
    ------
    WinterswardError
        The cache folder cannot be written, or the region holds nothing.
    """
    kept = None if cache is None else KeptCovers(cache, grid, region)
    hashes = KeptHashes(cache)
    outcomes: list[_Outcome] = []
    jobs: list[_Job] = []
    for place, path in enumerate(paths):
        try:
            sha256 = hashes.of(path)
        except WinterswardError as error:
            outcomes.append(_Outcome(place, None, tuple(error.problems)))
            continue
        known = kept.get(sha256) if kept is not None else None
        if known is None:
            jobs.append(_Job(place, path, sha256))
        else:
            outcomes.append(_Outcome(place, known))
    hashes.save()
    work = partial(_done, grid=grid, region=region, kept=kept)
    outcomes += shared_out(work, jobs, workers)
    problems = [problem for outcome in outcomes for problem in outcome.problems]
    if general := [problem for problem in problems if isinstance(problem, str)]:
        raise WinterswardError(list(dict.fromkeys(general)))
    covers = np.full((len(paths), len(grid.windows)), np.nan)
    for outcome in outcomes:
        if outcome.counted is not None:
            covers[outcome.place] = outcome.counted.covers
    return covers, sorted(one for one in problems if isinstance(one, Problem))


def _done(job: _Job, grid: WindowGrid, region: Region | None, kept: KeptCovers | None) -> _Outcome:
    """Count a file and keep its counts at once, so that an interruption loses this one at most."""
    try:
        tally = tally_over(job.path, grid, region)
        counted = Counted(tuple(map(int, tally.green)), tally.pixels)
        if kept is not None:
            kept.put(job.sha256, counted)
    except WinterswardError as error:
        return _Outcome(job.place, None, tuple(error.problems))
    return _Outcome(job.place, counted)


def _check(sha256: str, kept: dict[str, Any]) -> str:
    """Fingerprint of an entry's numbers and the photo that they are of."""
    return hashlib.sha256((sha256 + json.dumps(kept, sort_keys=True)).encode()).hexdigest()
