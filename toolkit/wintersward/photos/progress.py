"""How far the scoring of photos has come, left in a file for who waits for it.

Notes
-----
A run scores photos in a kernel of its own, whose cells print nothing of it: the executed notebook
would be another every time. The runner names a file in the environment, the scoring keeps it up
to date, and the runner reads it.
"""

from __future__ import annotations

import contextlib
import json
import os
from pathlib import Path
from typing import NamedTuple

__all__ = ["VARIABLE", "Left", "read_left", "tell_left"]

VARIABLE = "WINTERSWARD_PHOTO_PROGRESS"
"""Environment variable that names the file; unset, nothing is told."""


class Left(NamedTuple):
    """How far the scoring has come.

    Parameters
    ----------
    done, photos : int
        Photos scored so far, those kept from earlier included, and photos in all.
    seconds : float [s]
        About how long the rest will take, by the pace so far.
    """

    done: int
    photos: int
    seconds: float


def tell_left(done: int, photos: int, seconds: float) -> None:
    """Write how far the scoring has come, where a run wants to know it.

    Parameters
    ----------
    done, photos, seconds : int, int, float
        As in `Left`.
    """
    place = os.environ.get(VARIABLE)
    if not place:
        return
    path = Path(place)
    part = path.with_name(f"{path.name}.part")
    # Nobody loses a score because a number could not be told.
    with contextlib.suppress(OSError):
        part.write_text(json.dumps([done, photos, seconds]), encoding="utf-8")
        os.replace(part, path)


def read_left(path: Path) -> Left | None:
    """Read how far the scoring has come; None where nothing was told yet.

    Parameters
    ----------
    path : Path
        The file that `VARIABLE` names.
    """
    try:
        done, photos, seconds = json.loads(path.read_text(encoding="utf-8"))
        return Left(int(done), int(photos), float(seconds))
    except (OSError, ValueError, TypeError):
        return None
