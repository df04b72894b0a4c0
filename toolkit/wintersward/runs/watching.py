"""Lines for who waits in the terminal: how many photos are scored, and how long it will take."""

from __future__ import annotations

import os
import shutil
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from wintersward.photos.progress import VARIABLE, Left, read_left

__all__ = ["left_words", "watched"]

_LOOK_SECONDS = 0.5
_LEAST_SECONDS, _MOST_SECONDS = 5.0, 60.0


@contextmanager
def watched(tell: Callable[[str], None]) -> Iterator[None]:
    """Tell while a stage goes how far its photos are; outside a run's surroundings nothing.

    Parameters
    ----------
    tell : callable
        Called with one line at a time, from another thread.

    Notes
    -----
    A line comes after five seconds at the earliest; then where another tenth of the photos is
    done, at least five seconds after the line before, and once a minute anyway. Where all scores
    are kept from earlier nothing is told.
    """
    place = os.environ.get(VARIABLE)
    if not place:
        yield
        return
    path = Path(place)
    path.unlink(missing_ok=True)
    over = threading.Event()
    watch = threading.Thread(target=_watch, args=(path, tell, over), daemon=True)
    watch.start()
    try:
        yield
    finally:
        over.set()
        watch.join()


def left_words(left: Left) -> str:
    """Say how far the photos are.

    Examples
    --------
    >>> left_words(Left(48, 216, 71.0))
    'photos: 48 of 216 scored, about 80 seconds left'
    >>> left_words(Left(48, 216, 200.0))
    'photos: 48 of 216 scored, about 4 minutes left'
    >>> left_words(Left(2150, 21600, 8100.0))
    'photos: 2150 of 21600 scored, about 2.5 hours left'
    """
    seconds = left.seconds
    if seconds <= 90:
        rest = f"{max(10, -(-int(seconds) // 10) * 10)} seconds"
    elif seconds <= 5400:
        rest = f"{-int(-seconds // 60)} minutes"
    else:
        rest = f"{-int(-seconds // 1800) / 2:g} hours"
    return f"photos: {left.done} of {left.photos} scored, about {rest} left"


def _watch(path: Path, tell: Callable[[str], None], over: threading.Event) -> None:
    said_at, tenth = time.monotonic(), 0
    while not over.wait(_LOOK_SECONDS):
        left = read_left(path)
        waited = time.monotonic() - said_at
        if left is None or left.done >= left.photos or waited < _LEAST_SECONDS:
            continue
        now = 10 * left.done // left.photos
        if now > tenth or waited >= _MOST_SECONDS:
            said_at, tenth = time.monotonic(), now
            _wipe_bar()
            # Who has closed the terminal still gets a run.
            with suppress(OSError):
                tell(f"      {left_words(left)}")


def _wipe_bar() -> None:
    """Clear the bar of cells that may stand in the terminal's last line; it is drawn again."""
    if sys.stderr.isatty():
        width = shutil.get_terminal_size().columns - 1
        sys.stderr.write(f"\r{' ' * width}\r")
        sys.stderr.flush()
