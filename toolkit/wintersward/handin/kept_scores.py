"""Scores of photos that are not there, laid out where a run looks for scores kept from earlier."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from pathlib import Path

from wintersward.errors import Problem, WinterswardError, listed
from wintersward.photos import GreenWindow
from wintersward.photos.cache import ScoreCache
from wintersward.photos.scoring import PhotoScore
from wintersward.photos.window_batch import Counted, KeptCovers
from wintersward.photos.window_grid import window_grid
from wintersward.records.point_counts import KEY
from wintersward.runs.files import sha256, write_whole
from wintersward.scored import window_of
from wintersward.trial import Definition
from wintersward.trial.schema import PhotoMeasure

__all__ = ["lay_out_scores"]

_TABLE = "photo_scores.csv"
_OPTIONAL = (
    "cover_se",
    "colour_index",
    "colour_index_sd",
    "hue",
    "saturation",
    "brightness",
    "patchiness",
)
_NEEDED = (
    "window",
    "path",
    "sha256",
    "cover",
    "largest_bare_patch",
    "clipped",
    "pixels",
    "flags",
    *_OPTIONAL,
)


def lay_out_scores(
    study: Path, definition: Definition, results: Path, left_out: Mapping[str, str]
) -> None:
    """Put stand-ins where photos were left out, and the scores of a run where theirs are kept.

    Parameters
    ----------
    study : Path
        The study folder, without these photos.
    definition : Definition
        Its definition.
    results : Path
        Folder with the tables of the run; ``photo_scores.csv`` tells the scores.
    left_out : mapping of str to str
        The photos, from the study folder on, with their SHA-256.

    Raises
    ------
    WinterswardError
        Where a score is missing, tells of another photo or cannot be read.

    Notes
    -----
    A stand-in is a short text of its own, so that it has a hash of its own, by which its score is
    found in ``.cache``. The cover is exact, since pixels are whole numbers; the other values have
    the ten digits of the table. The flags are those of the table, and a stand-in has no notes of
    a camera from which they would be told again. For other windows of green nothing is
    known: the count of the definition's own window stands for each, so that the stage can go its
    way, and what is made of it must be replaced (`wintersward.handin.rerunning`). Where photos
    were point-counted, the key of the count is told the hashes of the stand-ins.
    """
    windows = {window_of(m).hash(): window_of(m) for m in _photo_measures(definition)}
    question = definition.analysis.primary
    asked = definition.measures[question.measure]
    grid = window_of(asked).hash() if isinstance(asked, PhotoMeasure) else ""
    hashes = {name: _stand_in(study, name) for name in left_out}
    _tell_key(study / KEY, {left_out[name]: hashes[name] for name in left_out})
    scored: set[str] = set()
    problems: list[Problem | str] = []
    for line, row in _rows(results / _TABLE):
        name = row["path"]
        if name not in left_out:
            continue
        try:
            window = _fitting(row, left_out[name], windows)
            score = _score(row, hashes[name])
        except (ValueError, TypeError, ZeroDivisionError) as error:
            problems.append(Problem(f"results/{_TABLE}", row=line, found=str(error)))
            continue
        ScoreCache(study / ".cache", window).put(score)
        if window.hash() == grid:
            _stand_for_grid(study / ".cache", window, score)
        scored.add(name)
    lacking = [name for name in left_out if name not in scored] if windows else []
    problems += [Problem(name, found=f"no score in results/{_TABLE}") for name in lacking]
    if problems:
        raise WinterswardError(problems)


def _photo_measures(definition: Definition) -> Iterator[PhotoMeasure]:
    return (m for m in definition.measures.values() if isinstance(m, PhotoMeasure))


def _stand_in(study: Path, name: str) -> str:
    path = study / name
    write_whole(path, f"{name} was left out of the bundle\n")
    return sha256(path)


def _tell_key(key: Path, stand_ins: Mapping[str, str]) -> None:
    """Let the key of the point count, which holds hashes of photos, hold those of stand-ins."""
    if not key.is_file():
        return
    text = key.read_bytes().decode("utf-8", errors="surrogateescape")
    for photo, stand_in in stand_ins.items():
        text = text.replace(photo, stand_in)
    key.write_bytes(text.encode("utf-8", errors="surrogateescape"))


def _rows(path: Path) -> Iterator[tuple[int, dict[str, str]]]:
    if not path.is_file():
        raise WinterswardError(f"results/{_TABLE}: it is missing; it tells the scores of photos")
    text = path.read_text(encoding="utf-8")
    reader = csv.DictReader(io.StringIO(text, newline=""))
    if lacking := [name for name in _NEEDED if name not in (reader.fieldnames or ())]:
        raise WinterswardError(f"results/{_TABLE}: it lacks the columns {listed(lacking)}")
    yield from enumerate(reader, 2)


def _fitting(row: Mapping[str, str], photo: str, windows: Mapping[str, GreenWindow]) -> GreenWindow:
    """Give the window of a row that tells of the photo that was left out."""
    if row["window"] not in windows:
        raise ValueError(f"the window {row['window']}, which trial.yaml does not use")
    if row["sha256"] != photo:
        raise ValueError(f"the score of another photo than {row['path']} was")
    return windows[row["window"]]


def _score(row: Mapping[str, str], sha256: str) -> PhotoScore:
    pixels = int(row["pixels"])
    green = round(float(row["cover"]) * pixels / 100)
    some = {name: float(row[name]) if row[name] else None for name in _OPTIONAL}
    return PhotoScore(
        **some,
        cover=100 * green / pixels,
        largest_bare_patch=float(row["largest_bare_patch"]),
        clipped=float(row["clipped"]),
        pixels=pixels,
        green_pixels=green,
        flags=(row["flags"],) if row["flags"] else (),
        sha256=sha256,
        taken=None,
        camera="",
        exposure=None,
        white_balance="",
        likeness="",
    )


def _stand_for_grid(cache: Path, window: GreenWindow, score: PhotoScore) -> None:
    grid = window_grid(window)
    counted = Counted((score.green_pixels,) * len(grid.windows), score.pixels)
    KeptCovers(cache, grid).put(score.sha256, counted)
