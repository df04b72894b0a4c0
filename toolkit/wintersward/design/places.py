"""Where in a plot photos are taken and turf is pulled or cored, so that neither spoils another."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, gcd

import pandas as pd

from wintersward.design.areas import Box
from wintersward.design.lengths import length
from wintersward.design.spots import SPACING_M, spread
from wintersward.errors import listed
from wintersward.trial import Definition
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import PhotoMeasure, SheetMeasure
from wintersward.units import from_si

__all__ = ["PLACE_COLUMNS", "place_concerns", "sampled", "sampling_places"]

PLACE_COLUMNS = (
    "plot",
    "kind",
    "measure",
    "date",
    "sample",
    "x_m",
    "y_m",
    "width_m",
    "length_m",
)
_MOST_NAMED = 3
Size = tuple[float, float]


@dataclass(frozen=True)
class _Photo:
    """One photo of a plot: what it shows, by its sides [m] from the corner of the plot."""

    measure: str
    sample: int
    box: Box


def sampling_places(plots: pd.DataFrame, definition: Definition) -> pd.DataFrame:
    """Say where in every plot each photo and each destructive reading is taken.

    Parameters
    ----------
    plots : DataFrame
        The plots table; plot, width_m and length_m are read.
    definition : Definition
        Photo measures with a ``quadrat`` and sheet measures that are ``destructive``; others
        have no place of their own.

    Returns
    -------
    DataFrame
        Columns `PLACE_COLUMNS`, one row a plot, measure, date and sample, in this order. kind is
        ``photo`` or ``spot``; ``x_m`` and ``y_m`` [m] are its middle from the lower left corner
        of the plot, ``width_m`` and ``length_m`` [m] what it takes up. A photo keeps its place
        on every date. Spots for which a plot has no room are not there; `place_concerns` tells
        how many fit.

    Notes
    -----
    Photos stand at the middle of the plot, several of one measure side by side. A spot is a
    circle 0.15 m across (common practice, no source) that lies inside the edge strip and touches
    no photo and no other spot of any date or measure. Spots are spread over what is left of the
    plot, those of one date apart from each other, the same in all plots of one size.
    """
    known = {size: list(_places(definition, size)) for size in _by_size(plots)}
    rows = [
        {"plot": str(plot), **place}
        for plot, width, length_m in zip(
            plots["plot"], plots["width_m"], plots["length_m"], strict=True
        )
        for place in known[float(width), float(length_m)]
    ]
    return pd.DataFrame(rows, columns=list(PLACE_COLUMNS))


def sampled(definition: Definition) -> bool:
    """Tell whether any measure has a place of its own in the plots."""
    return bool(_photo_measures(definition) or _destructive(definition))


def place_concerns(plots: pd.DataFrame, definition: Definition) -> list[str]:
    """Say which photos and destructive readings the plots have no room for.

    Parameters
    ----------
    plots : DataFrame
        The plots table.
    definition : Definition
        The trial as decided.

    Returns
    -------
    list of str
        Plain sentences, each with a number and a remedy; empty when all is well.
    """
    names = _by_size(plots)
    taken = list(_destructive(definition))
    said = []
    for name, photo in definition.measures.items():
        if taken and isinstance(photo, PhotoMeasure) and photo.quadrat is None:
            said.append(
                f"Nothing says what a photo of {name} shows, so the spots of {listed(taken)} may "
                f"lie in it; add 'quadrat: ...' to {name} with width and length."
            )
    for size, held in names.items():
        said += _photo_concerns(definition, size, held)
        said += _spot_concerns(definition, size, held)
    return said


def _by_size(plots: pd.DataFrame) -> dict[Size, list[str]]:
    """Group the plots by width and length [m]."""
    names: dict[Size, list[str]] = {}
    for plot in plots.to_dict("records"):
        size = float(plot["width_m"]), float(plot["length_m"])
        names.setdefault(size, []).append(str(plot["plot"]))
    return names


def _photo_measures(definition: Definition) -> dict[str, PhotoMeasure]:
    return {
        name: measure
        for name, measure in definition.measures.items()
        if isinstance(measure, PhotoMeasure) and measure.quadrat is not None
    }


def _destructive(definition: Definition) -> dict[str, SheetMeasure]:
    return {
        name: measure
        for name, measure in definition.measures.items()
        if isinstance(measure, SheetMeasure) and measure.destructive
    }


def _inside(definition: Definition, size: Size) -> Box:
    """Give the sides of what is sampled of a plot [m] from its lower left corner."""
    edge = definition.layout.edge_left_out
    return edge, edge, size[0] - edge, size[1] - edge


def _photos(definition: Definition, size: Size) -> list[_Photo]:
    """Place every photo of a plot around its middle."""
    found = []
    for name, measure in _photo_measures(definition).items():
        wide, long = _quadrat(measure)
        across = _across(measure, _inside(definition, size))
        rows = ceil(measure.per_plot / across)
        left, low = size[0] / 2 - across * wide / 2, size[1] / 2 - rows * long / 2
        for at in range(measure.per_plot):
            up, over = divmod(at, across)
            x, y = left + over * wide, low + up * long
            found.append(_Photo(name, at + 1, (x, y, x + wide, y + long)))
    return found


def _quadrat(measure: PhotoMeasure) -> Size:
    wide, long = measure.quadrat or (0.0, 0.0)
    return wide, long


def _across(measure: PhotoMeasure, inside: Box) -> int:
    """Choose how many photos stand side by side: so that they fill least of either direction."""
    wide, long = _quadrat(measure)
    width, height = inside[2] - inside[0], inside[3] - inside[1]

    def share(across: int) -> float:
        return max(across * wide / width, ceil(measure.per_plot / across) * long / height)

    return min(range(1, measure.per_plot + 1), key=share)


def _readings(definition: Definition) -> list[tuple[dt.date, str, int]]:
    """List every destructive reading of a plot in the order in which it is taken."""
    return sorted(
        (day, name, sample + 1)
        for name, measure in _destructive(definition).items()
        for day in dates_meant(definition.dates, measure.dates)
        for sample in range(measure.per_plot)
    )


def _spots(
    definition: Definition, size: Size
) -> dict[tuple[str, dt.date, int], tuple[float, float]]:
    """Place the destructive readings of a plot, as many as fit, the earliest first."""
    readings = _readings(definition)
    photos = [photo.box for photo in _photos(definition, size)]
    free = spread(_inside(definition, size), photos, len(readings))
    # Neighbours in the list of places are neighbours on the turf: a long stride keeps the
    # readings of one date apart.
    count = len(free)
    stride = _stride(count)
    return {
        (name, day, sample): free[at * stride % count]
        for at, (day, name, sample) in enumerate(readings[:count])
    }


def _stride(count: int) -> int:
    """Choose a step through ``count`` places that meets every one, about 0.38 of them long."""
    steps = range(max(1, round(0.382 * count)), count + 1)
    return next((step for step in steps if gcd(step, count) == 1), 1)


def _places(definition: Definition, size: Size) -> Iterator[dict[str, object]]:
    photos, spots = _photos(definition, size), _spots(definition, size)
    for name, measure in definition.measures.items():
        days = dates_meant(definition.dates, measure.dates)
        for day in days:
            for photo in photos:
                if photo.measure == name:
                    left, low, right, high = photo.box
                    middle = (left + right) / 2, (low + high) / 2
                    yield _row("photo", name, day, photo.sample, middle, (right - left, high - low))
            for sample in range(1, measure.per_plot + 1):
                if (name, day, sample) in spots:
                    spot = spots[name, day, sample]
                    yield _row("spot", name, day, sample, spot, (SPACING_M, SPACING_M))


def _row(
    kind: str, measure: str, day: dt.date, sample: int, middle: Size, size: Size
) -> dict[str, object]:
    (x, y), (wide, long) = middle, size
    return {
        "kind": kind,
        "measure": measure,
        "date": day,
        "sample": sample,
        "x_m": round(x, 3),
        "y_m": round(y, 3),
        "width_m": round(wide, 6),
        "length_m": round(long, 6),
    }


def _photo_concerns(definition: Definition, size: Size, names: list[str]) -> Iterator[str]:
    inside = _inside(definition, size)
    system = definition.units
    width, height = inside[2] - inside[0], inside[3] - inside[1]
    for name, measure in _photo_measures(definition).items():
        wide, long = _quadrat(measure)
        fit = int((width + 1e-6) / wide) * int((height + 1e-6) / long)
        across = _across(measure, inside)
        rows = ceil(measure.per_plot / across)
        if across * wide <= width + 1e-6 and rows * long <= height + 1e-6:
            continue
        shows = f"{length(wide, system)} by {length(long, system)}"
        has = f"{length(width, system)} by {length(height, system)}"
        photos = "1 photo" if measure.per_plot == 1 else f"{measure.per_plot} photos side by side"
        yield (
            f"{_where(names)}: {fit} of {photos} of {name} fit, since one shows {shows} and {has} "
            "are sampled; show less in a photo, take fewer, or make the plots larger."
        )


def _spot_concerns(definition: Definition, size: Size, names: list[str]) -> Iterator[str]:
    wanted, fit = len(_readings(definition)), len(_spots(definition, size))
    if fit < wanted:
        taken = listed(_destructive(definition))
        yield (
            f"{_where(names)}: {fit} of the {wanted} spots of {taken} fit, {_short(definition)} "
            "apart, inside the edge that is left out and clear of the photos; take fewer "
            "readings, choose fewer dates, or make the plots larger."
        )


def _short(definition: Definition) -> str:
    """Write the distance between spots in the reader's unit of short lengths."""
    if definition.units == "us":
        return f"{from_si(SPACING_M, 'in'):.0f} in"
    return f"{from_si(SPACING_M, 'cm'):.0f} cm"


def _where(names: list[str]) -> str:
    if len(names) == 1:
        return f"In plot {names[0]}"
    shown = listed(names[:_MOST_NAMED])
    more = len(names) - _MOST_NAMED
    return f"In each of the plots {shown}" + (f" and {more} more" if more > 0 else "")
