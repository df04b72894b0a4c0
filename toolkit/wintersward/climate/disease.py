"""Probability of a disease from the air, by coefficients that somebody vouches for."""

from __future__ import annotations

import math

from wintersward.errors import WinterswardError

__all__ = ["dollar_spot"]

# Range of five-day mean temperatures [degC] for which the equation was made: Smith et al. 2018,
# PLOS ONE 13:e0194216, from memory.
_DOLLAR_SPOT_RANGE = (10.0, 35.0)


def dollar_spot(
    humidity: float, temperature: float, intercept: float, per_humidity: float, per_degree: float
) -> float | None:
    """Compute the probability of dollar spot from coefficients that the caller vouches for.

    Parameters
    ----------
    humidity : float [%]
        Mean relative humidity of five days.
    temperature : float [degC]
        Mean air temperature of the same days.
    intercept, per_humidity, per_degree : float
        Coefficients of the logit; none is built in.

    Returns
    -------
    float [%] or None
        None outside 10 to 35 degC, for which the equation was not made, and where a mean is not
        known.

    Raises
    ------
    WinterswardError
        A humidity outside 0 to 100 %.

    References
    ----------
    Smith et al. (2018) PLOS ONE 13:e0194216; form and range from memory.
    """
    if math.isnan(humidity) or math.isnan(temperature):
        return None
    if not 0 <= humidity <= 100:
        raise WinterswardError(f"humidity: found {humidity:g}; allowed: 0 to 100 %")
    low, high = _DOLLAR_SPOT_RANGE
    if not low <= temperature <= high:
        return None
    logit = intercept + per_humidity * humidity + per_degree * temperature
    return 100 / (1 + math.exp(-logit))
