"""Which photo of a day shows which plot, told from the times of capture and the walking order."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import PurePosixPath
from statistics import median

__all__ = ["SURE", "Place", "Shot", "Stop", "placed_in_order"]

SURE = "yes"
"""What stands for a photo of which nothing makes doubt."""

# Nobody walks to the next plot and takes its photo within so many seconds; common practice, no
# source. Where all go faster than that, two fifths of the usual gap count.
_DOUBLE_SECONDS = 5.0
_DOUBLE_SHARE = 0.4
# Gaps between plots, as multiples of the usual one: half of it is short for another plot, one and
# a half times (a plot passed by) may hide a plot where the count is short, three are a pause.
_SHORT, _LONG, _PAUSE = 0.5, 1.5, 3.0
_PAUSE_SECONDS = 30.0
# How much longer the walk between plots must be than the time between photos of one plot.
_CLEAR = 1.5
_AFTER = "no: it comes after a doubtful place"


@dataclass(frozen=True)
class Shot:
    """One photo.

    Parameters
    ----------
    file : str
        Its name, from the folder of photos on.
    taken : datetime
        When the camera took it, by the camera's own clock.
    """

    file: str
    taken: dt.datetime


@dataclass(frozen=True)
class Stop:
    """One plot of the walk.

    Parameters
    ----------
    plot : str
        Its name.
    samples : tuple of int
        Numbers of the photos that are wanted of it.
    """

    plot: str
    samples: tuple[int, ...]


@dataclass(frozen=True)
class Place:
    """What a photo seems to show.

    Parameters
    ----------
    plot : str
        Empty where it cannot be told.
    sample : int
        Number of the photo within the plot; 0 where the plot cannot be told.
    sure : str
        `SURE`, or plain words that begin with ``look:`` (there is a plot, and a reason to look
        twice) or ``no:`` (there is none).
    """

    plot: str
    sample: int
    sure: str


def placed_in_order(shots: Sequence[Shot], walk: Sequence[Stop]) -> list[Place]:
    """Give the photos of one day to the plots in the order of the walk.

    Parameters
    ----------
    shots : sequence of Shot
        By time, of equal times by name.
    walk : sequence of Stop
        The plots of which photos are wanted, in walking order.

    Returns
    -------
    list of Place
        One for each shot, in the same order. From the first doubtful place on plots stay empty
        wherever the number of photos cannot be right.

    Notes
    -----
    Photos are joined into stops by the gaps between them: with one photo a plot, what follows
    within seconds belongs to the stop before; with several, the gaps are cut where between-plot
    gaps are clearly longer than within-plot gaps. As many stops as plots: each stop is a plot.
    Otherwise plots are given up to the first place where a photo may lack or be too many, and
    not at all where no gap tells of one.
    """
    if not shots:
        return []
    if not walk:
        said = "no: every photo that is wanted of this day is there already"
        return [Place("", 0, said)] * len(shots)
    gaps = [(b.taken - a.taken).total_seconds() for a, b in zip(shots, shots[1:], strict=False)]
    stops = _stops(gaps, walk)
    if stops is None:
        places = _by_count(len(shots), walk)
    elif len(stops) == len(walk) and not _torn(stops, walk):
        places = _by_stops(stops, gaps, walk)
    else:
        places = _up_to_doubt(len(shots), stops, gaps, walk)
    return _one_camera(shots, places)


def _wanted(walk: Sequence[Stop]) -> int:
    return sum(len(stop.samples) for stop in walk)


def _stops(gaps: list[float], walk: Sequence[Stop]) -> list[list[int]] | None:
    """Join positions of photos into stops; None where the gaps do not tell them apart."""
    if max(len(stop.samples) for stop in walk) == 1:
        usual = median(gaps) if gaps else 0.0
        return _cut(gaps, min(_DOUBLE_SECONDS, _DOUBLE_SHARE * usual))
    if len(walk) == 1:
        return [list(range(len(gaps) + 1))]
    falling = sorted(gaps, reverse=True)
    for many in (len(walk) + by for by in (0, -1, 1, -2, 2)):
        if not 1 < many <= len(gaps) + 1:
            continue
        between = falling[many - 2]
        within = falling[many - 1] if many <= len(gaps) else 0.0
        if between >= _CLEAR * within + 1:
            return _cut(gaps, (between + within) / 2)
    return None


def _cut(gaps: list[float], most: float) -> list[list[int]]:
    """Cut wherever a gap is longer than `most` [s]."""
    stops = [[0]]
    for position, gap in enumerate(gaps, 1):
        if gap > most:
            stops.append([])
        stops[-1].append(position)
    return stops


def _torn(stops: list[list[int]], walk: Sequence[Stop]) -> bool:
    """Tell whether two stops in a row lack photos: they may be one plot with a pause in it."""
    lacks = [len(s) < len(plot.samples) for s, plot in zip(stops, walk, strict=True)]
    return any(a and b for a, b in zip(lacks, lacks[1:], strict=False))


def _by_count(number: int, walk: Sequence[Stop]) -> list[Place]:
    """Go by the number alone, where times do not show where one plot ends."""
    if number != _wanted(walk):
        said = f"no: {_count(number, walk)}, and the times do not show where one plot ends"
        return [Place("", 0, said)] * number
    said = "look: the number is right, but the times do not show where one plot ends"
    return [Place(stop.plot, sample, said) for stop in walk for sample in stop.samples]


def _by_stops(stops: list[list[int]], gaps: list[float], walk: Sequence[Stop]) -> list[Place]:
    """Give each stop its plot; tell of stops with too few or too many, and of odd gaps."""
    places: list[Place] = []
    odd = _odd_gaps(stops, gaps)
    for number, (stop, plot) in enumerate(zip(stops, walk, strict=True)):
        want = len(plot.samples)
        said = SURE
        if len(stop) > want:
            said = f"look: {len(stop)} photos within moments, {want} wanted; is this the best?"
        elif len(stop) < want:
            said = f"look: {len(stop)} of {want} photos of this plot"
        elif number in odd:
            said = odd[number]
        places += [Place(plot.plot, sample, said) for sample in plot.samples[: len(stop)]]
        spare = (
            f"no: one more of plot {plot.plot}, taken within moments; keep the best and move "
            "the other out of photos"
        )
        places += [Place("", 0, spare)] * (len(stop) - want)
    return places


def _between(stops: list[list[int]], gaps: list[float]) -> list[float]:
    """Gaps before the second and every later stop [s]."""
    return [gaps[stop[0] - 1] for stop in stops[1:]]


def _odd_gaps(stops: list[list[int]], gaps: list[float]) -> dict[int, str]:
    """Say of which stops the gap before them is far from the usual one."""
    between = _between(stops, gaps)
    usual = median(between) if between else 0.0
    said = {}
    for number, gap in enumerate(between, 1):
        if gap > max(_PAUSE * usual, usual + _PAUSE_SECONDS):
            said[number] = (
                f"look: {_time(gap)} after the photo before it, where {_time(usual)} are usual; "
                "was a plot passed by?"
            )
        elif gap < _SHORT * usual:
            said[number] = (
                f"look: {_time(gap)} after the photo before it, where {_time(usual)} are usual; "
                "is it the same plot once more?"
            )
    return said


def _up_to_doubt(
    number: int, stops: list[list[int]], gaps: list[float], walk: Sequence[Stop]
) -> list[Place]:
    """Give plots up to the first doubtful place, none from there on."""
    first, why = _doubt(stops, gaps, walk)
    count = _count(number, walk)
    before = f"look: {count}; is this one still right?"
    places = [Place(plot.plot, sample, before) for plot in walk[:first] for sample in plot.samples]
    at = f"no: {count}; {why}"
    return [*places, Place("", 0, at), *[Place("", 0, _AFTER)] * (number - len(places) - 1)]


def _doubt(stops: list[list[int]], gaps: list[float], walk: Sequence[Stop]) -> tuple[int, str]:
    """Find the first stop at which a photo may lack or be too many, and say why."""
    between = _between(stops, gaps)
    usual = median(between) if between else 0.0
    for number, stop in enumerate(stops[: len(walk)]):
        want = len(walk[number].samples)
        if len(stop) != want:
            return number, f"here are {len(stop)} within moments, {want} wanted"
        gap = between[number - 1] if number else usual
        if len(stops) < len(walk) and gap > _LONG * usual:
            return number, f"before this one went {_time(gap)}, where {_time(usual)} are usual"
        if len(stops) > len(walk) and gap < _SHORT * usual:
            return number, f"before this one went {_time(gap)}, where {_time(usual)} are usual"
    return 0, "the times do not show where"


def _count(number: int, walk: Sequence[Stop]) -> str:
    """Say how many photos there are and how many belong."""
    wanted = _wanted(walk)
    if number == wanted:
        return f"the number, {number}, is right, but one seems too many and one lacking"
    said = f"{number} {'photo' if number == 1 else 'photos'} where {wanted} belong"
    if number in (wanted + len(walk), 2 * wanted):
        said += " (are photos of the labels, or of a second walk, among them?)"
    return said


def _time(seconds: float) -> str:
    """Write a time for a reader."""
    return f"{seconds:.0f} s" if seconds < 100 else f"{seconds / 60:.0f} min"


def _one_camera(shots: Sequence[Shot], places: list[Place]) -> list[Place]:
    """Take plots away from where on the names of the files contradict the order of the times."""
    numbered = [_numbered(shot.file) for shot in shots]
    first, why = len(shots), ""
    series = [name for name, _ in numbered]
    turns = [i for i in range(1, len(series)) if series[i] != series[i - 1]]
    # Names without a series, a new one for each photo, tell nothing.
    kinds = len(set(series))
    if kinds <= max(2, len(shots) // 3) and len(turns) >= kinds:
        first, why = turns[0], "no: photos of two cameras or folders are mixed from here on"
    back = _backward(numbered)
    if back < first:
        first, why = back, "no: from here on the numbers of the files contradict their times"
    return [
        place if position < first else replace(place, plot="", sample=0, sure=why)
        for position, place in enumerate(places)
    ]


def _numbered(file: str) -> tuple[str, int | None]:
    """Split a name into its series, folder included, and the camera's number of four digits."""
    path = PurePosixPath(file)
    match = re.fullmatch(r"(.*?)([0-9]*)", path.stem)
    stem, digits = (match[1], match[2]) if match else (path.stem, "")
    folder = "" if path.parent == PurePosixPath(".") else f"{path.parent}/"
    return folder + stem, int(digits) if len(digits) == 4 else None


def _backward(numbered: list[tuple[str, int | None]]) -> int:
    """Find the first photo whose camera gave a lower number to a later one; else their count."""
    lowest: dict[str, int] = {}
    first = len(numbered)
    for position in range(len(numbered) - 1, -1, -1):
        series, number = numbered[position]
        if number is None:
            continue
        later = lowest.get(series)
        # After 9999 cameras begin again at 1 (DCF, JEITA CP-3461: numbers 0001 to 9999).
        if later is not None and later < number < later + 9000:
            first = position
        if later is None or number < later or number > later + 9000:
            lowest[series] = number
    return first
