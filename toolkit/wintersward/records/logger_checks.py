"""What looks odd in readings of loggers. A flag removes nothing, changes nothing, stops nothing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from wintersward.records.logger_clean import Trace
from wintersward.records.logger_reading import used_span
from wintersward.records.logger_sums import LoggerFlag
from wintersward.records.logger_times import Drift, Stamps
from wintersward.trial.diary_loggers import LoggerFile

__all__ = ["Place", "clock_flags", "file_flags", "flat_flags", "gap_flags", "place_of"]
__all__ += ["swap_flags"]

# All limits here are common practice, without a source, unless said.
_PRACTICE = "(common practice, no source)"
_HOUR = np.timedelta64(1, "h")
# A line is flat where readings stay the same for so long, and at least so many of them. That holds
# for a sensor that tells 0.1 degC or less; one that tells 0.5 degC is given five times as long.
_FLAT_HOURS, _FLAT_READINGS, _FINE = 12.0, 12, 0.1
# Water that freezes or thaws holds soil and snow at 0 degC for days (latent heat; from memory).
_FREEZING = 0.5
# A gap is a step of more than so many usual ones and of more than so many hours; with more gaps
# than these they are told together.
_GAP_STEPS, _GAP_HOURS, _MOST_GAPS = 3, 2.0, 12
# Soil is below its canopy in swing and roughness; on so many days in a row it must be above, and
# by itself swing or change by so much [degC a day, degC an hour]. Days count with so many hours.
_SWAP_DAYS, _SWING, _ROUGH, _WHOLE_DAY = 3, 2.0, 0.5, 18
# A clock that is off by less is as good as right.
_MINUTE = 60_000_000


@dataclass(frozen=True)
class Place:
    """The readings that are used of one place: a measure, a plot, a position.

    Parameters
    ----------
    measure, plot, position, what : str
        As in `wintersward.records.logger_clean.Trace`.
    utc : (n,) datetime64[us]
        Ascending, each once.
    values : (n,) float [degC]
        Readings.
    files : list of str
        Files that they come from.
    source : (n,) int
        Which of these.
    """

    measure: str
    plot: str
    position: str
    what: str
    utc: Stamps
    values: npt.NDArray[np.float64]
    files: list[str]
    source: npt.NDArray[np.intp]

    def flag(self, kind: str, first: int, last: int, found: str, rule: str) -> LoggerFlag:
        """Flag the readings from one to another."""
        where = f"at position {self.position} " if self.position else ""
        return LoggerFlag(
            kind,
            self.files[self.source[first]],
            self.measure,
            self.plot,
            pd.Timestamp(self.utc[first], tz="UTC"),
            pd.Timestamp(self.utc[last], tz="UTC"),
            f"{where}{found}",
            rule,
        )


def place_of(traces: Sequence[Trace]) -> Place:
    """Join the traces of one place."""
    one = traces[0]
    utc = np.concatenate([trace.utc[trace.used] for trace in traces])
    values = np.concatenate([trace.values[trace.used] for trace in traces])
    source = np.repeat(np.arange(len(traces)), [int(trace.used.sum()) for trace in traces])
    order = np.argsort(utc, kind="stable")
    files = [trace.file for trace in traces]
    head = (one.measure, one.plot, one.position, one.what)
    return Place(*head, utc[order], values[order], files, source[order])


def clock_flags(
    name: str, entry: LoggerFile, drift: Drift | None, traces: Sequence[Trace], zone: dt.tzinfo
) -> list[LoggerFlag]:
    """Tell by how much a clock was off, and what its times say of it.

    Parameters
    ----------
    name : str
        The file.
    entry : LoggerFile
        What the diary says about it.
    drift : Drift or None
        How its times were corrected.
    traces : sequence of Trace
        Its columns.
    zone : tzinfo
        The zone of its clock.
    """
    found: list[tuple[str, str]] = []
    if drift is not None and max(map(abs, drift.behind)) >= _MINUTE:
        looks = [
            f"{_ahead(-behind)} at {_local(np.datetime64(at + behind, 'us'), zone)}"
            for at, behind in zip(drift.at, drift.behind, strict=True)
        ]
        told = " and ".join(dict.fromkeys(looks))
        rule = "a clock off by 1 min or more; times are corrected, straight in between"
        if any(abs(abs(behind) / _MINUTE - 60) <= 10 for behind in drift.behind):
            rule += "; off by an hour: is it summer time, and 'zone' to be corrected?"
        found.append((f"the clock was {told}", rule))
    counts = {name: count for trace in traces for name, count in trace.removed().items()}
    if "skipped_hour" in counts:
        told = f"{_readings(counts['skipped_hour'])} at a time that the clocks jumped over"
        rule = "a clock that is put forward has none, one that is not keeps a zone such as "
        found.append((told, f"{rule}UTC-05:00: look at 'zone'"))
    if "backwards" in counts:
        told = f"{_readings(counts['backwards'])} whose time runs backwards"
        found.append((told, "the times of a file run forward, or all back"))
    times = [trace.utc[~np.isnat(trace.utc)] for trace in traces]
    known = next((some for some in times if len(some)), None)
    if known is None:
        return []
    span = (pd.Timestamp(known.min(), tz="UTC"), pd.Timestamp(known.max(), tz="UTC"))
    return [LoggerFlag("clock drift", name, "", "", *span, *one) for one in found]


def _ahead(microseconds: int) -> str:
    minutes = round(abs(microseconds) / _MINUTE, 1)
    if not minutes:
        return "right"
    return f"{minutes:g} min {'ahead' if microseconds > 0 else 'behind'}"


def _local(when: np.datetime64, zone: dt.tzinfo) -> str:
    return f"{pd.Timestamp(when, tz='UTC').tz_convert(zone):%Y-%m-%d %H:%M}"


def _readings(count: int) -> str:
    return "1 reading" if count == 1 else f"{count} readings"


def flat_flags(place: Place) -> list[LoggerFlag]:
    """Flag where readings stay the same for hours."""
    count = len(place.values)
    if count < _FLAT_READINGS:
        return []
    steps = np.diff(np.unique(place.values))
    resolution = float(steps[steps > 1e-4].min(initial=np.inf))
    least = _FLAT_HOURS * max(1.0, round(resolution, 4) / _FINE if np.isfinite(resolution) else 1.0)
    breaks = (np.diff(place.values) != 0) | _is_gap(place.utc)
    starts = np.r_[0, np.flatnonzero(breaks) + 1]
    ends = np.r_[starts[1:] - 1, count - 1]
    hours = (place.utc[ends] - place.utc[starts]) / _HOUR
    long = (hours >= least) & (ends - starts + 1 >= _FLAT_READINGS)
    # A trace that never leaves 0 degC is no soil that freezes.
    stuck = len(starts) == 1
    flags = []
    for start, end, time in zip(starts[long], ends[long], hours[long], strict=True):
        value = place.values[start]
        if abs(value) <= _FREEZING and not stuck:
            continue
        found = f"{end - start + 1} readings of {value:.4g} degC in {time:.0f} h"
        rule = f"{_FLAT_READINGS} equal readings or more over {least:.0f} h or more {_PRACTICE}"
        flags.append(place.flag("flat line", int(start), int(end), found, rule))
    return flags


def _usual(utc: Stamps) -> float:
    """Tell the usual step between readings [h]."""
    return float(np.median(np.diff(utc) / _HOUR))


def _is_gap(utc: Stamps) -> npt.NDArray[np.bool_]:
    hours = np.diff(utc) / _HOUR
    return np.asarray((hours > _GAP_HOURS) & (hours > _GAP_STEPS * _usual(utc)), bool)


def gap_flags(place: Place) -> list[LoggerFlag]:
    """Flag where readings are lacking in between."""
    if len(place.utc) < 3:
        return []
    after = np.flatnonzero(_is_gap(place.utc))
    usual = _usual(place.utc) * 60
    rule = f"more than {_GAP_HOURS:g} h and {_GAP_STEPS} usual steps of {usual:.3g} min {_PRACTICE}"
    hours = (place.utc[after + 1] - place.utc[after]) / _HOUR
    if len(after) > _MOST_GAPS:
        found = f"{len(after)} gaps, {hours.sum():.0f} h in all"
        return [place.flag("gap", int(after[0]), int(after[-1]) + 1, found, rule)]
    return [
        place.flag("gap", int(at), int(at) + 1, f"no reading for {time:.3g} h", rule)
        for at, time in zip(after, hours, strict=True)
    ]


def file_flags(entry: LoggerFile, traces: Sequence[Trace], site: dt.tzinfo) -> list[LoggerFlag]:
    """Flag columns that begin after the time of use of their file does, or end before it ends."""
    used = entry.used
    if not used:
        return []
    first, last = used_span(used, site)
    # On the days of laying and lifting it lay in the field for a part of the day only.
    slack = [np.timedelta64(0 if isinstance(end, dt.datetime) else 24, "h") for end in used]
    flags = []
    for trace in traces:
        times = trace.utc[trace.used]
        if len(times) == 0:
            continue
        begins, ends = times.min(), times.max()
        late, early = begins - first - slack[0], last - ends - slack[1]
        where = f"at position {trace.position} " if trace.position else ""
        for kind, hours, since, until, found in (
            ("gap", late / _HOUR, first, begins, f"the first reading at {_local(begins, site)}"),
            ("ends early", early / _HOUR, ends, last, f"the last reading at {_local(ends, site)}"),
        ):
            if hours > _GAP_HOURS:
                rule = f"readings from {used[0]} to {used[1]}, the time of use in diary.yaml"
                span = (pd.Timestamp(since, tz="UTC"), pd.Timestamp(until, tz="UTC"))
                told = (f"{where}{found}", rule)
                flags.append(LoggerFlag(kind, trace.file, trace.measure, trace.plot, *span, *told))
    return flags


def swap_flags(
    places: Iterable[Place], wholes: Mapping[str, str], site: dt.tzinfo
) -> list[LoggerFlag]:
    """Flag soil that behaves as the air above it: two sensors may have changed places.

    Parameters
    ----------
    places : iterable of Place
        All places.
    wholes : mapping of str to str
        From each plot to its whole plot; a canopy of the whole plot counts for its plots.
    site : tzinfo
        Zone of the site, by which days begin.
    """
    above: dict[tuple[str, str], list[pd.DataFrame]] = {}
    soils: list[tuple[Place, pd.DataFrame]] = []
    for place in places:
        if len(place.utc) == 0:
            continue
        if place.what == "soil temperature":
            soils.append((place, _days(place, site)))
        else:
            above.setdefault((place.plot, place.what), []).append(_days(place, site))
    flags = []
    for place, days in soils:
        names = dict.fromkeys((place.plot, wholes.get(place.plot, place.plot)))
        for what in ("canopy temperature", "air temperature"):
            beside = [one for name in names for one in above.get((name, what), [])]
            if beside:
                flags += _swapped(place, days, beside, what.partition(" ")[0], site)
                break
    return flags


def _days(place: Place, site: dt.tzinfo) -> pd.DataFrame:
    """Give swing [degC] and roughness [degC an hour] of each whole day of the site."""
    local = pd.DatetimeIndex(place.utc, tz="UTC").tz_convert(site).tz_localize(None)
    hours = pd.Series(place.values).groupby(local.floor("h")).mean()
    steps = hours.diff().abs().where(pd.Series(hours.index, hours.index).diff() == _HOUR)
    day = pd.DatetimeIndex(hours.index).normalize()
    values = pd.Series(place.values).groupby(local.normalize())
    facts = pd.DataFrame(
        {
            "swing": values.max() - values.min(),
            "rough": steps.groupby(day).mean(),
            "hours": hours.groupby(day).size(),
        }
    )
    return facts[facts["hours"] >= _WHOLE_DAY]


def _swapped(
    place: Place, days: pd.DataFrame, beside: list[pd.DataFrame], other: str, site: dt.tzinfo
) -> list[LoggerFlag]:
    """Flag the spells of days on which soil swings more, or is rougher, than what is above it."""
    most = pd.concat(beside).groupby(level=0)[["swing", "rough"]].max()
    both = days.join(most.add_suffix("_above"), how="inner")
    odd = (both["swing"] > both["swing_above"]) & (both["swing"] >= _SWING)
    odd |= (both["rough"] > both["rough_above"]) & (both["rough"] >= _ROUGH)
    rule = f"soil that swings more in a day, or changes more from hour to hour, than the {other} "
    rule += f"above it, for {_SWAP_DAYS} days in a row or more {_PRACTICE}"
    flags = []
    found = both[odd]
    spells = (pd.Series(found.index, found.index).diff() != pd.Timedelta(days=1)).cumsum()
    for _, spell in found.groupby(spells):
        if len(spell) < _SWAP_DAYS:
            continue
        swing, air = spell["swing"].median(), spell["swing_above"].median()
        told = f"{len(spell)} days in a row, with a swing of {swing:.1f} degC a day in the soil "
        told += f"and {air:.1f} degC in the {other}"
        summer = np.array([True])
        ends = (spell.index[0], spell.index[-1] + pd.Timedelta(days=1))
        first, last = (
            pd.DatetimeIndex([end]).tz_localize(site, nonexistent="shift_forward", ambiguous=summer)
            for end in ends
        )
        inside = np.searchsorted(
            place.utc,
            [one.tz_convert(None).to_numpy().astype("datetime64[us]")[0] for one in (first, last)],
        )
        flags.append(place.flag("swapped sensors", int(inside[0]), int(inside[1]) - 1, told, rule))
    return flags
