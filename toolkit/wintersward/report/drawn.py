"""Figures as SVG: the same bytes for the same figure, drawn once."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any
from weakref import WeakKeyDictionary

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["svg"]

_DRAWN: WeakKeyDictionary[Figure, bytes] = WeakKeyDictionary()


def svg(figure: Figure) -> bytes:
    """Draw a figure as SVG, cut to what is drawn.

    Parameters
    ----------
    figure : matplotlib Figure
        One that is not changed after it was drawn is not drawn a second time: a notebook saves
        its figures and shows them.

    Returns
    -------
    bytes
        Without a clock reading.
    """
    from matplotlib import rc_context

    from wintersward.design.lettering import without_font_warnings
    from wintersward.report.lean_svg import lean

    kept = _DRAWN.get(figure)
    if kept is not None and not figure.stale:
        return kept
    stream = io.BytesIO()
    # Without the salt, the ids inside are random; date and version would change by themselves.
    settings: dict[Any, Any] = {"svg.hashsalt": "wintersward", "svg.fonttype": "path"}
    with rc_context(settings), without_font_warnings():
        figure.savefig(
            stream, format="svg", bbox_inches="tight", metadata={"Date": None, "Creator": None}
        )
    # From here on whatever changes the figure, or a part of it, makes it stale.
    figure.stale = False
    _DRAWN[figure] = lean(stream.getvalue().decode("utf-8")).encode("utf-8")
    return _DRAWN[figure]
