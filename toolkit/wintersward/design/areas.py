"""Areas left out: ground on which no plot may lie, and what lies on it all the same."""

from __future__ import annotations

from wintersward.trial import Definition
from wintersward.trial.schema import AreaLeftOut

__all__ = ["TOUCH_M", "Box", "area_box", "areas_on", "lie_on_one_another"]

# Plots nearer than this to each other touch [m].
TOUCH_M = 1e-3
# Left, lower, right and upper side [m] from the corner post.
Box = tuple[float, float, float, float]


def areas_on(definition: Definition, ground: str = "") -> list[AreaLeftOut]:
    """List the areas left out of one ground.

    Parameters
    ----------
    definition : Definition
        Its layout may have ``areas_left_out``.
    ground : str
        Short name of the ground; empty where there is only one.
    """
    return [area for area in definition.layout.areas_left_out if (area.ground or "") == ground]


def area_box(area: AreaLeftOut) -> Box:
    """Give the sides of an area left out [m]."""
    (left, low), (wide, long) = area.at, area.size
    return left, low, left + wide, low + long


def lie_on_one_another(one: Box, other: Box) -> bool:
    """Tell whether two rectangles share more than a side.

    Examples
    --------
    >>> lie_on_one_another((0, 0, 2, 1), (1, 0, 3, 1))
    True
    >>> lie_on_one_another((0, 0, 2, 1), (2, 0, 3, 1))
    False
    """
    wide = min(one[2], other[2]) - max(one[0], other[0])
    tall = min(one[3], other[3]) - max(one[1], other[1])
    return wide > TOUCH_M and tall > TOUCH_M
