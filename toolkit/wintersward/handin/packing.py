"""A zip file that is the same bytes for the same files, written in a stream."""

from __future__ import annotations

import hashlib
import stat
import time
import zipfile
from collections.abc import Callable, Sequence
from pathlib import Path

from wintersward.handin.holdings import Holding, media_type

__all__ = ["pack"]

_PIECE = 1 << 20
_EVERY_S = 5.0
# The first day that a zip file can name (from memory).
_NO_TIME = (1980, 1, 1, 0, 0, 0)
_UNIX = 3
# These are packed by the camera already; to deflate them takes time and gains nothing.
_STORED = ("image/jpeg", "image/heic", "image/heif")


def pack(target: Path, held: Sequence[Holding], tell: Callable[[str], None]) -> list[str]:
    """Write files into a zip file, sorted by name, a piece at a time.

    Parameters
    ----------
    target : Path
        The zip file; what lies there is written over.
    held : sequence of Holding
        The files.
    tell : callable
        Called every few seconds with a line that says how far it is.

    Returns
    -------
    list of str
        Names of files whose bytes are not those that were told, or that are not there; the zip
        file is of no use then.

    Notes
    -----
    Times and permissions are fixed. How deflate packs is its library's matter: the same bytes
    come of the same Python, the same files of any.
    """
    wrong, last = [], time.monotonic()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for count, one in enumerate(sorted(held, key=lambda holding: holding.name), 1):
            try:
                fits = _add(archive, one)
            except FileNotFoundError:
                fits = False
            if not fits:
                wrong.append(one.name)
            if time.monotonic() - last > _EVERY_S:
                last = time.monotonic()
                tell(f"packed {count} of {len(held)} files")
    return wrong


def _add(archive: zipfile.ZipFile, one: Holding) -> bool:
    """Add a file, and tell whether it is the one that was told."""
    entry = zipfile.ZipInfo(one.name, _NO_TIME)
    entry.create_system = _UNIX
    entry.external_attr = (stat.S_IFREG | 0o644) << 16
    entry.file_size = one.size
    stored = media_type(one.name) in _STORED
    entry.compress_type = zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED
    if one.path is None:
        archive.writestr(entry, one.content)
        return True
    digest = hashlib.sha256()
    with one.path.open("rb") as source:
        # A file that grew meanwhile must not go beyond what its entry says.
        left = one.size
        with archive.open(entry, "w") as made:
            while piece := source.read(min(_PIECE, left)):
                made.write(piece)
                digest.update(piece)
                left -= len(piece)
        return not source.read(1) and not left and digest.hexdigest() == one.sha256
