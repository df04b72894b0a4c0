"""HEIF files, as phones write them: told by content, whole or not, opened without decoding.

Notes
-----
The library that decodes them is loaded when the first such file is met. It turns the picture by
the file's own turning (``irot``, ``imir``); the orientation that stands in the camera's notes
beside it only repeats that, and is not applied again.

References
----------
ISO/IEC 14496-12, ISO base media file format: boxes of size and type (from memory).
ISO/IEC 23008-12, Image file format: ``meta`` holds what the file is, ``mdat`` or ``idat`` the
coded pictures; one of them is the primary one (from memory).
"""

from __future__ import annotations

import os
from typing import BinaryIO

from PIL import Image

__all__ = ["START_BYTES", "is_avif", "is_heif", "is_sequence", "open_heif", "profile_name", "whole"]

START_BYTES = 64
"""Bytes from a file's start that tell its kind."""

_STILL = (b"heic", b"heix", b"heim", b"heis", b"mif1")
_SEQUENCE = (b"hevc", b"hevx", b"hevm", b"hevs", b"msf1")
_AVIF = (b"avif", b"avis")
# Colour primaries by number (ISO/IEC 23091-2, from memory): 1 is that of sRGB, 2 is not told.
_PLAIN_PRIMARIES = (1, 2)
_PRIMARIES = {9: "BT.2020", 12: "Display P3"}


def is_heif(start: bytes) -> bool:
    r"""Tell a HEIF file from its first `START_BYTES`.

    Examples
    --------
    >>> is_heif(b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic")
    True
    >>> is_heif(b"\xff\xd8\xff\xe0")
    False
    """
    return bool(_brands(start)) and _brands(start)[0] in _STILL + _SEQUENCE and not is_avif(start)


def is_avif(start: bytes) -> bool:
    """Tell an AVIF file, which is built alike and coded otherwise."""
    return any(brand in _AVIF for brand in _brands(start))


def is_sequence(start: bytes) -> bool:
    """Tell a burst or animation: a HEIF file without one primary picture."""
    return is_heif(start) and _brands(start)[0] in _SEQUENCE


def open_heif(file: BinaryIO) -> Image.Image:
    """Open a HEIF file at its primary picture, which is decoded when it is loaded.

    Parameters
    ----------
    file : binary file
        Read from its beginning.

    Returns
    -------
    PIL.Image.Image
        Its `load` decodes and turns it upright; 10 bits keep their upper eight. Its sides are
        known before.

    Raises
    ------
    SyntaxError
        For a file that cannot be taken apart.
    """
    from pillow_heif import HeifImageFile

    file.seek(0)
    opened: Image.Image = HeifImageFile(file)
    return opened


def profile_name(image: Image.Image) -> str:
    """Name the colours of a HEIF picture that has no profile, where they are not those of sRGB."""
    told = image.info.get("nclx_profile") or {}
    number = int(told.get("color_primaries", 1))
    return "" if number in _PLAIN_PRIMARIES else _PRIMARIES.get(number, f"primaries {number}")


def whole(file: BinaryIO) -> bool:
    """Tell whether a HEIF file holds all that it says it holds, without decoding it.

    Parameters
    ----------
    file : binary file
        Any place in it.

    Returns
    -------
    bool
        False where ``meta`` or the coded pictures are missing or end early. A decoder may
        paint what is missing grey and say nothing.
    """
    size = file.seek(0, os.SEEK_END)
    kinds: set[bytes] = set()
    place, inner = 0, b""
    while place < size:
        file.seek(place)
        head = file.read(16)
        if len(head) < 8:
            return False
        length, kind = int.from_bytes(head[:4], "big"), head[4:8]
        if length == 1:
            length = int.from_bytes(head[8:16], "big")
        elif length == 0:
            length = size - place
        if length < 8 or place + length > size:
            # What some phones write behind the pictures is no box, and nothing of the picture.
            return kind not in (b"meta", b"mdat") and _complete(kinds, inner)
        if kind == b"meta":
            file.seek(place)
            inner = file.read(length)
        kinds.add(kind)
        place += length
    return _complete(kinds, inner)


def _complete(kinds: set[bytes], inner: bytes) -> bool:
    return b"meta" in kinds and (b"mdat" in kinds or b"idat" in inner)


def _brands(start: bytes) -> list[bytes]:
    """List the kinds that a file says it is: first its own, then those it is compatible with."""
    if start[4:8] != b"ftyp":
        return []
    end = min(int.from_bytes(start[:4], "big"), len(start))
    return [start[8:12], *(start[at : at + 4] for at in range(16, end - 3, 4))]
