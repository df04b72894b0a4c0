"""Where the sun stands, and whether something stands before it.

References
----------
Reda I, Andreas A (2004) Solar position algorithm for solar radiation applications. Solar Energy
76:577-589. doi:10.1016/j.solener.2003.12.003. Corrigendum (2007) Solar Energy 81:838.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from wintersward.climate.local_days import local_times
from wintersward.errors import WinterswardError

if TYPE_CHECKING:
    from wintersward.climate.horizon import Horizon

__all__ = ["check_place", "obstructed", "sun_position"]

# Yearly mean temperature of the air [degC] and terrestrial less universal time [s], as pvlib takes
# them unless told otherwise; a difference of some units moves the sun by less than its own disc.
_AIR = 12.0
_DELTA_T = 67.0


def sun_position(
    times: Any,
    latitude: float,
    longitude: float,
    elevation: float = 0.0,
    pressure: float | None = None,
    temperature: float = _AIR,
    delta_t: float = _DELTA_T,
) -> pd.DataFrame:
    """Compute where the sun stands.

    Parameters
    ----------
    times : (n,) of times with a zone
        Instants.
    latitude, longitude : float [degrees]
        Of the site; north and east are positive.
    elevation : float [m]
        Of the site above sea level.
    pressure : float, optional [hPa]
        Yearly mean of the air pressure; that of the elevation unless given.
    temperature : float [degC]
        Yearly mean of the air temperature.
    delta_t : float [s]
        Terrestrial less universal time.

    Returns
    -------
    DataFrame
        Columns azimuth [degrees] (from north clockwise: east 90, south 180, in both hemispheres)
        and elevation [degrees] (above a level horizon, with refraction); indexed by time.

    Raises
    ------
    WinterswardError
        Times have no zone, or the place is not on the earth.

    Notes
    -----
    Of the sun's centre, by the algorithm of Reda and Andreas (2004) as pvlib has it.
    """
    from pvlib.atmosphere import alt2pres
    from pvlib.solarposition import spa_python

    check_place(latitude, longitude)
    index = local_times(times)
    pascal = alt2pres(elevation) if pressure is None else pressure * 100.0
    found = spa_python(
        index,
        latitude,
        longitude,
        altitude=elevation,
        pressure=pascal,
        temperature=temperature,
        delta_t=delta_t,
    )
    angles = {"azimuth": found["azimuth"], "elevation": found["apparent_elevation"]}
    return pd.DataFrame(angles, index=index)


def obstructed(azimuth: ArrayLike, elevation: ArrayLike, horizon: Horizon) -> NDArray[np.bool_]:
    """Tell whether the sun is hidden, by an obstacle or by the earth.

    Parameters
    ----------
    azimuth, elevation : (n,) float [degrees]
        Of the sun, as `sun_position` gives them.
    horizon : Horizon
        Of the plot.

    Returns
    -------
    (n,) bool
        True where the sun's centre stands at the horizon or below it.
    """
    return np.asarray(np.asarray(elevation, dtype=float) <= horizon.height(azimuth))


def check_place(latitude: float, longitude: float) -> None:
    """Refuse a place that is not on the earth.

    Raises
    ------
    WinterswardError
        Latitude beyond 90 degrees or longitude beyond 180.
    """
    wrong: list[str] = []
    for name, value, most in (("latitude", latitude, 90), ("longitude", longitude, 180)):
        if not abs(value) <= most:
            wrong.append(f"{name}: found {value:g}; allowed: -{most} to {most} degrees")
    if wrong:
        raise WinterswardError(wrong)
