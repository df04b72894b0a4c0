"""Picture of the sources of variation: one bar a measure, in greys and patterns."""

from __future__ import annotations

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from wintersward.analysis.share_columns import LAST, TOGETHER, WITHIN
from wintersward.report.drawing import (
    INK,
    PAPER,
    SIZE,
    SOFT,
    axes_at,
    empty_figure,
    new_figure,
    style,
)
from wintersward.report.numbers import day_text, decimals_for, listed_words, text
from wintersward.report.picture import Picture
from wintersward.report.variance_sharing import reading_noun, shown_shares, source_words
from wintersward.report.views import measure_view
from wintersward.trial.schema import Definition

__all__ = ["shares_picture", "variance_bars", "variance_bars_alt"]

# Fill, pattern and colour of what is written on it; told apart without colour.
_LOOKS = {
    "block": ("#FFFFFF", "", INK),
    "row": ("#FFFFFF", "", INK),
    "column": ("#F0F0F0", "--", INK),
    "block:row": ("#DADADA", "", INK),
    "block:column": ("#DADADA", "||", INK),
    "whole_plot": ("#DADADA", "", INK),
    "plot": ("#A9A9A9", "", INK),
    "plot:rater": ("#E6E6E6", "....", INK),
    LAST: ("#4A4A4A", "", PAPER),
    TOGETHER: ("#C4C4C4", "////", INK),
}
_WITHIN = "#111111"
_WIDE, _LEFT, _ROW, _BAR = 6.8, 0.12, 0.74, 0.42
# Shares below this have no room for their number [%].
_ROOM = 6.0
_KEYS_A_LINE, _KEY_LINE = 2, 0.24


def _measures(shares: pd.DataFrame, definition: Definition) -> list[str]:
    return [name for name in definition.measures if (shares["measure"] == name).any()]


def variance_bars(shares: pd.DataFrame, plans: pd.DataFrame, definition: Definition) -> Figure:
    """Draw the shares of the sources of variation, a bar a measure.

    Parameters
    ----------
    shares, plans : DataFrame
        Tables ``variance_shares`` and ``variance_plans`` of a run.
    definition : Definition
        The trial.

    Returns
    -------
    Figure
        Each bar of the date that the advice is about, coarsest source first.
    """
    names = _measures(shares, definition)
    if not names:
        return empty_figure(_WIDE, "The sources of variation cannot be told")
    shown = {name: shown_shares(shares, plans, name) for name in names}
    keys = _keys(shown, definition)
    below = 0.62 + _KEY_LINE * -(-len(keys) // _KEYS_A_LINE)
    with style():
        figure = new_figure(_WIDE, below + _ROW * len(names))
        axes = axes_at(figure, _LEFT, below, _WIDE - 2 * _LEFT, _ROW * len(names))
        axes.set_xlim(0, 100)
        axes.set_ylim(len(names), 0)
        axes.set_yticks([])
        axes.spines["left"].set_visible(False)
        axes.set_xticks(range(0, 101, 20))
        axes.set_xlabel("Share of the variation beside treatments [%]")
        for at, (name, rows) in enumerate(shown.items()):
            axes.text(0, at + 0.36, _title(rows, definition, name), va="bottom", color=INK)
            _bar(axes, rows, at + 0.42)
        _legend(figure, keys, below)
    return figure


def _title(rows: pd.DataFrame, definition: Definition, name: str) -> str:
    """Name a bar, with the spread that its whole length stands for."""
    view = measure_view(definition, name)
    whole = float(rows.loc[rows["source"] != WITHIN, "variance"].sum())
    sd = view.difference(whole**0.5)
    amount = view.amount(text(sd, decimals_for(sd / 8)))
    return f"{view.label}, {day_text(rows['date'].iloc[0])}: standard deviation {amount}"


def _bar(axes: Axes, rows: pd.DataFrame, top: float) -> None:
    high = _BAR
    left = width = 0.0
    held = rows[rows["source"] == WITHIN]
    for _, row in _ordered(rows[rows["source"] != WITHIN]).iterrows():
        fill, pattern, ink = _LOOKS[str(row["source"])]
        left, width = left + width, float(row["share"])
        box = Rectangle(
            (left, top), width, high, facecolor=fill, edgecolor=SOFT, hatch=pattern, linewidth=0.8
        )
        axes.add_patch(box)
        if width >= _ROOM:
            # A part of the last is drawn along its lower edge.
            last = len(held) and str(row["source"]) in (LAST, TOGETHER)
            place = top + high * (0.32 if last else 0.5)
            words = axes.text(
                left + width / 2, place, f"{width:.0f} %", ha="center", va="center", color=ink
            )
            if pattern:
                words.set_bbox({"facecolor": fill, "edgecolor": "none", "pad": 1.0})
    if len(held):
        part = min(float(held["share"].iloc[0]), width)
        corner = left + width - part, top + 0.66 * high
        box = Rectangle(
            corner, part, 0.34 * high, facecolor=_WITHIN, edgecolor=PAPER, linewidth=0.8
        )
        axes.add_patch(box)


def _ordered(rows: pd.DataFrame) -> pd.DataFrame:
    """Put the sources in order, the coarsest first."""
    order = list(_LOOKS)
    return rows.sort_values("source", key=lambda names: names.map(order.index))


def _keys(shown: dict[str, pd.DataFrame], definition: Definition) -> list[tuple[str, str]]:
    """List the sources that the bars hold, each with its words."""
    found: dict[str, list[str]] = {}
    for name, rows in shown.items():
        for source in rows["source"].astype(str):
            words = source_words(source, reading_noun(definition, name))
            found.setdefault(source, []).append(words)
    return [
        (source, _joined(list(dict.fromkeys(found[source]))))
        for source in [*_LOOKS, WITHIN]
        if source in found
    ]


def _joined(words: list[str]) -> str:
    """Join words for one pattern: ratings of one plot, readings of one plot."""
    if len(words) == 1:
        return words[0]
    ends = [one.removesuffix(" of one plot") for one in words]
    if all(one.endswith(" of one plot") for one in words):
        return f"{listed_words(ends)} of one plot"
    return "plots and their only photo or reading"


def _legend(figure: Figure, keys: list[tuple[str, str]], below: float) -> None:
    axes = axes_at(figure, _LEFT, 0.02, _WIDE - 2 * _LEFT, below - 0.56)
    axes.set_axis_off()
    lines = -(-len(keys) // _KEYS_A_LINE)
    axes.set_xlim(0, _WIDE - 2 * _LEFT)
    axes.set_ylim(lines, 0)
    for at, (source, words) in enumerate(keys):
        line, column = at % lines, at // lines
        x, y = column * (_WIDE - 2 * _LEFT) / _KEYS_A_LINE, line + 0.2
        fill, pattern, _ = _LOOKS.get(source, (_WITHIN, "", INK))
        top, high = (y + 0.3, 0.3) if source == WITHIN else (y, 0.6)
        axes.add_patch(
            Rectangle((x, top), 0.34, high, facecolor=fill, edgecolor=SOFT, hatch=pattern)
        )
        axes.text(x + 0.44, y + 0.3, words, va="center", fontsize=SIZE - 0.5)


def variance_bars_alt(shares: pd.DataFrame, plans: pd.DataFrame, definition: Definition) -> str:
    """Tell what `variance_bars` shows, with its numbers.

    Parameters
    ----------
    shares, plans, definition
        As for `variance_bars`.

    Returns
    -------
    str
        A sentence a measure.
    """
    said = []
    for name in _measures(shares, definition):
        rows = shown_shares(shares, plans, name)
        noun = reading_noun(definition, name)
        whole = _ordered(rows[rows["source"] != WITHIN])
        listed = [
            f"{source_words(str(source), noun)} {share:.0f} %"
            for source, share in zip(whole["source"], whole["share"], strict=True)
        ]
        held = rows.loc[rows["source"] == WITHIN, "share"]
        part = ""
        if len(held):
            least = min(float(held.iloc[0]), float(whole["share"].iloc[-1]))
            part = f", at least {least:.0f} % within single photos"
        label = measure_view(definition, name).label
        said.append(f"{label}, {day_text(rows['date'].iloc[0])}: {listed_words(listed)}{part}.")
    return " ".join(said) or "The sources of variation cannot be told."


def shares_picture(shares: pd.DataFrame, plans: pd.DataFrame, definition: Definition) -> Picture:
    """Make the picture of the sources of variation.

    Parameters
    ----------
    shares, plans, definition
        As for `variance_bars`.
    """
    caption = (
        "Where plots treated alike differ. The further right the variation lies, the more further "
        "photos or readings of a plot can take off; what lies between plots only more plots can."
    )
    figure = variance_bars(shares, plans, definition)
    alt = variance_bars_alt(shares, plans, definition)
    return Picture("variance_shares", figure, alt, caption)
