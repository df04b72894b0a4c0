"""Times of a logger: read by their format, brought to UTC, freed from the drift of its clock."""

from __future__ import annotations

import datetime as dt
import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from wintersward.trial.diary_loggers import ClockCheck

__all__ = ["Drift", "Times", "drift_of", "in_utc", "read_times", "runs_backwards", "tidied"]

Stamps = npt.NDArray[np.datetime64]
Mask = npt.NDArray[np.bool_]

# Outside these no clock of a logger is, not even one that began anew when it lost its power.
_CLOCKS = (np.datetime64("1970-01-01", "us"), np.datetime64("2100-01-01", "us"))
_HALF_OF_DAY = re.compile(r"([AaPp])\. ?[Mm]\.?")
_MIDNIGHT = re.compile(r"(?<![0-9:])24(?=:00)")
_NONE = np.datetime64("NaT", "us")
_STILL = np.timedelta64(0, "us")
# Words that pandas takes for the time at which it reads them.
_TODAY = ("now", "today")


@dataclass(frozen=True)
class Times:
    """Times in UTC, and why others have none.

    Parameters
    ----------
    utc : (n,) datetime64[us]
        In the order given; NaT where there is none.
    skipped : (n,) bool
        Local times that do not exist, since the clocks jumped over them.
    repeated : (n,) bool
        Local times that were there twice and cannot be told apart.
    """

    utc: Stamps
    skipped: Mask
    repeated: Mask


@dataclass(frozen=True)
class Drift:
    """How far a logger's clock was off, straight between two looks at it.

    Parameters
    ----------
    at : (int, int)
        Time of the logger at the looks [us since 1970, UTC].
    behind : (int, int)
        What has to be added then for the true time [us].
    """

    at: tuple[int, int]
    behind: tuple[int, int]

    def corrected(self, utc: Stamps) -> Stamps:
        """Give true times for times of the logger.

        Parameters
        ----------
        utc : (n,) datetime64[us]
            As the logger has them; before the first and after the last look the drift goes on.
        """
        start, late = self.at[0], self.behind[0]
        span = self.at[1] - start
        rate = (self.behind[1] - late) / span if span else 0.0
        since = (utc - np.datetime64(start, "us")) / np.timedelta64(1, "us")
        added = np.where(np.isnan(since), 0, np.round(late + rate * since)).astype("int64")
        return utc + added.astype("timedelta64[us]")


def read_times(texts: Sequence[str], form: str) -> Stamps:
    """Read times by their format.

    Parameters
    ----------
    texts : sequence of str
        As they stand in the cells.
    form : str
        For ``strptime``. With ``%z`` the times come out in UTC.

    Returns
    -------
    (n,) datetime64[us]
        NaT where a text is no time in this format, or one outside 1970 to 2099. The midnight that
        ends a day may be written 24:00.

    Raises
    ------
    ValueError
        Where the format is none.

    Examples
    --------
    >>> read_times(["03/24/2026 2:05 PM", "24:00"], "%m/%d/%Y %I:%M %p")
    array(['2026-03-24T14:05:00.000000',                        'NaT'],
          dtype='datetime64[us]')
    """
    found = _read(texts, form)
    # Few are written in a way that pandas does not take at once.
    for at, text in enumerate(texts):
        if text.strip().casefold() in _TODAY:
            found[at] = _NONE
    left = np.flatnonzero(np.isnat(found)).tolist()
    if left:
        again = [tidied(texts[at], form) for at in left]
        late = np.array(["%H" in form and bool(_MIDNIGHT.search(text)) for text in again])
        read = _read([_MIDNIGHT.sub("00", text) if "%H" in form else text for text in again], form)
        found[left] = np.where(late, read + np.timedelta64(1, "D"), read)
    found[(found < _CLOCKS[0]) | (found >= _CLOCKS[1])] = _NONE
    return found


def _read(texts: Sequence[str], form: str) -> Stamps:
    written = pd.Series(texts, dtype=object)
    try:
        read = pd.to_datetime(written, format=form, errors="coerce", utc="%z" in form, cache=False)
    except (re.error, OverflowError) as error:
        raise ValueError(str(error)) from None
    if isinstance(read.dtype, pd.DatetimeTZDtype):
        read = read.dt.tz_localize(None)
    return np.array(read.to_numpy().astype("datetime64[us]"))


def tidied(text: str, form: str) -> str:
    """Write a time as ``strptime`` takes it; words such as "now" are no times."""
    shown = " ".join(text.split())
    if "%p" in form:
        shown = _HALF_OF_DAY.sub(r"\1M", shown)
    return "" if shown.casefold() in _TODAY else shown


def in_utc(local: Stamps, zone: dt.tzinfo) -> Times:
    """Bring local times to UTC.

    Parameters
    ----------
    local : (n,) datetime64[us]
        In the order of the file, which runs forward; NaT where there is none.
    zone : tzinfo
        Zone of the clock that wrote them.

    Notes
    -----
    Where the clocks are put back, an hour is there twice. Where the file runs through both, it
    steps back once within the hour, or stands still where readings are an hour apart: what stands
    before belongs to the first. Any other hour cannot be told apart.
    """
    index = pd.DatetimeIndex(local)
    # The first of two hours of one name has summer time.
    first, second = (
        index.tz_localize(zone, ambiguous=np.full(len(index), summer), nonexistent="NaT")
        .tz_convert(None)
        .to_numpy()
        .astype("datetime64[us]")
        for summer in (True, False)
    )
    known = ~np.isnat(local)
    skipped = known & np.isnat(first)
    twice = known & ~skipped & (first != second)
    repeated = np.zeros(len(local), bool)
    utc = first.copy()
    for day in np.unique(local[twice].astype("datetime64[D]")):
        at = np.flatnonzero(twice & (local.astype("datetime64[D]") == day))
        turn = _turn(local, at)
        if turn:
            utc[at[turn:]] = second[at[turn:]]
        else:
            repeated[at] = True
    utc[repeated] = _NONE
    return Times(utc, skipped, repeated)


def _turn(local: Stamps, at: npt.NDArray[np.intp]) -> int:
    """Tell how many readings of a repeated hour belong to the first; 0 where it cannot be told."""
    steps = np.diff(local[at])
    back = np.flatnonzero(steps <= _STILL)
    if len(back) != 1:
        return 0
    if steps[back[0]] == _STILL:
        # The same row twice stands still as well, among readings that are closer together.
        forward = np.diff(local[~np.isnat(local)])
        forward = forward[forward > _STILL]
        apart = len(forward) > 0 and np.median(forward) > np.timedelta64(40, "m")
        return int(back[0]) + 1 if apart else 0
    return int(back[0]) + 1


def drift_of(looks: Sequence[ClockCheck], zone: dt.tzinfo) -> Drift | None:
    """Tell the drift of a clock from looks at it.

    Parameters
    ----------
    looks : sequence of ClockCheck
        In any order; the first and the last in time count. One alone means the same at all times.
    zone : tzinfo
        Zone of the file, in which both times of a look are told.

    Returns
    -------
    Drift or None
        None where nobody looked.
    """
    seen = sorted(
        (_microseconds(look.logger, zone), _microseconds(look.true, zone)) for look in looks
    )
    if not seen:
        return None
    (first, was), (last, is_) = seen[0], seen[-1]
    return Drift((first, last), (was - first, is_ - last))


def _microseconds(when: dt.datetime, zone: dt.tzinfo) -> int:
    placed = when if when.tzinfo is not None else when.replace(tzinfo=zone)
    since = placed - dt.datetime(1970, 1, 1, tzinfo=dt.UTC)
    return since // dt.timedelta(microseconds=1)


def runs_backwards(utc: Stamps) -> Mask:
    """Find the fewest times whose removal leaves times that run forward.

    Parameters
    ----------
    utc : (n,) datetime64[us]
        In the order of the file, without NaT; equal ones run forward.

    Returns
    -------
    (n,) bool
        True for those that are out of order.

    Notes
    -----
    What stays is a longest subsequence that never falls, found by patience sorting.

    References
    ----------
    Fredman M. L. (1975) On computing the length of longest increasing subsequences, Discrete
    Mathematics 11, 29-35; from memory.

    Examples
    --------
    >>> runs_backwards(np.array(["2026-01-01", "2099-01-01", "2026-01-02"], "datetime64[us]"))
    array([False,  True, False])
    """
    out = np.zeros(len(utc), bool)
    if len(utc) < 2 or (np.diff(utc) >= np.timedelta64(0, "us")).all():
        return out
    ends: list[int] = []
    places: list[int] = []
    before: list[int] = []
    for at, time in enumerate(utc.astype("int64").tolist()):
        pile = bisect_right(ends, time)
        before.append(places[pile - 1] if pile else -1)
        if pile == len(ends):
            ends.append(time)
            places.append(at)
        else:
            ends[pile], places[pile] = time, at
    out[:] = True
    at = places[-1]
    while at >= 0:
        out[at] = False
        at = before[at]
    return out
