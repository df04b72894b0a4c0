"""Scores kept from earlier: found by what the photo holds and how it was scored."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

from wintersward.errors import WinterswardError
from wintersward.photos.colour import GreenWindow
from wintersward.photos.decoding import decoders
from wintersward.photos.region import Region
from wintersward.photos.scoring import SCORING_VERSION, PhotoScore

__all__ = ["ScoreCache"]


class ScoreCache:
    """A folder with one small file a score; it may be deleted at any time.

    Parameters
    ----------
    folder : path
        Made when missing.
    window : GreenWindow
        What counts as green.
    region : (4,) or (n, 2) float [1], optional
        Part of the picture that is scored, a box or a polygon.

    Raises
    ------
    WinterswardError
        The folder cannot be made.

    Notes
    -----
    A score is found by the SHA-256 of the photo's bytes, the window, the region, the version of
    the scoring, and the versions of the image library and its JPEG decoder: two decoders may differ
    by one step in some pixels, and a run must not depend on which one ran last year. An entry
    that is not exactly as it was written is not used.
    """

    def __init__(
        self, folder: str | os.PathLike[str], window: GreenWindow, region: Region | None = None
    ) -> None:
        self._folder = Path(folder)
        method = f"{window.hash()} {region} {SCORING_VERSION} {decoders()}"
        self._method = hashlib.sha256(method.encode()).hexdigest()[:12]
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise self._unwritable(error) from None

    def path(self, sha256: str) -> Path:
        """File in which the score of a photo is kept.

        Parameters
        ----------
        sha256 : str
            Of the photo's bytes.

        Returns
        -------
        Path
            Whether or not it exists.
        """
        return self._folder / f"{sha256}-{self._method}.json"

    def get(self, sha256: str) -> PhotoScore | None:
        """Find a score.

        Parameters
        ----------
        sha256 : str
            Of the photo's bytes.

        Returns
        -------
        PhotoScore or None
            None where there is no entry, or one that is damaged.
        """
        try:
            entry = json.loads(self.path(sha256).read_text(encoding="utf-8"))
            kept, check = entry["score"], entry["check"]
        except (OSError, ValueError, KeyError, TypeError):
            return None
        names = {field.name for field in fields(PhotoScore)}
        sound = isinstance(kept, dict) and set(kept) == names and kept["sha256"] == sha256
        if not sound or check != _check(kept):
            return None
        return PhotoScore(**{**kept, "flags": tuple(kept["flags"])})

    def put(self, score: PhotoScore) -> None:
        """Keep a score, whole or not at all.

        Parameters
        ----------
        score : PhotoScore
            The score; its ``sha256`` names the entry.

        Raises
        ------
        WinterswardError
            The folder cannot be written.
        """
        kept = json.loads(json.dumps(asdict(score)))
        text = json.dumps({"score": kept, "check": _check(kept)}, indent=1, sort_keys=True)
        try:
            handle, name = tempfile.mkstemp(dir=self._folder, suffix=".part")
            try:
                with open(handle, "w", encoding="utf-8") as file:
                    file.write(text)
                os.replace(name, self.path(score.sha256))
            except BaseException:
                with contextlib.suppress(OSError):
                    os.unlink(name)
                raise
        except OSError as error:
            raise self._unwritable(error) from None

    def _unwritable(self, error: OSError) -> WinterswardError:
        return WinterswardError(
            f"{self._folder.as_posix()}: scores cannot be kept here ({error.strerror}); "
            "make the folder writable, or go without one"
        )


def _check(kept: dict[str, Any]) -> str:
    """Fingerprint of an entry's numbers and words."""
    return hashlib.sha256(json.dumps(kept, sort_keys=True).encode()).hexdigest()
