"""Hashes of files kept from earlier, so that a photo is not read through again and again."""

from __future__ import annotations

import contextlib
import json
import os
import time
from pathlib import Path
from typing import Any

from wintersward.photos.decoding import file_hash
from wintersward.photos.keeping import write_whole

__all__ = ["KeptHashes"]

# A file changed twice within the clock's own step looks the same both times.
_SETTLED_NS = 2_000_000_000


class KeptHashes:
    """Hashes by file, believed as long as the system reports the same file.

    Parameters
    ----------
    folder : path or None
        Folder with the one small file that holds them; it may be deleted at any time. None keeps
        nothing from one time to the next.

    Notes
    -----
    A hash is believed where size, time of change, time of the last change of the file's entry and
    its number in the file system are what they were, and where the file had been left alone for
    two seconds when it was hashed. Whoever needs to be certain, as for a bundle that is handed
    in, hashes the file itself.
    """

    def __init__(self, folder: str | os.PathLike[str] | None) -> None:
        self._path = None if folder is None else Path(folder) / "hashes.json"
        self._known: dict[str, Any] = {}
        self._changed = False
        if self._path is not None:
            with contextlib.suppress(OSError, ValueError):
                found = json.loads(self._path.read_text(encoding="utf-8"))
                self._known = found if isinstance(found, dict) else {}

    def get(self, path: str | os.PathLike[str]) -> str | None:
        """Find the hash of a file without reading it.

        Returns
        -------
        str or None
            64 hexadecimal digits; None where the file has to be read.
        """
        entry: Any = self._known.get(os.path.abspath(path))
        try:
            stamp = _stamp(os.stat(path))
        except OSError:
            return None
        sound = isinstance(entry, list) and len(entry) == 2 and entry[0] == stamp
        return str(entry[1]) if sound else None

    def of(self, path: str | os.PathLike[str]) -> str:
        """Find the hash of a file, reading it only where it is not known.

        Returns
        -------
        str
            64 hexadecimal digits.

        Raises
        ------
        WinterswardError
            The file cannot be read.
        """
        known = self.get(path)
        if known is not None:
            return known
        with contextlib.suppress(OSError):
            before = os.stat(path)
            found = file_hash(path)
            self.put(path, found, before)
            return found
        return file_hash(path)

    def put(self, path: str | os.PathLike[str], sha256: str, stat: os.stat_result) -> None:
        """Keep a hash that was made just now.

        Parameters
        ----------
        path : path
            The file.
        sha256 : str
            Of its bytes.
        stat : os.stat_result
            What the system told of the file before it was read.
        """
        if time.time_ns() - max(stat.st_mtime_ns, stat.st_ctime_ns) < _SETTLED_NS:
            return
        self._known[os.path.abspath(path)] = [_stamp(stat), sha256]
        self._changed = True

    def save(self) -> None:
        """Write what was found; where that cannot be, files are read again next time."""
        if self._path is None or not self._changed:
            return
        with contextlib.suppress(OSError):
            write_whole(self._path, json.dumps(self._known, indent=1, sort_keys=True))
            self._changed = False


def _stamp(stat: os.stat_result) -> list[int]:
    return [stat.st_size, stat.st_mtime_ns, stat.st_ctime_ns, stat.st_ino]
