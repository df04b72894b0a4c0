"""Ways to aerate, side by side: those that the trial compares, and those that are planned."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from wintersward.analysis.arrivals import AFTER, ON_OR_BEFORE
from wintersward.analysis.decision_columns_aeration import AERATION
from wintersward.decisions.aeration import (
    SAND_DENSITY,
    aeration_area,
    hole_count,
    hole_volume,
    passes_to_reach,
    summed_area,
)
from wintersward.decisions.hole_days import (
    PUBLISHED,
    Known,
    Warmth,
    good_warmth,
    growing_warmth,
    lengthening,
    scaled,
)
from wintersward.decisions.rows import framed
from wintersward.study import Trial
from wintersward.trial.aerating import Aerating, Tine
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition, LoggerMeasure, SheetMeasure

__all__ = ["BASES", "Option", "aerating_days", "aeration_options", "options"]

# What a row of days rests on, as the table says it.
BASES = {
    "observed": "observed on this trial's plots",
    "observed, scaled": "observed on this trial's plots, scaled by diameter",
    "stated": "stated in the definition, scaled by diameter",
    "published": "published, scaled by diameter",
    "lengthened": "published, scaled by diameter, lengthened for the warmth of the soil",
    "cold": "no figure: the soil had hardly any warmth for growth",
    "solid": "no figure is known for solid tines",
}
# Grasses of warm seasons, for which the range of good growth does not hold (genera from memory).
_WARM_SEASON = (
    "axonopus", "bouteloua", "buchloe", "cenchrus", "cynodon", "eremochloa", "paspalum",
    "pennisetum", "stenotaphrum", "zoysia",
)  # fmt: skip


@dataclass(frozen=True)
class Option:
    """One way to aerate.

    Parameters
    ----------
    name, label : str
        As in the definition, and for a reader.
    tine : Tine
        Its lengths are in m.
    passes : int
        How often the machine goes over the ground.
    source : str
        ``treatment`` where the trial compares it, ``planned`` where it does not.
    """

    name: str
    label: str
    tine: Tine
    passes: int
    source: str


def options(definition: Definition) -> list[Option]:
    """List the ways to aerate: treatments with a tine first, each in the definition's order.

    Parameters
    ----------
    definition : Definition
        The trial.
    """
    found = [
        Option(name, level.label, level.tine, 1, "treatment")
        for factor in definition.treatments.values()
        for name, level in factor.levels.items()
        if level.tine is not None
    ]
    planned = _planned(definition).options.items()
    found += [Option(name, one.label, one.tine, one.passes, "planned") for name, one in planned]
    return found


def aerating_days(definition: Definition) -> tuple[dt.date | None, dt.date | None]:
    """Give the day of the aeration, and that of the first use after it.

    Parameters
    ----------
    definition : Definition
        The trial.

    Returns
    -------
    on, event : date or None
        As ``decisions.aeration`` has them; without it the day on which the treatments with a tine
        were applied, and the first event. None where there is no such day, or no event after it.
    """
    decided = definition.decisions.aeration if definition.decisions else None
    if decided is not None:
        words: tuple[Any, Any] = decided.on, decided.event
    else:
        tined = [
            factor.applied
            for factor in definition.treatments.values()
            if any(level.tine is not None for level in factor.levels.values())
        ]
        words = next((word for word in tined if word is not None), None), "first_event"
    on, event = (_day(definition, word) for word in words)
    return on, event if on and event and event > on else None


def aeration_options(trial: Trial, tables: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """Set the ways to aerate side by side: ground, soil and sand, days, and days to spare.

    Parameters
    ----------
    trial : Trial
        The study.
    tables : mapping of str to DataFrame
        Tables of the run in SI: ``degree_day_sums`` and ``closure_times``, where they are there.

    Returns
    -------
    DataFrame
        The table ``aeration_options``; empty until the primary question has its data.

    Notes
    -----
    Days are, in this order: those in which holes closed on the trial's own plots; those that the
    definition states; those of the trial's hollow tine that is nearest in diameter; or a published
    figure. All but the first are scaled by diameter. Only the published figure, which is of good
    growth, is lengthened where the trial's own soil was colder.
    """
    table = AERATION["aeration_options"]
    if not trial.ready:
        return framed(table)
    definition = trial.definition
    on, event = aerating_days(definition)
    seen = _seen(definition, tables.get("closure_times"))
    warmth = _warmth(definition, tables.get("degree_day_sums"), on, event)
    left = float((event - on).days) if on and event else math.nan
    rows = []
    for option in options(definition):
        days = _days(definition, option, seen, warmth)
        spare = {"spare_low": left - days["days_high"], "spare_high": left - days["days_low"]}
        rows.append(_ground(option, _planned(definition)) | days | spare | {"days_available": left})
    return framed(table, sorted(rows, key=lambda row: str(row["option"])))


def _planned(definition: Definition) -> Aerating:
    decided = definition.decisions.aeration if definition.decisions else None
    return decided or Aerating()


def _day(definition: Definition, word: dt.date | str | None) -> dt.date | None:
    """Resolve a day that a definition may leave out."""
    if word is None or (isinstance(word, str) and word not in definition.dates):
        return None
    meant = dates_meant(definition.dates, word)
    return meant[0] if len(meant) == 1 else None


def _ground(option: Option, planned: Aerating) -> dict[str, Any]:
    """Give what an option does to the ground, and what it takes of sand and of passes."""
    tine, passes = option.tine, option.passes
    sand = hole_volume(tine.outside, tine.spacing, tine.depth, passes)
    bored, removed, soil = tine.inside, 0.0, 0.0
    if bored is not None:
        removed = aeration_area(bored, tine.spacing, passes)
        soil = hole_volume(bored, tine.spacing, tine.depth, passes)
    target, spread, yearly = planned.area_each_year, planned.topdressing, planned.sand_each_year
    reached: Sequence[float] = (math.nan, math.nan)
    if target is not None:
        reached = passes_to_reach(target, tine.outside, tine.spacing)
    depth = math.nan if spread is None else spread
    times = math.ceil(yearly / spread - 1e-9) if yearly and spread else math.nan
    return {
        "option": option.name,
        "label": option.label,
        "source": option.source,
        "kind": tine.kind,
        "outside": tine.outside,
        "inside": math.nan if bored is None else bored,
        "spacing_x": tine.spacing[0],
        "spacing_y": tine.spacing[1],
        "depth": tine.depth,
        "passes": passes,
        "holes": hole_count(tine.spacing, passes),
        "affected": aeration_area(tine.outside, tine.spacing, passes),
        "removed": removed,
        "affected_sum": summed_area(tine.outside, tine.spacing, passes),
        "soil_removed": soil,
        "sand": sand,
        "sand_mass": sand * SAND_DENSITY,
        "topdressing": depth,
        "topdressing_mass": depth * SAND_DENSITY,
        "filled": math.nan if spread is None else min(100.0, 100 * spread / sand),
        "topdressings_to_target": times,
        "passes_to_target": reached[0],
        "passes_to_target_union": reached[1],
    }


def _days(
    definition: Definition, option: Option, seen: Mapping[str, Known], warmth: _Warm | None
) -> dict[str, Any]:
    """Tell how long the holes of an option are open, and how that is known."""
    stated, wide = _planned(definition).recovery, option.tine.outside
    if option.name in seen:
        return _told(seen[option.name], wide, "observed")
    if option.tine.kind == "solid":
        return _told(None, wide, "solid")
    if stated is not None:
        return _told(Known.stated(stated), wide, "stated")
    hollow = {o.name for o in options(definition) if o.tine.kind == "hollow"}
    own = [known for name, known in seen.items() if name in hollow]
    if own:
        nearest = min(own, key=lambda known: abs(math.log(known.diameter / wide)))
        return _told(nearest, wide, "observed, scaled")
    if warmth is None:
        return _told(PUBLISHED, wide, "published")
    basis = (
        "cold" if math.isnan(warmth.times) else "lengthened" if warmth.times > 1 else "published"
    )
    found = _told(PUBLISHED, wide, basis, warmth.times)
    return found | {
        "lengthening": warmth.times,
        "warmth": warmth.soil.a_day,
        "good_warmth": warmth.good,
        "warmth_from": pd.Timestamp(warmth.soil.first),
        "warmth_to": pd.Timestamp(warmth.soil.last),
    }


def _told(known: Known | None, wide: float, basis: str, times: float = 1.0) -> dict[str, Any]:
    low, high = (math.nan, math.nan) if known is None else scaled(known, wide)
    return {
        "known_diameter": math.nan if known is None else known.diameter,
        "known_low": math.nan if known is None else known.low,
        "known_high": math.nan if known is None else known.high,
        "warmth": math.nan,
        "good_warmth": math.nan,
        "warmth_from": pd.NaT,
        "warmth_to": pd.NaT,
        "lengthening": math.nan,
        "days_low": low * times,
        "days_high": high * times,
        "days_basis": BASES[basis],
        "days_source": "" if known is None else known.source,
    }


@dataclass(frozen=True)
class _Warm:
    """Warmth of the soil, that of good growth, and how many times longer holes are open."""

    soil: Warmth
    good: float
    times: float


def _warmth(
    definition: Definition,
    sums: pd.DataFrame | None,
    on: dt.date | None,
    event: dt.date | None,
) -> _Warm | None:
    """Take the warmth of the soil from degree days; None where they are of something else."""
    asked = definition.climate.degree_days if definition.climate else None
    if asked is None or asked.measure is None or on is None or sums is None or sums.empty:
        return None
    measure = definition.measures[asked.measure]
    if not isinstance(measure, LoggerMeasure) or measure.what != "soil temperature":
        return None
    grasses = definition.site.turf.species
    if any(one.lower().startswith(_WARM_SEASON) for one in grasses):
        return None
    found = growing_warmth(sums["date"], sums["degree_days"], on, event)
    if found is None:
        return None
    good = good_warmth(asked.base, asked.upper)
    return _Warm(found, good, lengthening(found.a_day, good))


def _seen(definition: Definition, times: pd.DataFrame | None) -> dict[str, Known]:
    """Gather in how many days the holes of each treatment closed on the trial's own plots."""
    if times is None or times.empty:
        return {}
    closures = [
        name
        for name, one in definition.measures.items()
        if isinstance(one, SheetMeasure) and one.kind == "hole_closure"
    ]
    found = {}
    for factor, held in definition.treatments.items():
        for name, level in held.levels.items():
            if level.tine is None or factor not in times:
                continue
            known = times[(times[factor].astype(str) == name) & times["days"].notna()]
            seen = [own for one in closures if len(own := known[known["measure"] == one])]
            if seen:
                found[name] = _closed(seen[0], level.tine.outside)
    return found


def _closed(own: pd.DataFrame, wide: float) -> Known:
    """Give fewest and most days of the units of one treatment; open where some were not closed."""
    told = own["censored"].fillna("").astype(str)
    still, before = int((told == AFTER).sum()), int((told == ON_OR_BEFORE).sum())
    high = math.nan if still else float(own["days"].max())
    source = f"{_count(len(own))} {'unit' if len(own) == 1 else 'units'} of this trial"
    source += f", {_count(before)} closed already when first seen" if before else ""
    source += f", {_count(still)} not closed when last seen" if still else ""
    return Known(wide, float(own["days"].min()), high, source)


def _count(n: int) -> str:
    return "one" if n == 1 else str(n)
