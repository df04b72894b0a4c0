"""What a drawn map holds: its words, where they stand, and its rectangles."""

import io
import re

import matplotlib
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.patches import Rectangle
from matplotlib.transforms import Bbox

TWO = {"upper": "Upper field", "lower": "Lower field"}
PLACES = [["0 ft", "0 ft"], ["74 ft", "4 ft"], ["0 ft", "40 ft"], ["74 ft", "44 ft"]]
AREAS = [
    {"what": "goal mouth", "at": ["20 ft", "10 ft"], "size": ["24 ft", "20 ft"]},
    {"what": "drain", "at": ["67 ft", "0 ft"], "size": ["5 ft", "80 ft"]},
]
PHOTO = {
    "from": "photos",
    "label": "Green turf",
    "dates": ["visits"],
    "quadrat": ["3 ft", "2 ft"],
}
PULL = {"from": "sheet", "unit": "lbf", "per_plot": 3, "destructive": True, "dates": ["visits"]}
MEASURES = {"green_cover": PHOTO, "pull": PULL}
# It names a treatment, which raters must not read.
HAND = {"how": "slips for fleece and woven in a hat", "signed": "rx", "date": "2026-01-10"}


def svg_of(figure, **how):
    """Draw a figure as SVG whose words are text."""
    with matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "a plan"}):
        buffer = io.StringIO()
        figure.savefig(buffer, format="svg", metadata={"Date": None}, **how)
    return buffer.getvalue()


def words_of(figure):
    """List the texts of a figure as they stand in its SVG."""
    return re.findall(r">([^<>]+)</text>", svg_of(figure))


def texts_of(figure):
    """List the texts that are not empty."""
    return [text for text in figure.axes[0].texts if text.get_text()]


def boxes_of(figure):
    """Where each text stands [pt], as it is drawn."""
    renderer = FigureCanvasAgg(figure).get_renderer()
    figure.draw(renderer)
    points = 72 / figure.dpi
    return [
        (text.get_text(), Bbox(text.get_window_extent(renderer).get_points() * points))
        for text in texts_of(figure)
    ]


def numbers_of(figure):
    """The bold numbers of the plots."""
    bold = [text.get_text() for text in texts_of(figure) if text.get_weight() == "bold"]
    return [text for text in bold if text.isdigit()]


def plots_of(figure):
    """List what is drawn as plots are: filled, with a thin line."""
    return [
        patch
        for patch in figure.axes[0].patches
        if isinstance(patch, Rectangle) and patch.get_fill() and patch.get_linewidth() == 0.6
    ]
