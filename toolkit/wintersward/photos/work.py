"""Scoring one file of a pile, in this process or in a worker; light to load for that."""

from __future__ import annotations

import os
from dataclasses import dataclass

from wintersward.errors import Problem, WinterswardError
from wintersward.photos.cache import ScoreCache
from wintersward.photos.colour import GreenWindow
from wintersward.photos.decoding import file_hash
from wintersward.photos.region import Region
from wintersward.photos.scoring import PhotoScore, score_file

__all__ = ["Job", "Outcome", "done"]


@dataclass(frozen=True)
class Job:
    """A file to score.

    Parameters
    ----------
    place : int
        Its place in the pile.
    path : path
        The file.
    sha256 : str or None
        Of its bytes, where that is known.
    """

    place: int
    path: str | os.PathLike[str]
    sha256: str | None = None


@dataclass(frozen=True)
class Outcome:
    """What came of a file.

    Parameters
    ----------
    place : int
        Its place in the pile.
    score : PhotoScore or None
        None where the file is no photo.
    problems : tuple of Problem or str
        Why it could not be scored; a string is about the pile as a whole.
    stat : os.stat_result or None
        What the system told of the file before it was hashed; None where it was not.
    """

    place: int
    score: PhotoScore | None = None
    problems: tuple[Problem | str, ...] = ()
    stat: os.stat_result | None = None


def done(job: Job, window: GreenWindow, region: Region | None, kept: ScoreCache | None) -> Outcome:
    """Score a file and keep the score at once, so that an interruption loses this one at most.

    Parameters
    ----------
    job : Job
        The file.
    window : GreenWindow
        What counts as green.
    region : (4,) or (n, 2) float [1] or None
        The part to score.
    kept : ScoreCache or None
        Where scores are kept.

    Returns
    -------
    Outcome
        The score, or why there is none.
    """
    stat = None
    try:
        sha256 = job.sha256
        if sha256 is None:
            stat = os.stat(job.path) if os.path.exists(job.path) else None
            sha256 = file_hash(job.path)
        score = kept.get(sha256) if kept is not None else None
        if score is None:
            score = score_file(job.path, sha256, window, region)
            if kept is not None:
                kept.put(score)
    except WinterswardError as error:
        return Outcome(job.place, problems=tuple(error.problems))
    return Outcome(job.place, score, stat=stat)
