"""Units of the tables of results as codes of the Unified Code for Units of Measure (UCUM)."""

from __future__ import annotations

from wintersward.units import UNITS

__all__ = ["ucum"]

# Units that stand in tables of results alone. Words in braces are UCUM's annotations: they say
# what is counted and have no dimension (from memory; all other codes are checked by the tests).
_OF_TABLES = {
    "1": "1",
    "day": "d",
    # A difference in degC is one in kelvin; degC itself has a zero of its own and no product.
    "degC d": "K.d",
    "degree": "deg",
    "h": "h",
    "h d-1": "h/d",
    "index": "{index}",
    "m-2": "/m2",
    "m3 m-2": "m3/m2",
    "log odds ratio": "{log_odds_ratio}",
    "mol m-2 d-1": "mol/m2/d",
    "radian": "rad",
}
_RATING = "rating "


def ucum(unit: str) -> str:
    """Give the UCUM code of a unit as the tables write it.

    Parameters
    ----------
    unit : str
        A unit of `wintersward.units.UNITS`, of a column of results, or of a rating.

    Returns
    -------
    str
        Empty where it has no code of its own: ``measure`` and ``scale`` stand for the unit of
        what the row is about.

    References
    ----------
    Schadow G., McDonald C. J., The Unified Code for Units of Measure, version 2.2.

    Examples
    --------
    >>> ucum("degC"), ucum("day"), ucum("rating 1-9"), ucum("measure")
    ('Cel', 'd', '{rating}', '')
    """
    if unit in UNITS:
        return UNITS[unit].ucum
    return "{rating}" if unit.startswith(_RATING) else _OF_TABLES.get(unit, "")
