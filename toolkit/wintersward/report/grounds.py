"""Several grounds on the page: the primary difference on each, described, and whether it is one."""

from __future__ import annotations

from textwrap import fill
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from markupsafe import Markup
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from wintersward.report import noting
from wintersward.report.comparing import difference_decimals
from wintersward.report.comparisons import (
    difference_cells,
    difference_heads,
    pair_text,
    said_or_dash,
)
from wintersward.report.drawing import (
    INK,
    RULE,
    SIZE,
    SOFT,
    axes_at,
    empty_figure,
    new_figure,
    style,
)
from wintersward.report.numbers import (
    between_text,
    counted,
    day_text,
    df_text,
    level_text,
    listed_words,
    p_text,
    text,
    tick_decimals,
)
from wintersward.report.picture import Picture
from wintersward.report.said import Sentence, number, row_at, value_at
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import (
    MeasureView,
    factor_label,
    in_sentence,
    measure_view,
    plots_with,
)
from wintersward.report.words import PLANNED, amount_parts, waiting
from wintersward.trial.schema import Definition

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = [
    "grounds_alt",
    "grounds_context",
    "grounds_figure",
    "grounds_picture",
    "grounds_table",
    "grounds_words",
    "several_grounds",
]

_WIDTH, _ROW, _WRAP = 6.8, 0.34, 34
_ALL = "All grounds"


def grounds_words(
    grounds: pd.DataFrame, test: pd.DataFrame, definition: Definition
) -> list[Sentence]:
    """Say what the difference is on each ground, and whether it is the same on all.

    Parameters
    ----------
    grounds, test : DataFrame
        The tables ``grounds`` and ``grounds_test``, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    list of Sentence
        One a comparison, then one of the test; empty without rows.
    """
    if grounds.empty:
        return []
    grounds, view = _in_order(grounds, definition), _view(grounds, definition)
    decimals = difference_decimals(view, grounds)
    said = []
    for (left, right), rows in grounds.groupby(["left", "right"], sort=False):
        parts: dict[str, object] = {
            "left": plots_with(definition, str(left)),
            "right": plots_with(definition, str(right)),
            "noun": view.noun,
            "level": level_text(definition.analysis.alpha),
        }
        each = list[str]()
        for at in map(int, rows.index):
            found = amount_parts("grounds", grounds, at, view, decimals)
            label = _labels(definition)[str(row_at(grounds, at)["ground"])]
            parts |= {f"g{at}": label, f"a{at}": Sentence("{estimate} {more}", found)}
            parts[f"i{at}"] = Sentence("{interval}", found)
            inside = "{level} interval " if not each else ""
            each.append(f"{{a{at}}} on {{g{at}}} ({inside}{{i{at}}})")
        form = "Described ground by ground, {left} had, in {noun} against {right}, "
        said.append(Sentence(f"{form}{_joined(each)}.", parts))
    return [*said, *_tested(test, definition)]


def _joined(parts: list[str]) -> str:
    return listed_words(parts) if len(parts) < 3 else "; ".join(parts)


def _tested(test: pd.DataFrame, definition: Definition) -> list[Sentence]:
    """Say whether the treatments differ alike on all grounds."""
    if test.empty or not np.isfinite(float(test["p"].iloc[0])):
        return []
    at = int(test.index[0])
    factor = str(row_at(test, at)["term"]).split(":")[0]
    show = {"f": text(value_at(test, at, "f"), 2), "p": p_text(value_at(test, at, "p"))}
    show |= {name: df_text(value_at(test, at, name)) for name in ("df_num", "df_den")}
    parts: dict[str, object] = {
        name: number("grounds_test", test, at, name, words) for name, words in show.items()
    }
    parts["factor"] = in_sentence(factor_label(definition, factor))
    parts["grounds"] = _both(definition)
    numbers = "(F {f} on {df_num} and {df_den} degrees of freedom, p {p})"
    if value_at(test, at, "p") < definition.analysis.alpha:
        form = (
            f"What the {{factor}} treatments do is not the same on {{grounds}} {numbers}: look at "
            "each ground by itself before you act on the average."
        )
    else:
        form = (
            f"Whether what the {{factor}} treatments do is the same on {{grounds}}, these data "
            f"cannot tell {numbers}; that does not say that it is."
        )
    return [Sentence(form, parts)]


def several_grounds(definition: Definition) -> str:
    """Count the grounds for a reader; empty where there is one."""
    many = len(definition.layout.ground_names)
    return counted(many, "ground") if many > 1 else ""


def _both(definition: Definition) -> str:
    many = len(definition.layout.ground_names)
    return "both grounds" if many == 2 else f"all {counted(many, 'ground')}"


def grounds_table(grounds: pd.DataFrame, definition: Definition) -> Markup:
    """Show the primary difference on each ground, and how much its own units vary.

    Parameters
    ----------
    grounds : DataFrame
        Table of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        Empty without rows.
    """
    if grounds.empty:
        return Markup("")
    view, labels = _view(grounds, definition), _labels(definition)
    grounds = _in_order(grounds, definition)
    decimals = difference_decimals(view, grounds)
    unit = view.difference_unit
    heads = [Head("Ground"), Head("Treatments")]
    heads += difference_heads(view, level_text(definition.analysis.alpha), ())
    heads += [Head("own standard deviation", unit, True), Head("its df", "", True)]
    lines = []
    for at in map(int, grounds.index):
        row = row_at(grounds, at)
        sd = text(view.difference(value_at(grounds, at, "sd")), decimals + 1)
        cells = (
            *difference_cells("grounds", grounds, at, view, decimals, ()),
            said_or_dash("grounds", grounds, at, "sd", sd),
            said_or_dash("grounds", grounds, at, "sd_df", df_text(value_at(grounds, at, "sd_df"))),
        )
        label = labels[str(row["ground"])]
        lines.append(Row((label, pair_text(definition, row)), cells))
    day = day_text(grounds["date"].iloc[0])
    note = (
        "Described: the intervals rest on the error of all grounds together, are not adjusted, and "
        "no answer hangs on them. The last columns tell how much the units of a ground vary by "
        "themselves, blocks and treatments allowed for."
    )
    return html_table(f"{view.label} on {day}, ground by ground", heads, lines, note)


def grounds_figure(grounds: pd.DataFrame, primary: pd.DataFrame, definition: Definition) -> Figure:
    """Draw the primary difference on each ground with its interval, and over all of them.

    Parameters
    ----------
    grounds, primary : DataFrame
        Tables of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Figure
        A line a ground in grey, and the answer in black below, for every comparison.
    """
    lines = _lines(grounds, primary, definition)
    if not lines:
        return empty_figure(_WIDTH, "No differences on single grounds yet.")
    view = _view(grounds, definition)
    ends = [0.0, *(end for _, found in lines for end in found if np.isfinite(end))]
    room = 0.05 * ((max(ends) - min(ends)) or 1.0)
    with style():
        figure = new_figure(_WIDTH, 0.85 + _ROW * len(lines))
        wide = max(len(part) for label, _ in lines for part in fill(label, _WRAP).split("\n"))
        left = 0.3 + 0.075 * wide
        axes = axes_at(figure, left, 0.6, _WIDTH - left - 0.25, _ROW * len(lines))
        axes.set_ylim(len(lines) - 0.5, -0.5)
        axes.set_xlim(min(ends) - room, max(ends) + room)
        axes.xaxis.set_major_locator(MaxNLocator(7, steps=[1, 2, 2.5, 5, 10]))
        axes.xaxis.set_major_formatter(
            lambda value, _: text(value, tick_decimals(list(axes.get_xticks())), True)
        )
        axes.grid(axis="x", color=RULE, linewidth=0.6)
        axes.axvline(0, color=SOFT, linewidth=0.9, zorder=1)
        for y, (label, (middle, low, high)) in enumerate(lines):
            own = not label.startswith(_ALL)
            ink = SOFT if own else INK
            axes.plot([low, high], [y, y], color=ink, linewidth=1.2 if own else 2.2, zorder=3)
            axes.plot([middle], [y], marker="o", ms=5 if own else 7, color=ink, zorder=4)
        labels = [fill(label, _WRAP) for label, _ in lines]
        axes.set_yticks(range(len(lines)), labels, fontsize=SIZE)
        axes.tick_params(axis="y", length=0)
        axes.spines["left"].set_visible(False)
        unit = f" [{view.difference_unit}]" if view.difference_unit else ""
        axes.set_xlabel(f"Difference in {view.noun}{unit}", labelpad=4)
    return figure


def _lines(
    grounds: pd.DataFrame, primary: pd.DataFrame, definition: Definition
) -> list[tuple[str, tuple[float, float, float]]]:
    """Gather the lines of the picture: label, and difference with both ends as shown."""
    if grounds.empty:
        return []
    view, labels = _view(grounds, definition), _labels(definition)
    grounds = _in_order(grounds, definition)
    pairs = list(dict.fromkeys(zip(grounds["left"], grounds["right"], strict=True)))
    found = []
    planned = primary[primary["which"] == PLANNED]
    for left, right in pairs:
        rows = grounds[(grounds["left"] == left) & (grounds["right"] == right)]
        answer = planned[(planned["left"] == left) & (planned["right"] == right)]
        named = f", {in_sentence(pair_text(definition, rows.iloc[0]))}" if len(pairs) > 1 else ""
        each = [(labels[str(row["ground"])], row) for _, row in rows.iterrows()]
        each += [(_ALL, row) for _, row in answer.iterrows()]
        for label, row in each:
            middle, low, high = (
                view.difference(float(row[name])) for name in ("difference", "lower", "upper")
            )
            found.append((label + named, (middle, low, high)))
    return found


def grounds_alt(grounds: pd.DataFrame, primary: pd.DataFrame, definition: Definition) -> str:
    """Tell what `grounds_figure` shows, with its numbers."""
    lines = _lines(grounds, primary, definition)
    if not lines:
        return "No differences on single grounds yet."
    view = _view(grounds, definition)
    decimals = difference_decimals(view, grounds)
    unit = f", in {view.difference_unit}" if view.difference_unit else ""
    said = [f"Differences in {view.noun}{unit}, on each ground and over all of them."]
    for label, (middle, low, high) in lines:
        shown = text(middle, decimals, signed=True)
        said.append(f"{label}: {shown} ({between_text(low, high, decimals)}).")
    return " ".join(said)


def grounds_picture(
    grounds: pd.DataFrame, primary: pd.DataFrame, definition: Definition
) -> Picture:
    """Make the picture of the primary difference on each ground."""
    level = level_text(definition.analysis.alpha)
    caption = (
        f"The primary difference on each ground with its {level} interval, in grey, described: not "
        "adjusted, and no answer. The black mark is the answer, averaged over the grounds."
    )
    figure = grounds_figure(grounds, primary, definition)
    return Picture("grounds", figure, grounds_alt(grounds, primary, definition), caption)


def grounds_context(page: Page) -> dict[str, Any]:
    """Fill the section of the grounds; nothing where there is one."""
    definition = page.definition
    grounds, test = page.table("grounds"), page.table("grounds_test")
    return {
        "several": definition.layout.grounds is not None,
        "waiting": waiting(definition, page.table("counts")) if page.waiting else "",
        "named": listed_words(list(_labels(definition).values())),
        "words": grounds_words(grounds, test, definition),
        "picture": page.figure("grounds"),
        "table": grounds_table(grounds, definition),
        "notes": noting.supporting_notes(page.table("notes"), definition, "grounds"),
    }


def _in_order(grounds: pd.DataFrame, definition: Definition) -> pd.DataFrame:
    """Put rows into the order of the definition, whatever that of their file; labels stay."""
    pairs, names = definition.analysis.primary.pairs, definition.layout.ground_names

    def rank(at: int) -> tuple[int, int]:
        row = row_at(grounds, at)
        pair = str(row["left"]), str(row["right"])
        return pairs.index(pair), names.index(str(row["ground"]))

    return grounds.loc[sorted(grounds.index, key=rank)]


def _view(grounds: pd.DataFrame, definition: Definition) -> MeasureView:
    return measure_view(definition, str(grounds["measure"].iloc[0]))


def _labels(definition: Definition) -> dict[str, str]:
    return dict(definition.layout.grounds or {})
