"""Tables and pictures in a notebook, and the sheet of example photos."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup
from matplotlib.figure import Figure
from PIL import Image, ImageDraw, ImageFont

from wintersward.errors import WinterswardError
from wintersward.report.numbers import day_short, day_text, text
from wintersward.report.tables import frame_table

if TYPE_CHECKING:
    from wintersward.study import Trial

__all__ = ["photo_sheet", "show"]

_THUMB_PX = 210
_MOST_COLUMNS = 8
_BLANK = (236, 239, 236)
_DPI = 110


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


def _encoded(picture: Any) -> tuple[str, bytes]:
    stream = io.BytesIO()
    if isinstance(picture, Figure):
        picture.savefig(stream, format="png", dpi=_DPI, bbox_inches="tight")
        return "image/png", stream.getvalue()
    if isinstance(picture, Image.Image):
        picture.convert("RGB").save(stream, "JPEG", quality=85)
        return "image/jpeg", stream.getvalue()
    raise WinterswardError(
        f"show() takes a table, a figure or a picture, not a {type(picture).__name__}"
    )


def photo_sheet(trial: Trial) -> tuple[Image.Image, str]:
    """Lay out the photos of the first block: a row a plot, a column a date.

    Parameters
    ----------
    trial : Trial
        The study.

    Returns
    -------
    sheet : Image
        One photo a plot and date; a grey field where there is none. Green cover and treatments
        are written below it once the primary question has its data.
    alt : str
        What it shows, with numbers.
    """
    from wintersward.photos import Example, contact_sheet

    scores = trial.photo_scores().drop_duplicates("path")
    block = trial.plots["block"].iloc[0]
    plots = list(trial.plots.loc[trial.plots["block"] == block, "plot"])
    kept = scores[scores["plot"].isin(plots)].sort_values("sample")
    kept = kept.drop_duplicates(["plot", "date"])
    days = sorted(kept["date"].unique())[-_MOST_COLUMNS:]
    if not days:
        return _nothing("No photos yet."), "No photos yet: 0 photos have been scored."
    ready = trial.ready  # until then nothing sets treatments beside numbers
    entries = []
    for plot in plots:
        for day in days:
            found = kept[(kept["plot"] == plot) & (kept["date"] == day)]
            words = ", ".join([day_short(day), *(_on_plot(trial, plot, day) if ready else [])])
            if found.empty:
                blank = Image.new("RGB", (_THUMB_PX, _THUMB_PX * 3 // 4), _BLANK)
                entries.append(Example(blank, plot, f"{words}, no photo", None))
                continue
            one = found.iloc[0]
            cover = float(one["cover"]) if one["cover"] == one["cover"] else None
            entries.append(Example(trial.folder / one["path"], plot, words, cover))
    sheet = contact_sheet(entries, columns=len(days), thumb_px=_THUMB_PX, scores=ready)
    return sheet, _sheet_alt(str(block), kept[kept["date"].isin(days)], ready)


def _on_plot(trial: Trial, plot: str, day: pd.Timestamp) -> list[str]:
    """Name the treatments that were on a plot on a day; a visit on the first day was before it."""
    row = trial.plots.set_index("plot").loc[plot]
    return [str(row[name]) for name in trial.factors if day.date() > trial.begins(name)]


def _sheet_alt(block: str, kept: pd.DataFrame, ready: bool) -> str:
    """Tell how many photos the sheet holds, and the least and the most green of them."""
    said = f"{len(kept)} photos of block {block}, a row a plot and a column a date."
    if not ready:
        return said
    ranked = kept.sort_values("cover", kind="stable")
    ends = [
        f"{text(float(one['cover']), 0)} % on plot {one['plot']} on {day_text(one['date'])}"
        for one in (ranked.iloc[0], ranked.iloc[-1])
    ]
    return f"{said} Green cover goes from {ends[0]} to {ends[1]}."


def _nothing(words: str) -> Image.Image:
    image = Image.new("RGB", (480, 72), _BLANK)
    ImageDraw.Draw(image).text((20, 28), words, fill=(60, 60, 60), font=ImageFont.load_default())
    return image
