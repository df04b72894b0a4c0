"""Scores kept from earlier: found by what the photo holds and how it was scored."""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import asdict, fields
from typing import Any

from wintersward.photos.colour import GreenWindow
from wintersward.photos.decoding import decoders
from wintersward.photos.keeping import Kept
from wintersward.photos.region import Region
from wintersward.photos.scoring import SCORING_VERSION, PhotoScore

__all__ = ["ScoreCache"]


class ScoreCache(Kept):
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
        method = f"{window.hash()} {region} {SCORING_VERSION} {decoders()}"
        super().__init__(folder, method, "scores")

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
        self.write(score.sha256, text)


def _check(kept: dict[str, Any]) -> str:
    """Fingerprint of an entry's numbers and words."""
    return hashlib.sha256(json.dumps(kept, sort_keys=True).encode()).hexdigest()
