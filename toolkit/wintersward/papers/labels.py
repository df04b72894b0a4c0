"""Labels for the plots: a number to read from afar, a QR code for a phone, and no treatment."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd
from markupsafe import Markup

from wintersward.design.lengths import bare_length, length
from wintersward.design.places import sampling_places
from wintersward.papers.looks import walks
from wintersward.papers.pages import printable, short_id
from wintersward.report.numbers import listed_words
from wintersward.trial import Definition
from wintersward.units import reader_unit

__all__ = ["PER_PAGE", "Label", "code_text", "labels_page", "plot_labels"]

# Two beside each other, five below each other, on either paper.
PER_PAGE = 10
# White modules around the code (ISO/IEC 18004, quiet zone).
_QUIET = 4
_SHORT, _MIDDLING = 4, 8
# Places are kept to the millimetre [m].
_ROUNDED = 0.0015
_ROWS_TOLD = 2


@dataclass(frozen=True)
class Label:
    """What stands on one label.

    Parameters
    ----------
    plot : str
        Number or name of the plot.
    place : str
        Ground, block, row and column, as far as the layout has them.
    code : str
        What the QR code says.
    picture : str
        The QR code as SVG.
    note : str
        Where the label stands, and where from it the quadrat lies.
    """

    plot: str
    place: str
    code: str
    picture: str
    note: str

    @property
    def size(self) -> str:
        """How large the plot's name can be written: ``large``, ``middling`` or ``small``."""
        if len(self.plot) <= _SHORT:
            return "large"
        return "middling" if len(self.plot) <= _MIDDLING else "small"


def code_text(definition: Definition, plot: str) -> str:
    """Write what the QR code of a plot says.

    Parameters
    ----------
    definition : Definition
        The trial.
    plot : str
        Number or name of the plot.

    Returns
    -------
    str
        ``plot 203, study 5f1c2a``: plain text, which any phone shows without a network, and
        which tells a photo's plot years later. No address: nothing needs to be there still.
    """
    return f"plot {plot}, study {short_id(definition)}"


def plot_labels(definition: Definition, plots: pd.DataFrame) -> list[Label]:
    """Make the labels of all plots in walking order.

    Parameters
    ----------
    definition : Definition
        The trial.
    plots : DataFrame
        ``plan/plots.csv``. Its treatments are not read.

    Returns
    -------
    list of Label
        One for each plot.
    """
    photos = sampling_places(plots, definition)
    photos = photos[photos["kind"] == "photo"].drop_duplicates(["plot", "measure", "sample"])
    found = dict(tuple(photos.groupby("plot", sort=False)))
    made = []
    for plot in pd.concat(walks(plots)).to_dict("records"):
        text = code_text(definition, str(plot["plot"]))
        size = float(plot["width_m"]), float(plot["length_m"])
        note = _note(definition, found.get(str(plot["plot"])), size)
        place = _place(definition, plot)
        made.append(Label(str(plot["plot"]), place, text, _picture(text), note))
    return made


def labels_page(
    definition: Definition, plots: pd.DataFrame, paper: str, study: Path | None = None
) -> str:
    """Make the page of all labels, ten on each sheet of paper, with lines to cut along.

    Parameters
    ----------
    definition : Definition
        The trial.
    plots : DataFrame
        ``plan/plots.csv``.
    paper : {'letter', 'a4'}
        What it is printed on; a label has the same size on both.
    study : Path, optional
        Study folder whose own copies of the templates go first.

    Returns
    -------
    str
        HTML. It is the same whatever treatment a plot has: raters may see every label.

    Raises
    ------
    WinterswardError
        For a paper that is not known.
    """
    labels = plot_labels(definition, plots)
    sheets = [labels[at : at + PER_PAGE] for at in range(0, len(labels), PER_PAGE)]
    return printable("labels", definition, paper, study, sheets=sheets)


def _picture(text: str) -> Markup:
    """Draw a text as QR code (ISO/IEC 18004), readable with 15 % of it soiled (level M)."""
    import segno

    code = segno.make(text, error="m", micro=False, encoding="utf-8")
    return Markup(code.svg_inline(border=_QUIET, omitsize=True, title=f"QR code: {text}"))


def _place(definition: Definition, plot: Mapping[Hashable, Any]) -> str:
    """Say where a plot lies: its ground and block, or its row and column where there are none."""
    said = []
    if plot.get("ground"):
        said.append((definition.layout.grounds or {}).get(plot["ground"], plot["ground"]))
    if plot["block"]:
        said.append(f"Block {plot['block']}")
    else:
        said.append(f"Row {plot['row']}, column {plot['column']}")
    return " · ".join(said)


def _note(definition: Definition, photos: pd.DataFrame | None, size: tuple[float, float]) -> str:
    """Say where the label stands, and where from there the quadrats or the sampled part lie.

    Parameters
    ----------
    definition : Definition
        The trial.
    photos : DataFrame or None
        The photos of one plot out of `wintersward.design.sampling_places`, each once.
    size : tuple of float
        Width and length of the plot [m].
    """
    edge = definition.layout.edge_left_out
    said = ["Stands at the plot's lower left corner on the map."]
    if photos is not None:
        parts = (part for _, part in photos.groupby("measure", sort=False))
        said += dict.fromkeys(_quadrat(definition, part, size) for part in parts)
    elif edge:
        said.append(f"Sample no nearer than {length(edge, definition.units)} to any edge.")
    return " ".join(said)


def _quadrat(definition: Definition, photos: pd.DataFrame, size: tuple[float, float]) -> str:
    """Say where the quadrats of one measure lie, row by row, or that they do not fit."""
    system, edge = definition.units, definition.layout.edge_left_out
    wide, long = float(photos["width_m"].iloc[0]), float(photos["length_m"].iloc[0])
    rights, ups = photos["x_m"] - wide / 2, photos["y_m"] - long / 2
    several = len(photos) > 1
    what = f"{len(photos)} quadrats of" if several else "Quadrat of"
    what += f" {bare_length(wide, system)} × {length(long, system)}"
    least = edge - _ROUNDED
    beyond = rights.max() + wide > size[0] - least or ups.max() + long > size[1] - least
    if beyond or min(rights.min(), ups.min()) < least:
        room = [side - 2 * edge for side in size]
        sampled = f"{bare_length(room[0], system)} × {length(room[1], system)}"
        return f"{what} {'do' if several else 'does'} not fit into the {sampled} sampled."
    unit = reader_unit("distance", system)
    rows = []
    for up, row in photos.assign(right=rights).groupby(ups.round(3), sort=True):
        right = listed_words([bare_length(float(one), system) for one in row["right"]])
        place = f"{right} {unit} right and {length(float(str(up)), system)} up"
        rows.append((list(row["sample"]), place))
    if not several:
        return f"{what}: its nearest corner is {rows[0][1]} from here."
    # A label has room for two rows; all rows are alike, each as much higher as a quadrat is long.
    listed = rows if len(rows) <= _ROWS_TOLD else rows[:1]
    told = "; ".join(f"{_numbers(samples)}: {place}" for samples, place in listed)
    if len(rows) > len(listed):
        told += f"; each further row is {length(long, system)} higher"
    return f"{what}; nearest corner from here, {told}."


def _numbers(samples: list[int]) -> str:
    first, last = min(samples), max(samples)
    return f"number {first}" if first == last else f"numbers {first} to {last}"
