"""How much sun each plot gets by the shade that a definition declares: known before any treatment.

Notes
-----
Nothing is observed for it: hours follow from where the site lies, what stands around and where the
plots lie, so that no treatment can change them. They may form blocks, and serve as covariate.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from wintersward.climate.horizon import Horizon, Obstacle, Stand, WithinBearings, plot_horizons
from wintersward.climate.light import plot_light
from wintersward.trial.plot_lists import ALL_PLOTS
from wintersward.trial.schema import Definition
from wintersward.trial.shade import Shade, sun_span

__all__ = ["FROM_SHADE", "SUN_HOURS", "horizons_of", "obstacle_of", "sun_values", "sun_words"]

SUN_HOURS = "sun_hours"
# What the hours are called beside values that a person wrote.
FROM_SHADE = f"{SUN_HOURS} (worked out from the declared shade)"
# Days that are looked at, at most: the sun moves so little from day to day that every second or
# third of a longer time has the same mean within a few minutes.
_MOST_DAYS = 31


def horizons_of(definition: Definition, plots: pd.DataFrame) -> dict[str, Horizon]:
    """Give the horizon of every plot, as a definition tells of shade.

    Parameters
    ----------
    definition : Definition
        The trial.
    plots : DataFrame
        ``plan/plots.csv``.

    Returns
    -------
    dict of str to Horizon
        By plot; distances count from the middle of the trial, or of the plot's ground.
    """
    shade, layout = definition.site.shade, definition.layout
    grounds = plots.groupby("ground", sort=False) if layout.grounds else [("", plots)]
    wholes = dict(zip(plots["plot"], plots["whole_plot"], strict=True))
    found = {}
    for _, own in grounds:
        everywhere = [obstacle_of(one) for one in shade]
        for plot, horizon in plot_horizons(own, layout.north, everywhere).items():
            names = {plot, str(wholes[plot])}
            found[plot] = replace(horizon, obstacles=_seen_from(shade, names))
    return found


def _seen_from(shade: Sequence[Shade], names: set[str]) -> tuple[Obstacle, ...]:
    return tuple(
        obstacle_of(one)
        for one in shade
        if one.plots == ALL_PLOTS or not names.isdisjoint(one.plots)
    )


def obstacle_of(one: Shade) -> Obstacle:
    """Make an obstacle of what a definition tells of shade.

    Examples
    --------
    >>> told = {"name": "oaks", "azimuth": [90, 130], "height_angle": 18}
    >>> obstacle_of(Shade.model_validate(told))
    WithinBearings(first=90.0, last=130.0, height_angle=18.0, name='oaks')
    """
    if one.azimuth is not None and one.height_angle is not None:
        first, last = one.azimuth
        return WithinBearings(first, last, one.height_angle, one.name)
    sizes = (one.height or 0.0, one.distance or 0.0, one.bearing or 0.0)
    return Stand(*sizes, np.inf if one.length is None else one.length, one.name)


def sun_values(definition: Definition, plots: pd.DataFrame) -> pd.DataFrame | None:
    """Work out the hours of direct sun of every plot until the primary question is asked.

    Parameters
    ----------
    definition : Definition
        The trial.
    plots : DataFrame
        ``plan/plots.csv``, drawn or about to be written.

    Returns
    -------
    DataFrame or None
        Columns plot, sun_hours [h d-1] (mean hours a day for which the sun's centre stands above
        the horizon of the middle of the plot), in the order of `plots`. None where the definition
        declares no shade, or not where the site lies and by which clock.

    Notes
    -----
    Days are those of `wintersward.trial.shade.sun_span`, both ends among them; of more than 31
    every second, third, ... from the first on. The sky is clear on all of them: what the place
    gives, and no measurement of a season. Hours are those of `wintersward.climate.plot_light`, in
    steps of 5 minutes, with the sun's place by Reda and Andreas (2004; see
    `wintersward.climate.sun`).
    """
    site = definition.site
    if not site.shade or site.latitude is None or site.longitude is None or site.time_zone is None:
        return None
    light = plot_light(
        _days(definition),
        horizons_of(definition, plots),
        site.latitude,
        site.longitude,
        site.time_zone,
        site.elevation or 0.0,
    )
    hours = light.groupby("plot", sort=False)[SUN_HOURS].mean()
    return hours.reindex(plots["plot"].astype(str)).rename_axis("plot").reset_index()


def _days(definition: Definition) -> list[dt.date]:
    first, last = sun_span(definition.dates, definition.analysis.primary.on)
    count = (last - first).days + 1
    step = -(-count // _MOST_DAYS)
    return [first + dt.timedelta(days=at) for at in range(0, count, step)]


def sun_words(definition: Definition) -> str:
    """Say what the hours of `sun_values` are, in one sentence."""
    first, last = sun_span(definition.dates, definition.analysis.primary.on)
    when = f"on {first}" if first == last else f"on average from {first} to {last}"
    return (
        "Hours of sun are worked out from the shade that trial.yaml declares: direct sun a day "
        f"under a clear sky at the middle of each plot, {when}. Clouds, and what shades and is "
        "not declared, are not in them."
    )
