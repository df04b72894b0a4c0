"""Windows of green that a definition can name, each with where its limits come from."""

from __future__ import annotations

from typing import NamedTuple

from wintersward.photos.colour import GREEN, GreenWindow

__all__ = ["NAMED_WINDOWS", "RICHARDSON_2001", "NamedWindow"]


class NamedWindow(NamedTuple):
    """A window of green and its source.

    Parameters
    ----------
    window : GreenWindow
        What counts as green.
    source : str
        Where the limits come from, as a reader is told it.
    """

    window: GreenWindow
    source: str


RICHARDSON_2001 = GreenWindow(hue=(57, 107))
"""Hue 57 to 107 degrees at any saturation and brightness (from memory).

References
----------
Richardson MD, Karcher DE, Purcell LC (2001) Quantifying turfgrass cover using digital image
analysis. Crop Science 41:1884-1888. doi:10.2135/cropsci2001.1884 (from memory).
"""

NAMED_WINDOWS: dict[str, NamedWindow] = {
    "default": NamedWindow(
        GREEN,
        "set on painted turf, between its straw (hue up to 47 degrees) and its palest living "
        "leaves (from 59 degrees); no published source",
    ),
    "richardson 2001": NamedWindow(
        RICHARDSON_2001,
        "Richardson, Karcher and Purcell (2001) Crop Science 41:1884-1888, "
        "doi:10.2135/cropsci2001.1884; limits from memory, to be checked against the paper",
    ),
}
"""By the word that a definition has for them.

Only limits that are known stand here; any other published ones can be written out. Limits found
with other cameras, light and turf need not fit these: the report shows what other windows would
have given.
"""
