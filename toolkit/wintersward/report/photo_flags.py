"""What the checks of photos ask, in words with their limits."""

from __future__ import annotations

from wintersward.photos.likeness import LIKE_LIMIT
from wintersward.photos.quality import (
    BLUR_LIMIT,
    DARK_LIMIT,
    FEWEST_PIXELS,
    FLAT_LIMIT,
    OVER_LIMIT,
    SHADOW_LIMIT,
    SNOW_LIMIT,
)
from wintersward.photos.scoring import FEWEST_GREEN_PIXELS
from wintersward.photos.visit import EXPOSURE_LIMIT

__all__ = ["PHOTO_CHECKS", "flag_kinds"]

PHOTO_CHECKS = {
    "small": f"the picture has fewer than {FEWEST_PIXELS} pixels",
    "flat": (
        f"more than {FLAT_LIMIT:g} % of its rows or columns are one plain colour, as where a file "
        "is damaged or the photo is framed"
    ),
    "blurred": f"its fine detail has less than {BLUR_LIMIT:g} of the strength of the coarser",
    "overexposed": f"more than {OVER_LIMIT:g} % of its pixels are at full brightness",
    "underexposed": f"more than {DARK_LIMIT:g} % of its pixels are nearly black",
    "shadow": (
        f"the green in one part of it is more than {SHADOW_LIMIT:g} times as bright as in the other"
    ),
    "snow": f"more than {SNOW_LIMIT:g} % of it is white, as under snow, frost or paint",
    "colour not given": (
        f"it has fewer than {FEWEST_GREEN_PIXELS} green pixels, too few to give their colour"
    ),
    "colour profile": "its file names other colours than sRGB; it is scored as stored",
    "same picture": "its file is the same, byte for byte, as another",
    "like picture": (
        f"its outline differs from another photo's in {100 * LIKE_LIMIT:g} % of the comparisons at "
        "most"
    ),
    "day": "the camera's clock named another day than the visit's",
    "camera": "it was taken with another camera than most photos of the visit",
    "exposure": (
        f"its exposure lies more than {EXPOSURE_LIMIT:g} EV (steps of twice the light) from the "
        "median of the visit"
    ),
    "white balance": (
        "the camera chose the white balance anew for each photo of the visit; told once a visit, "
        "at its first photo"
    ),
}
"""From the kind of a flag to where it asks for a look: "where ..."."""


def flag_kinds(flags: str) -> list[str]:
    """Name the kinds of the flags of a photo, in their order.

    Parameters
    ----------
    flags : str
        As the table ``photo_scores`` holds them: texts joined by "; ".

    Returns
    -------
    list of str
        Keys of `PHOTO_CHECKS`; a flag of another kind gives its words up to the colon.

    Examples
    --------
    >>> flag_kinds("blurred: 0.10, limit 0.15; flat: 3 % of the rows; is the file damaged?")
    ['blurred', 'flat']
    >>> flag_kinds("same picture as photos/2026-03-24/102_1.jpg")
    ['same picture']
    """
    kinds: list[str] = []
    for part in flags.split("; "):
        starts = {name: (f"{name}:", f"{name} as ") for name in PHOTO_CHECKS}
        kind = next((name for name, begins in starts.items() if part.startswith(begins)), "")
        # A flag may hold such a joint itself, before its question.
        if not kind and (not part or part.endswith("?") or part.startswith("fix it")):
            continue
        kind = kind or part.partition(":")[0]
        if kind not in kinds:
            kinds.append(kind)
    return kinds
