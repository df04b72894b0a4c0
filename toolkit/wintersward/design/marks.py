"""Marks: the one colour, marker and hatch that a treatment keeps in every picture."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from wintersward.errors import WinterswardError, closest, listed

__all__ = ["CONTROL_COLOUR", "Mark", "treatment_marks"]

CONTROL_COLOUR = "#8C8C8C"
# Blue and orange come first: with the control's grey they differ most in a grey print. Yellow
# comes last: it is the faintest on white paper.
_COLOURS = (
    "#0072B2",  # blue
    "#E69F00",  # orange
    "#009E73",  # bluish green
    "#D55E00",  # vermillion
    "#CC79A7",  # reddish purple
    "#56B4E9",  # sky blue
    "#F0E442",  # yellow
)
# Eight against seven colours: no pair of colour and marker comes twice before 56 treatments.
_MARKERS = ("s", "^", "D", "v", "P", "X", "<", ">")
# Controls are grey and round; a second factor's control takes the next of each.
_CONTROLS = ((CONTROL_COLOUR, "o"), ("#4D4D4D", "p"), ("#B3B3B3", "h"))
_HATCHES = ("///", "...", "\\\\\\", "xxx", "---", "+++", "|||", "ooo")


@dataclass(frozen=True)
class Mark:
    """How a treatment looks.

    Parameters
    ----------
    colour : str
        ``#RRGGBB``, for lines and markers.
    marker : str
        A matplotlib marker.
    hatch : str
        A matplotlib hatch, empty for the control.
    """

    colour: str
    marker: str
    hatch: str

    @property
    def tint(self) -> str:
        """A pale form of the colour, for areas with black words on them."""
        return "#" + "".join(
            f"{round(255 - 0.45 * (255 - int(self.colour[at : at + 2], 16))):02X}"
            for at in (1, 3, 5)
        )


def treatment_marks(
    levels: Sequence[str], control: str, used: Collection[Mark] = ()
) -> dict[str, Mark]:
    """Give each level of a factor its mark.

    Parameters
    ----------
    levels : sequence of str
        In the definition's order.
    control : str
        The level that is drawn in grey.
    used : collection of Mark
        Marks of the factors before this one: the levels go on where these end, so that a colour
        with its marker means one treatment in a whole report.

    Returns
    -------
    dict of str to Mark
        In the order of the levels.

    Raises
    ------
    WinterswardError
        When the control is not one of the levels.

    References
    ----------
    Okabe M., Ito K. (2008) Color Universal Design: how to make figures and presentations that
    are friendly to colorblind people.

    Examples
    --------
    >>> marks = treatment_marks(["open", "fleece", "woven"], "open")
    >>> [mark.colour for mark in marks.values()]
    ['#8C8C8C', '#0072B2', '#E69F00']
    >>> marks["fleece"].marker
    's'
    >>> treatment_marks(["solid", "hollow"], "solid", used=marks.values())["hollow"].colour
    '#009E73'
    """
    if control not in levels:
        near = closest(control, levels)
        said = f"the control '{control}' is not a level; allowed: {listed(levels)}"
        raise WinterswardError(f"{said}; {near}" if near else said)
    greys = {colour for colour, _ in _CONTROLS}
    controls = sum(mark.colour in greys for mark in used)
    others = len(used) - controls
    marks = {}
    for level in levels:
        if level == control:
            marks[level] = Mark(*_CONTROLS[controls % len(_CONTROLS)], "")
            continue
        colour = _COLOURS[others % len(_COLOURS)]
        turn = others % len(_MARKERS)
        marks[level] = Mark(colour, _MARKERS[turn], _HATCHES[turn])
        others += 1
    return marks
