"""Hours in which a temperature lay where harm is known to come from: counted, never judged.

Notes
-----
A count says how long something was so. Whether the turf was harmed is seen on the turf. Each limit
has its source beside it, or says that it has none, and may be replaced by another one.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from string import Formatter
from typing import Any, Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.climate.covers import Span, came_off_within, lay
from wintersward.climate.daily import band_hours, in_band, means
from wintersward.climate.held import ENOUGH, SERIES, held
from wintersward.climate.local_days import local_times
from wintersward.errors import WinterswardError, listed
from wintersward.units import from_si

__all__ = [
    "NO_SOURCE",
    "RISKS",
    "RISK_COLUMNS",
    "Risk",
    "hours_at_risk",
    "uncounted",
]

NO_SOURCE = "common practice, no source"
RISK_COLUMNS = [
    "date",
    *SERIES,
    "risk",
    "covered",
    "counted",
    "unit",
    "marked",
    "hours_seen",
    "day_hours",
]
_ROUNDING = 1e-6
_CANOPY = ("canopy_temperature",)
_PLACES = ("above", "below", "days", "within")
_NO_DIAGNOSIS = "a count is not a diagnosis"
# A number, or some, in one unit of temperature and the same in the other one behind it.
_SOME = r"\d[\d.]*(?:(?:, | and | to )\d[\d.]*)*"
_BOTH_UNITS = re.compile(rf"({_SOME}) °C \(({_SOME}) °F\)")


@dataclass(frozen=True)
class Risk:
    """Something to count in the readings of loggers.

    Parameters
    ----------
    name : str
        By what a definition names it.
    label : str
        What it is called.
    counted : str
        What is counted, in words that follow "Counted:"; ``{above}``, ``{below}``,
        ``{days}`` and ``{within}`` stand for the limits.
    source : str
        Where the limits come from; `NO_SOURCE` where nobody can be named.
    above, below : float, optional [degC]
        Limits of the band, both within it; None where it has no end on that side.
    unit : str
        Unit of the limits.
    counts : {'hours', 'days'}
        Hours for which a reading in the band held, or days whose mean lay in it.
    reason : str
        What holds of these very limits, in words that follow those; dropped with the limits.
    when : {'always', 'covered', 'uncovered'}
        Days that count: all; those on which a cover lay; those soon after one came off for the
        last time, on plots that were open all along as well.
    measures : tuple of str
        Measures whose readings are counted.
    hours : float [h]
        Days with so many hours or more are marked; with any at all where it is 0.
    days_in_a_row : int [d]
        Of days: only spells of so many or more count.
    within : int [d]
        How many days after a cover came off count as soon.
    printed : tuple of (float, float) [degC, degF]
        Limits that the source prints in both units, where rounding would give another number.
    """

    name: str
    label: str
    counted: str
    source: str
    above: float | None = None
    below: float | None = None
    unit: str = "degC"
    reason: str = ""
    counts: Literal["hours", "days"] = "hours"
    when: Literal["always", "covered", "uncovered"] = "always"
    measures: tuple[str, ...] = _CANOPY
    hours: float = 0.0
    days_in_a_row: int = 1
    within: int = 0
    printed: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        wrong = []
        if self.above is None and self.below is None:
            wrong.append(f"{self.name}: found no limit; allowed: a low one, a high one, or both")
        elif self.above is not None and self.below is not None and self.above > self.below:
            wrong.append(
                f"{self.name}: found {self.above:g} to {self.below:g}; the lower one first"
            )
        if not self.source.strip():
            wrong.append(f"{self.name}: found no source; write where it is from, or '{NO_SOURCE}'")
        unknown = {part for _, part, _, _ in Formatter().parse(self.counted) if part is not None}
        if unknown - set(_PLACES):
            odd = listed(sorted(unknown - set(_PLACES)))
            wrong.append(f"{self.name}: found {{{odd}}} in its words; allowed: {listed(_PLACES)}")
        if wrong:
            raise WinterswardError(wrong)

    @property
    def limits(self) -> tuple[str, ...]:
        """Names of the limits that it rests on."""
        held = [name for name in ("above", "below") if getattr(self, name) is not None]
        held.append("hours" if self.counts == "hours" else "days_in_a_row")
        return (*held, "within") if self.when == "uncovered" else tuple(held)

    def replaced(self, source: str, **limits: Any) -> Risk:
        """Give the same risk with other limits.

        Parameters
        ----------
        source : str
            Where the new limits come from: that of the old ones no longer holds.
        **limits
            Fields and their new values.

        Raises
        ------
        WinterswardError
            No source, no limit, or limits the wrong way round.
        """
        same = all(getattr(self, n) == limits[n] for n in limits)
        reason, printed = (self.reason, self.printed) if same else ("", ())
        return dataclasses.replace(self, source=source, reason=reason, printed=printed, **limits)

    def source_for(self, units: str = "metric") -> str:
        """Give the source, with the reader's unit of temperature first where it names both.

        Examples
        --------
        >>> RISKS["dehardening"].source_for("us").partition(": ")[2][:47]
        '39, 46 and 54 °F (4, 8 and 12 °C) for 1 and 5 d'
        """
        return _BOTH_UNITS.sub(r"\2 °F (\1 °C)", self.source) if units == "us" else self.source

    def sentence(self, units: str = "metric", every: str = "") -> str:
        """Say in one sentence what is counted.

        Parameters
        ----------
        units : {'us', 'metric'}
            Of the reader.
        every : str
            How often a logger is read, such as ``each hour``, for peaks that are counted.

        Examples
        --------
        >>> RISKS["frost_after_uncovering"].sentence("us")[:63]
        'Counted: hours with the canopy at 32 °F or below in the 14 days'
        """
        filled = self.counted.format(
            above=_shown(self.above, units, dict(self.printed)),
            below=_shown(self.below, units, dict(self.printed)),
            days=self.days_in_a_row,
            within=self.within,
        )
        filled += self.reason
        if self.hours:
            filled += f", days with {self.hours:g} such hours or more being marked"
        if every and self.when == "covered":
            filled += f"; read {every}, so that a shorter peak is missed"
        return f"Counted: {filled}; {_NO_DIAGNOSIS}."


RISKS: dict[str, Risk] = {
    risk.name: risk
    for risk in (
        Risk(
            "canopy_heat",
            "heat under cover",
            "hours with the canopy at {above} or above while a cover lay",
            f"{NO_SOURCE}: 24 °C (75 °F) lies just above 15.6 to 23.9 °C (60 to 75 °F), in which "
            "shoots of cool-season grasses grow best (North Carolina State University 2005, quoted "
            "by Kent County extension 2007)",
            above=24.0,
            when="covered",
            hours=4.0,
        ),
        Risk(
            "pink_snow_mould",
            "pink snow mould band",
            "hours with the canopy from {above} to {below}, where pink snow mould (Microdochium) "
            "can grow if it is wet, with snow or without, dry hours being counted too",
            "Rutgers Plant & Pest Advisory 2013; colder hours: a note on turf of 2011",
            above=2.0,
            below=13.0,
            reason="; colder hours just above freezing, which another note counts as well, are "
            "left out",
            printed=((2.0, 35.0), (13.0, 55.0)),
        ),
        Risk(
            "grey_snow_mould",
            "grey snow mould band",
            "hours with the canopy from {above} to {below}, where grey snow mould (Typhula) can "
            "grow under snow, hours without snow being counted too; it needs long snow cover, at "
            "least 60 days by NC State Extension; others name fewer",
            "Rutgers Plant & Pest Advisory 2013; Kansas State University 2011; length of snow "
            "cover: NC State Extension",
            above=0.0,
            below=7.0,
        ),
        Risk(
            "frost_after_uncovering",
            "frost after uncovering",
            "hours with the canopy at {below} or below in the {within} days after covers came off "
            "for the last time, and with no cover on the same days; turf that comes from under a "
            "cover is taken to bear frost less well",
            NO_SOURCE,
            below=0.0,
            when="uncovered",
            within=14,
        ),
        Risk(
            "dehardening",
            "dehardening spell",
            "days in spells of {days} or more with a mean of {above} or above in the canopy",
            "Hoffman et al. 2014 (Crop Science), as told in Golf Course Management, May 2014: 4, "
            "8 and 12 °C (39, 46 and 54 °F) for 1 and 5 days were tested; a design of tests, not a "
            "limit that was found",
            above=8.0,
            reason=", as long and as warm as one of the spells with which a loss of winter "
            "hardiness was tested",
            counts="days",
            days_in_a_row=5,
        ),
    )
}


def hours_at_risk(
    readings: pd.DataFrame,
    covered: Mapping[str, Sequence[Span]],
    risks: Mapping[str, Risk] = RISKS,
) -> pd.DataFrame:
    """Count the hours or days of each risk.

    Parameters
    ----------
    readings : DataFrame
        Columns plot, measure, position, time (local, with the zone of the site), value [degC].
    covered : mapping of str to sequence of (date, date)
        By plot, the first day under cover and the day on which it came off, as
        `wintersward.trial.covering.covered_spans` gives them. A plot that is not in it was open.
    risks : mapping of str to Risk
        `RISKS` unless given.

    Returns
    -------
    DataFrame
        Columns `RISK_COLUMNS`: date, plot, measure, position, risk, covered (whether a cover lay),
        counted [h or d] (not a number on a day of which too little is known), unit, marked (whether
        the day has what the risk calls for), hours_seen, day_hours [h]. One row for each day that
        counts for the risk; sorted by date, plot, measure, position and the order of the risks.

    Raises
    ------
    WinterswardError
        A column is missing, times have no zone, or two readings of one series have one time.

    Notes
    -----
    Hours are those for which a reading held (:mod:`wintersward.climate.held`); what was not seen is
    not counted, and hours_seen tells how much was. A day's mean counts when at least 90 % of the
    day was seen (common practice, no source); a day without one ends a spell. Every warm spring
    has spells: give the readings of the time that is meant. The day on which a cover was laid
    counts as covered, the day on which it came off as open. Of days soon after a cover came off, a
    plot that was open all along counts those on which any other one does.
    """
    pieces, zone = held(readings), local_times(readings["time"]).tz
    parts = []
    for order, (name, risk) in enumerate(risks.items()):
        own = pieces[pieces["measure"].isin(risk.measures)]
        if own.empty:
            continue
        days = _days_counted(own, zone, risk) if risk.counts == "days" else _hours(own, zone, risk)
        days = _that_count(days, covered, risk)
        parts.append(days.assign(risk=name, unit=risk.counts[0], order=order))
    if not parts:
        return pd.DataFrame(columns=RISK_COLUMNS)
    found = pd.concat(parts, ignore_index=True)
    found = found.sort_values(["date", *SERIES, "order"], ignore_index=True)
    return found[RISK_COLUMNS]


def uncounted(readings: pd.DataFrame, risks: Mapping[str, Risk] = RISKS) -> list[str]:
    """Say which risks could not be counted, since nothing measured what they rest on.

    Parameters
    ----------
    readings : DataFrame
        Column measure.
    risks : mapping of str to Risk
        `RISKS` unless given.

    Returns
    -------
    list of str
        A sentence for each.
    """
    measured = set(readings["measure"])
    return [
        f"Not counted: {risk.label}, since no logger measured {listed(risk.measures)}."
        for risk in risks.values()
        if measured.isdisjoint(risk.measures)
    ]


def _shown(limit: float | None, units: str, printed: Mapping[float, float]) -> str:
    """Write a temperature in the reader's unit; one that was set in the other, rounded, with it."""
    if limit is None:
        return ""
    if units != "us":
        return f"{limit:.4g} °C"
    exact = from_si(limit, "degF")
    shown = printed.get(limit, exact)
    whole = abs(limit - round(limit)) < _ROUNDING < abs(exact - round(exact))
    return f"{shown:.0f} °F ({limit:g} °C)" if whole else f"{shown:.4g} °F"


def _hours(pieces: pd.DataFrame, zone: object, risk: Risk) -> pd.DataFrame:
    """Count the hours in the band, day by day."""
    days = band_hours(pieces, zone, risk.above, risk.below).rename(columns={"hours": "counted"})
    enough = days["counted"] >= risk.hours if risk.hours else days["counted"] > 0
    return days.assign(marked=enough)


def _days_counted(pieces: pd.DataFrame, zone: object, risk: Risk) -> pd.DataFrame:
    """Count the days in spells of days whose mean lies in the band."""
    days = band_hours(pieces, zone, risk.above, risk.below)
    facts = means(pieces, zone)
    known = facts["completeness"] >= ENOUGH
    inside = in_band(facts["mean"], risk.above, risk.below) & known
    long = np.zeros(len(facts), dtype=bool)
    for rows in facts.groupby(SERIES, sort=False).indices.values():
        long[rows] = _in_spells(inside.to_numpy()[rows], risk.days_in_a_row)
    counted = pd.Series(long.astype(float), index=facts.index).where(known)
    return days.assign(counted=counted, marked=long)


def _in_spells(inside: NDArray[np.bool_], least: int) -> NDArray[np.bool_]:
    """Tell which days lie in an unbroken row of at least so many."""
    ends = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(int), [0]])))
    found = np.zeros(len(inside), dtype=bool)
    for first, after in zip(ends[::2], ends[1::2], strict=True):
        found[first:after] = after - first >= least
    return found


def _that_count(
    days: pd.DataFrame, covered: Mapping[str, Sequence[Span]], risk: Risk
) -> pd.DataFrame:
    """Keep the days that count for a risk, and tell whether a cover lay."""
    parts, everywhere = [], list(covered.values())
    for plot, own in days.groupby("plot", sort=False):
        spans = covered.get(str(plot), ())
        under = lay(own["date"], spans)
        counts = np.ones(len(own), dtype=bool)
        if risk.when == "covered":
            counts = under
        elif risk.when == "uncovered":
            soon = [came_off_within(own["date"], s, risk.within) for s in everywhere if s]
            own_soon = came_off_within(own["date"], spans, risk.within)
            counts = own_soon if spans or not soon else np.logical_or.reduce(soon)
        parts.append(own.assign(covered=under)[counts])
    return pd.concat(parts, ignore_index=True)
