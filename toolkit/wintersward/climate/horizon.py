"""What stands around a plot: how high the horizon is in every direction.

Notes
-----
Directions are bearings: degrees from north clockwise. Heights count from the turf. Light that walls
and stands throw back is left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from wintersward.errors import WinterswardError, listed

__all__ = ["OPEN", "Horizon", "Obstacle", "Stand", "WithinBearings", "compass", "plot_horizons"]

Floats = NDArray[np.float64]
# Directions over which the share of open sky is averaged: a tenth of a degree each.
_DIRECTIONS = 3600
_NEEDED = ("plot", "x_m", "y_m", "width_m", "length_m")


def _odd_bearings(name: str, *bearings: float) -> list[str]:
    return [
        f"obstacle '{name}': found a bearing of {value:g}; allowed: 0 to 360 degrees"
        for value in bearings
        if not 0 <= value <= 360
    ]


@dataclass(frozen=True)
class WithinBearings:
    """Something far away, as it is seen from the middle of the trial: trees, hills, a building.

    Parameters
    ----------
    first, last : float [degrees]
        Bearings between which it stands, clockwise from the first to the last; from 350 to 10 is
        across north.
    height_angle : float [degrees]
        How high it stands above the level, 0 to 90.
    name : str
        What it is.
    """

    first: float
    last: float
    height_angle: float
    name: str = ""

    def __post_init__(self) -> None:
        wrong = _odd_bearings(self.name, self.first, self.last)
        if self.first == self.last:
            wrong.append(
                f"obstacle '{self.name}': found {self.first:g} as first and last bearing; "
                "allowed: two bearings, clockwise; all around is 0 to 360"
            )
        if not 0 <= self.height_angle <= 90:
            wrong.append(
                f"obstacle '{self.name}': found a height angle of {self.height_angle:g}; "
                "allowed: 0 to 90 degrees"
            )
        if wrong:
            raise WinterswardError(wrong)

    def seen(self, azimuth: Floats, east: float, north: float) -> Floats:
        """Give its height angle [degrees] in each direction; the same from every plot.

        Parameters
        ----------
        azimuth : (n,) float [degrees]
            Directions.
        east, north : float [m]
            Where the plot lies from the middle of the trial.
        """
        around = (azimuth - self.first) % 360
        wide = 360.0 if self.last - self.first == 360 else (self.last - self.first) % 360
        return np.where(around <= wide, self.height_angle, 0.0)


@dataclass(frozen=True)
class Stand:
    """Something near with an upper edge as long as it is level: a stand, a wall, a row of trees.

    Parameters
    ----------
    height, distance, length : float [m]
        Height of the upper edge above the turf; distance of the middle of the edge from the middle
        of the trial; length of the edge, which runs square to the line between the two, without
        end unless given.
    bearing : float [degrees]
        Direction of that middle from the middle of the trial, from north clockwise.
    name : str
        What it is.
    """

    height: float
    distance: float
    bearing: float
    length: float = np.inf
    name: str = ""

    def __post_init__(self) -> None:
        sizes = {"height": self.height, "distance": self.distance, "length": self.length}
        wrong = [
            f"obstacle '{self.name}': found a {what} of {value:g} m; allowed: more than 0 m"
            for what, value in sizes.items()
            if not value > 0
        ]
        wrong += _odd_bearings(self.name, self.bearing)
        if wrong:
            raise WinterswardError(wrong)

    def seen(self, azimuth: Floats, east: float, north: float) -> Floats:
        """Give its height angle [degrees] in each direction, 0 beside it.

        Parameters
        ----------
        azimuth : (n,) float [degrees]
            Directions.
        east, north : float [m]
            Where the plot lies from the middle of the trial.

        Notes
        -----
        Along a direction the edge stands at the distance r at which the ray meets it, and
        arctan(height / r) high.
        """
        toward, ray = np.radians(self.bearing), np.radians(azimuth)
        ahead = east * np.sin(toward) + north * np.cos(toward)
        aside = east * np.cos(toward) - north * np.sin(toward)
        facing = np.cos(ray - toward)
        level = np.abs(facing) < 1e-12
        away = (self.distance - ahead) / np.where(level, 1.0, facing)
        along = aside + away * np.sin(ray - toward)
        # A last digit must not open a slit at the ends of the edge.
        inside = np.abs(along) <= self.length * (0.5 + 1e-9)
        met = ~level & (away >= 0) & inside
        return np.where(met, np.degrees(np.arctan2(self.height, np.where(met, away, 1.0))), 0.0)


Obstacle = WithinBearings | Stand


@dataclass(frozen=True)
class Horizon:
    """The horizon of one plot.

    Parameters
    ----------
    obstacles : tuple of Obstacle
        What stands around the trial.
    east, north : float [m]
        Where the middle of the plot lies from the middle of the trial.
    """

    obstacles: tuple[Obstacle, ...] = ()
    east: float = 0.0
    north: float = 0.0

    def height(self, azimuth: ArrayLike) -> Floats:
        """Give how high the horizon is.

        Parameters
        ----------
        azimuth : (n,) float [degrees]
            Directions.

        Returns
        -------
        (n,) float [degrees]
            Of the highest obstacle in each direction; 0 where there is none.

        Examples
        --------
        >>> wall = Stand(height=20, distance=20, bearing=180, length=40)
        >>> Horizon((wall,)).height([0, 180]).round(6).tolist()
        [0.0, 45.0]
        """
        ways = np.asarray(azimuth, dtype=float)
        heights = [obstacle.seen(ways, self.east, self.north) for obstacle in self.obstacles]
        return np.max([np.zeros_like(ways), *heights], axis=0)

    @cached_property
    def sky_view(self) -> float:
        """Share of the light of an evenly bright sky that a level plot gets [1].

        Notes
        -----
        A level surface gets from a direction, between the heights h and 90 degrees, the integral
        of 2 sin x cos x, which is cos^2 h; the mean over all directions is taken in steps of a
        tenth of a degree.

        Examples
        --------
        >>> round(Horizon((WithinBearings(0, 360, 30),)).sky_view, 6)
        0.75
        """
        ways = (np.arange(_DIRECTIONS) + 0.5) * 360 / _DIRECTIONS
        return float(np.mean(np.cos(np.radians(self.height(ways))) ** 2))


OPEN = Horizon()


def compass(right: ArrayLike, up: ArrayLike, north: float) -> tuple[Floats, Floats]:
    """Turn distances on the map into distances to the east and to the north.

    Parameters
    ----------
    right, up : (n,) float [m]
        Distances on the map.
    north : float [degrees]
        Of the layout: direction of north, clockwise from up the page.

    Returns
    -------
    east, north : (n,) float [m]

    Examples
    --------
    >>> east, north = compass(10.0, 0.0, 90.0)  # north is to the right
    >>> round(float(east), 6), round(float(north), 6)
    (0.0, 10.0)
    """
    across, upward = np.asarray(right, dtype=float), np.asarray(up, dtype=float)
    turn = np.radians(north)
    east = across * np.cos(turn) - upward * np.sin(turn)
    return np.asarray(east), np.asarray(across * np.sin(turn) + upward * np.cos(turn))


def plot_horizons(
    plots: pd.DataFrame, north: float | None, obstacles: Sequence[Obstacle]
) -> dict[str, Horizon]:
    """Give the horizon of the middle of every plot.

    Parameters
    ----------
    plots : DataFrame
        The plots table of one ground: columns plot, x_m, y_m (lower left corner), width_m,
        length_m [m].
    north : float or None [degrees]
        Of the layout, clockwise from up the page; needed where a stand is named.
    obstacles : sequence of Obstacle
        What stands around. Distances of stands count from the middle of the trial, which is that
        of the rectangle around all plots.

    Returns
    -------
    dict of str to Horizon
        By plot, in the order of the table.

    Raises
    ------
    WinterswardError
        A column is missing, several grounds are given together, or a stand is named without north.
    """
    missing = [column for column in _NEEDED if column not in plots.columns]
    if missing:
        raise WinterswardError(
            f"columns {listed(missing)} are missing; there are: {listed(plots.columns)}"
        )
    if "ground" in plots.columns and plots["ground"].nunique() > 1:
        raise WinterswardError(
            f"plots of the grounds {listed(plots['ground'].unique())}; allowed: one ground at a "
            "time, since each has its own surroundings"
        )
    if north is None and any(isinstance(obstacle, Stand) for obstacle in obstacles):
        raise WinterswardError(
            "a stand at a distance needs the direction of north; write 'north: ...' under layout"
        )
    x = plots["x_m"].to_numpy(dtype=float) + plots["width_m"].to_numpy(dtype=float) / 2
    y = plots["y_m"].to_numpy(dtype=float) + plots["length_m"].to_numpy(dtype=float) / 2
    right = (plots["x_m"] + plots["width_m"]).max()
    top = (plots["y_m"] + plots["length_m"]).max()
    middle = (plots["x_m"].min() + right) / 2, (plots["y_m"].min() + top) / 2
    east, upward = compass(x - middle[0], y - middle[1], north or 0.0)
    around = tuple(obstacles)
    return {
        str(plot): Horizon(around, float(e), float(n))
        for plot, e, n in zip(plots["plot"], east, upward, strict=True)
    }
