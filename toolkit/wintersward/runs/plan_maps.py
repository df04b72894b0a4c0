"""The maps of a plan as files: for the people on the field and for raters, as SVG and PNG."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from wintersward.errors import listed
from wintersward.runs.pictures import svg
from wintersward.trial import Definition

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

__all__ = ["map_concerns", "plan_maps"]

# Fine enough for print: a page of 7 inches becomes 1400 pixels wide.
_DPI = 200


def plan_maps(plots: pd.DataFrame, definition: Definition) -> dict[str, tuple[bytes, str]]:
    """Draw every map of a plan.

    Parameters
    ----------
    plots : DataFrame
        The plots table.
    definition : Definition
        The trial as decided.

    Returns
    -------
    dict of str to (bytes, str)
        From file name to content and what it is. Each map is there as SVG and as PNG, with its
        words for those who cannot see it inside; each of several grounds has maps of its own,
        ``plot_map_upper.svg``. The same plan gives the same bytes.
    """
    from wintersward import design

    made = {}
    for ground in definition.layout.ground_names:
        label = (definition.layout.grounds or {}).get(ground, "")
        for treatments in (True, False):
            figure = design.plot_map(plots, definition, treatments, ground)
            alt = design.map_alt(plots, definition, treatments, ground)
            where = f" of {label}" if label else ""
            what = "with the treatments" if treatments else "without the treatments, for raters"
            title = f"{definition.site.name}{f', {label}' if label else ''}: map {what}"
            stem = "plot_map" + ("" if treatments else "_rater") + (f"_{ground}" if ground else "")
            said = f"map{where} {what}" if where else what
            made[f"{stem}.svg"] = (_told(svg(figure), title, alt), said)
            made[f"{stem}.png"] = (_png(figure, title, alt), f"{said}, as a picture")
    return made


def map_concerns(plots: pd.DataFrame, definition: Definition) -> list[str]:
    """Say which characters the maps cannot show.

    Parameters
    ----------
    plots : DataFrame
        The plots table.
    definition : Definition
        The trial as decided.

    Returns
    -------
    list of str
        One plain sentence; empty when the font of the maps has every character.
    """
    from matplotlib.text import Text

    from wintersward import design
    from wintersward.design.lettering import lacking

    found: dict[str, None] = {}
    for text in design.plot_map(plots, definition).findobj(Text):
        if isinstance(text, Text):
            found |= dict.fromkeys(
                lacking(text.get_text(), text.get_fontproperties().get_weight() == "bold")
            )
    if not found:
        return []
    what = "this character" if len(found) == 1 else "these characters"
    return [
        f"The maps cannot show {what} and have a box instead: {listed(map(_named, found))}; "
        "write the words of trial.yaml in other letters if the maps need them."
    ]


def _named(character: str) -> str:
    number = f"U+{ord(character):04X}"
    return f"{character} ({number})" if character.isprintable() else number


def _told(drawing: bytes, title: str, alt: str) -> bytes:
    """Put title and description first into a drawing, where readers of screens look for them."""
    opened = re.search(rb"<svg\b[^>]*>", drawing)
    if opened is None:
        return drawing
    tag = opened[0][:-1] + b' role="img" aria-labelledby="map-title map-words">'
    words = (
        f'\n <title id="map-title">{escape(title)}</title>'
        f'\n <desc id="map-words">{escape(alt)}</desc>'
    )
    return drawing[: opened.start()] + tag + words.encode() + drawing[opened.end() :]


def _png(figure: Figure, title: str, alt: str) -> bytes:
    from wintersward.design.lettering import without_font_warnings

    stream = io.BytesIO()
    told = {"Title": title, "Description": alt, "Software": None}
    with without_font_warnings():
        figure.savefig(stream, format="png", dpi=_DPI, metadata=told)
    return stream.getvalue()
