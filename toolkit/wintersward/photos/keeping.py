"""What is kept of photographs: small files, written whole or not at all."""

from __future__ import annotations

import contextlib
import hashlib
import os
import tempfile
from pathlib import Path

from wintersward.errors import WinterswardError

__all__ = ["Kept", "write_whole"]


class Kept:
    """A folder with one small file a photo; it may be deleted at any time.

    Parameters
    ----------
    folder : path
        Made when missing.
    method : str
        How what is kept was made; what was made otherwise is not found.
    what : str
        A word for what is kept, in messages.
    ending : str
        How the names of the files end.

    Raises
    ------
    WinterswardError
        The folder cannot be made.
    """

    def __init__(
        self, folder: str | os.PathLike[str], method: str, what: str, ending: str = ".json"
    ) -> None:
        self._folder, self._what, self._ending = Path(folder), what, ending
        self._method = hashlib.sha256(method.encode()).hexdigest()[:12]
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise self._unwritable(error) from None

    def path(self, sha256: str) -> Path:
        """File that belongs to a photo.

        Parameters
        ----------
        sha256 : str
            Of the photo's bytes.

        Returns
        -------
        Path
            Whether or not it exists.
        """
        return self._folder / f"{sha256}-{self._method}{self._ending}"

    def write(self, sha256: str, text: str) -> None:
        """Write the file of a photo.

        Raises
        ------
        WinterswardError
            The folder cannot be written.
        """
        try:
            write_whole(self.path(sha256), text)
        except OSError as error:
            raise self._unwritable(error) from None

    def _unwritable(self, error: OSError) -> WinterswardError:
        return WinterswardError(
            f"{self._folder.as_posix()}: {self._what} cannot be kept here ({error.strerror}); "
            "make the folder writable, or go without one"
        )


def write_whole(path: Path, text: str) -> None:
    """Write a text under a name of its own first: several processes may write at once.

    Parameters
    ----------
    path : Path
        The file, in a folder that is there.
    text : str
        Written in UTF-8.
    """
    handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
    try:
        with open(handle, "w", encoding="utf-8") as file:
            file.write(text)
        os.replace(name, path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise
