"""Photos that cannot be opened, or end early: found without decoding those that are whole."""

from __future__ import annotations

import os
import warnings
from collections.abc import Iterable
from typing import BinaryIO

from PIL import Image

from wintersward.errors import Problem, WinterswardError
from wintersward.photos import heif
from wintersward.photos.decoding import COLOUR_MODES, FORMATS, MOST_PIXELS, open_photo

__all__ = ["refused_photos"]

# ISO/IEC 10918-1, annex B: within the coded picture a byte FF is followed by 00 or a restart
# marker, so that these two bytes after the header are the end of the picture.
_END = b"\xff\xd9"
_TAIL = 65536


def refused_photos(paths: Iterable[str | os.PathLike[str]]) -> list[Problem]:
    """Find the photos that cannot be scored, as far as it can be told in a blink.

    Parameters
    ----------
    paths : iterable of path
        Photos.

    Returns
    -------
    list of Problem
        In the order given, as `wintersward.photos.decoding.open_photo` tells them. Damage within
        the coded picture, which only decoding shows, is not among them.
    """
    found: list[Problem] = []
    for path in paths:
        if _looks_whole(path):
            continue
        try:
            open_photo(path)
        except WinterswardError as error:
            found += [problem for problem in error.problems if isinstance(problem, Problem)]
    return found


def _looks_whole(path: str | os.PathLike[str]) -> bool:
    """Tell whether a photo can be opened, from its header and where its parts end."""
    try:
        with open(path, "rb") as file, warnings.catch_warnings():
            warnings.simplefilter("ignore")
            start = file.read(heif.START_BYTES)
            if heif.is_heif(start):
                return not heif.is_sequence(start) and heif.whole(file) and _told(file)
            file.seek(0)
            picture = Image.open(file, formats=FORMATS)
            if picture.mode not in COLOUR_MODES:
                return False
            return picture.format not in ("JPEG", "MPO") or _ends(file)
    except Exception:
        # A decoder may fail in any way on bytes that are no picture.
        return False


def _told(file: BinaryIO) -> bool:
    """Tell whether the header of a HEIC file speaks of a photo that is read."""
    picture = heif.open_heif(file)
    return picture.mode in COLOUR_MODES and picture.width * picture.height <= MOST_PIXELS


def _ends(file: BinaryIO) -> bool:
    """Tell whether the end of the picture comes after its header, which was read just now."""
    start = file.tell()
    size = file.seek(0, os.SEEK_END)
    file.seek(max(start, size - len(_END)))
    if file.read() == _END:
        return True
    # Phones write more behind the picture; the last part mostly tells.
    file.seek(max(start, size - _TAIL))
    if _END in file.read():
        return True
    file.seek(start)
    return _END in file.read()
