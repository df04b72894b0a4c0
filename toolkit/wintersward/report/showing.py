"""Tables and pictures in a notebook."""

from __future__ import annotations

import io
from typing import Any

import pandas as pd
from markupsafe import Markup
from matplotlib.figure import Figure
from PIL import Image

from wintersward.errors import WinterswardError
from wintersward.report.drawn import svg
from wintersward.report.tables import frame_table

__all__ = ["show"]


def show(what: pd.DataFrame | Figure | Image.Image, words: str, limit: int = 0) -> None:
    """Show a table or a picture in a notebook.

    Parameters
    ----------
    what : DataFrame, Figure or Image
        What to show.
    words : str
        Caption of a table; alternative text of a picture.
    limit : int
        Rows of a table to show at most; 0 for all.

    Raises
    ------
    WinterswardError
        For anything else, and without words.
    """
    from IPython.display import display

    if not words.strip():
        raise WinterswardError("show() needs words: a table's caption or a picture's message")
    if isinstance(what, pd.DataFrame):
        frame = what.reset_index(drop=True)
        if frame.empty:
            said = f"{words}: nothing to show yet."
            html = str(Markup("<p>{}</p>").format(said))
            display({"text/html": html, "text/plain": said}, raw=True)
            return
        html = str(frame_table("", frame, words, most=limit))
        display({"text/html": html, "text/plain": frame.to_string()}, raw=True)
        return
    media, content = _encoded(what)
    display({media: content, "text/plain": words}, raw=True, metadata={media: {"alt": words}})


def _encoded(picture: Any) -> tuple[str, str | bytes]:
    if isinstance(picture, Figure):
        return "image/svg+xml", svg(picture).decode("utf-8")
    if isinstance(picture, Image.Image):
        stream = io.BytesIO()
        picture.convert("RGB").save(stream, "JPEG", quality=85)
        return "image/jpeg", stream.getvalue()
    raise WinterswardError(
        f"show() takes a table, a figure or a picture, not a {type(picture).__name__}"
    )
