"""What is only seen when the photos of a trial lie side by side: copies, dates, cameras."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath
from statistics import median

import numpy as np

from wintersward.photos.likeness import LIKE_LIMIT
from wintersward.photos.scoring import PhotoScore

__all__ = ["EXPOSURE_LIMIT", "FEWEST_PHOTOS", "Shown", "day_of", "visit_flags"]

EXPOSURE_LIMIT = 2.0
"""Largest distance [EV] from the median exposure of a visit that is not flagged."""

FEWEST_PHOTOS = 3
"""Fewest photos of a visit among which one can be unlike the rest."""

_ROWS_AT_A_TIME = 512


@dataclass(frozen=True)
class Shown:
    """A scored photo and where it belongs.

    Parameters
    ----------
    path : str
        As it is told to the person.
    day : date or None
        Of the visit; None where it is not known.
    score : PhotoScore
        With the camera's notes.
    """

    path: str
    day: dt.date | None
    score: PhotoScore

    @property
    def visit(self) -> dt.date | str:
        """What holds the photos of one visit together: the day, else the folder."""
        return self.day or str(PurePosixPath(self.path).parent)


def day_of(path: str) -> dt.date | None:
    """Read the date of a visit from the folder that a photo lies in.

    Examples
    --------
    >>> day_of("photos/2026-03-10/101_1.jpg")
    datetime.date(2026, 3, 10)
    >>> day_of("photos/phone/101_1.jpg") is None
    True
    """
    for name in reversed(PurePosixPath(path).parts[:-1]):
        try:
            return dt.date.fromisoformat(name)
        except ValueError:
            continue
    return None


def visit_flags(photos: Sequence[Shown]) -> list[list[str]]:
    """Say of every photo what makes it doubtful beside the others.

    Parameters
    ----------
    photos : sequence of Shown
        All photos of the trial that could be scored.

    Returns
    -------
    list of list of str
        Texts for each photo, in the given order. A flag drops nothing.

    Notes
    -----
    - Same picture: two files with the same bytes; one picture cannot show two plots.
    - Like picture: at most ``LIKE_LIMIT`` of the comparisons of two pictures differ.
    - Day: the camera's clock names another day than the visit. The clock's own time zone counts.
    - Camera: not the one with which most photos of the visit were taken.
    - Exposure: more than ``EXPOSURE_LIMIT`` EV from the median of the visit.
    - White balance: where the camera chose it anew for each photo, the same turf may come out in
      other colours. Told once a visit, at its first photo.

    The limits of exposure and likeness are common practice, no source.
    """
    flags: list[list[str]] = [[] for _ in photos]
    _flag_same(photos, flags)
    _flag_alike(photos, flags)
    visits: dict[dt.date | str, list[int]] = {}
    for place, photo in enumerate(photos):
        visits.setdefault(photo.visit, []).append(place)
        taken = photo.score.taken
        if photo.day is not None and taken is not None and taken[:10] != photo.day.isoformat():
            flags[place].append(f"day: taken on {taken[:10]}, the visit was on {photo.day}")
    for places in visits.values():
        _flag_camera(photos, places, flags)
        _flag_exposure(photos, places, flags)
        _flag_balance(photos, places, flags)
    return flags


def _groups(places: Iterable[int], key: Callable[[int], str]) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for place in places:
        found.setdefault(key(place), []).append(place)
    return found


def _flag_same(photos: Sequence[Shown], flags: list[list[str]]) -> None:
    """Flag photos that are the same to the byte."""
    for same in _groups(range(len(photos)), lambda at: photos[at].score.sha256).values():
        for place in same:
            others = [photos[other].path for other in same if other != place]
            if others:
                flags[place].append(f"same picture as {', '.join(others)}")


def _flag_alike(photos: Sequence[Shown], flags: list[list[str]]) -> None:
    """Flag photos that look the same, though their bytes differ."""
    known = [place for place, photo in enumerate(photos) if photo.score.likeness]
    if len(known) < 2:
        return
    digits = b"".join(bytes.fromhex(photos[place].score.likeness) for place in known)
    bits = np.unpackbits(np.frombuffer(digits, dtype=np.uint8).reshape(len(known), -1), axis=1)
    signs = 2 * bits.astype(np.float32) - 1
    for first in range(0, len(known), _ROWS_AT_A_TIME):
        # Of n comparisons, those alike less those that differ.
        agreed = signs[first : first + _ROWS_AT_A_TIME] @ signs.T
        differ = (1 - agreed / signs.shape[1]) / 2
        for row, column in zip(*np.nonzero(differ <= LIKE_LIMIT), strict=True):
            one, other = known[first + row], known[column]
            if photos[one].score.sha256 == photos[other].score.sha256:
                continue
            flags[one].append(
                f"like picture: {100 * differ[row, column]:.0f} % of its outline differs from "
                f"{photos[other].path}, limit {100 * LIKE_LIMIT:.0f} %"
            )


def _flag_camera(photos: Sequence[Shown], places: list[int], flags: list[list[str]]) -> None:
    """Flag photos of another camera than the rest of the visit."""
    told = [place for place in places if photos[place].score.camera]
    if len(told) < FEWEST_PHOTOS:
        return
    usual, count = Counter(photos[place].score.camera for place in told).most_common(1)[0]
    if 2 * count <= len(told):
        return
    for place in told:
        camera = photos[place].score.camera
        if camera != usual:
            flags[place].append(
                f"camera: {camera}, but {usual} for {count} of {len(told)} photos of the visit"
            )


def _flag_exposure(photos: Sequence[Shown], places: list[int], flags: list[list[str]]) -> None:
    """Flag photos that were exposed unlike the rest of the visit."""
    told = {place: value for place in places if (value := photos[place].score.exposure) is not None}
    if len(told) < FEWEST_PHOTOS:
        return
    middle = median(told.values())
    for place, value in told.items():
        away = abs(value - middle)
        if away > EXPOSURE_LIMIT:
            flags[place].append(
                f"exposure: {away:.1f} EV from the median of the visit, "
                f"limit {EXPOSURE_LIMIT:.0f} EV"
            )


def _flag_balance(photos: Sequence[Shown], places: list[int], flags: list[list[str]]) -> None:
    """Flag a visit whose white balance was left to the camera, at its first photo."""
    automatic = [p for p in places if photos[p].score.white_balance == "automatic"]
    if automatic:
        first = min(places, key=lambda place: photos[place].path)
        flags[first].append(
            f"white balance: automatic in {len(automatic)} of {len(places)} photos of the visit, "
            "limit 0; fix it on the camera"
        )
