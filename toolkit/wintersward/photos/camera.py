"""What the camera noted with a photo: when, with which camera, how exposed, whose white balance."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from PIL import ExifTags, Image

__all__ = ["CameraNotes", "camera_notes", "exif_of"]

_TAGS = ExifTags.Base


@dataclass(frozen=True)
class CameraNotes:
    """The notes that a check needs.

    Parameters
    ----------
    taken : str or None
        When the photo was taken, ISO 8601, with the offset from UTC where the camera kept one.
    camera : str
        Maker and model; empty where the file does not say.
    exposure : float or None [EV]
        Exposure value at ISO 100: more where the camera let in less light.
    white_balance : str
        ``automatic``, ``fixed``, or empty where the file does not say.

    References
    ----------
    CIPA DC-008, Exchangeable image file format for digital still cameras (Exif), tags
    DateTimeOriginal, ExposureTime, FNumber, PhotographicSensitivity, WhiteBalance (from memory).
    """

    taken: str | None = None
    camera: str = ""
    exposure: float | None = None
    white_balance: str = ""


def exif_of(image: Image.Image) -> dict[int, Any]:
    """Read the block of notes in a file; a damaged one counts as none."""
    try:
        exif = image.getexif()
        return {**exif, **exif.get_ifd(ExifTags.IFD.Exif)}
    except Exception:
        # The block is binary data from many makers; a photo is not refused for it.
        return {}


def camera_notes(exif: Mapping[int, Any]) -> CameraNotes:
    """Pick the notes out of a photo's block.

    Parameters
    ----------
    exif : mapping of int to anything
        Values by tag.

    Returns
    -------
    CameraNotes
        What cannot be read is left out.
    """
    told = _whole(exif.get(_TAGS.WhiteBalance))
    balance = "" if told is None else {0: "automatic", 1: "fixed"}.get(told, "")
    return CameraNotes(_taken(exif), _camera(exif), _exposure(exif), balance)


def _taken(exif: Mapping[int, Any]) -> str | None:
    """Give the time of capture; the time of the last change is not taken for it."""
    for when, offset in (
        (_TAGS.DateTimeOriginal, _TAGS.OffsetTimeOriginal),
        (_TAGS.DateTimeDigitized, _TAGS.OffsetTimeDigitized),
    ):
        try:
            text = str(exif[when]).strip("\x00 ")
            moment = datetime.strptime(text, "%Y:%m:%d %H:%M:%S").isoformat()
        except (KeyError, ValueError):
            continue
        zone = str(exif.get(offset, "")).strip("\x00 ")
        return moment + zone if re.fullmatch(r"[+-]\d\d:\d\d", zone) else moment
    return None


def _camera(exif: Mapping[int, Any]) -> str:
    """Join maker and model, without saying the maker twice."""
    maker, model = (
        " ".join("".join(c if c.isprintable() else " " for c in str(exif.get(tag, ""))).split())
        for tag in (_TAGS.Make, _TAGS.Model)
    )
    return model if model.lower().startswith(maker.lower()) else f"{maker} {model}".strip()


def _exposure(exif: Mapping[int, Any]) -> float | None:
    """log2(N^2 / t) - log2(ISO / 100), with the f-number N and the time t [s]."""
    try:
        seconds = float(exif[_TAGS.ExposureTime])
        number = float(exif[_TAGS.FNumber])
        speed = exif[_TAGS.ISOSpeedRatings]
        speed = float(speed[0] if isinstance(speed, tuple) else speed)
        value = math.log2(number**2 / seconds) - math.log2(speed / 100)
    except (KeyError, IndexError, TypeError, ValueError, ArithmeticError):
        return None
    return round(value, 2) if math.isfinite(value) else None


def _whole(value: Any) -> int | None:
    try:
        return int(value)
    except (TypeError, ValueError, ArithmeticError):
        return None
