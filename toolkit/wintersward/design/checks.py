"""What of a drawn plan no longer agrees with the definition, and what to do about it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd

from wintersward.design.areas import TOUCH_M
from wintersward.design.layouts import is_blocked
from wintersward.design.lengths import length
from wintersward.design.randomise import draw
from wintersward.errors import listed
from wintersward.paths import command
from wintersward.trial import Definition

__all__ = ["amend", "layout_changed", "redraw"]


def redraw(study: str | Path) -> str:
    """Say what to do about a plan that the definition does not draw.

    Parameters
    ----------
    study : str or Path
        The study folder, as `wintersward.paths.command` takes it.
    """
    return (
        "put trial.yaml back as it was when the plots were drawn, "
        f"or move plan/plots.csv away and run: {command('plan', study)}"
    )


def amend(definition: Definition, study: str | Path) -> str:
    """Say what to do about a plan that does not fit its definition: drawn again, or put right.

    Parameters
    ----------
    definition : Definition
        Says whether the plots were laid by hand.
    study : str or Path
        The study folder, as `wintersward.paths.command` takes it.
    """
    if definition.layout.laid_by_hand is None:
        return redraw(study)
    return "put right plan/plots.csv, which was laid by hand, or the layout of trial.yaml"


def layout_changed(plots: pd.DataFrame, definition: Definition) -> list[str]:
    """Say what of a drawn plan no longer agrees with the definition.

    Parameters
    ----------
    plots : DataFrame
        The plan as it was drawn, also by another definition.
    definition : Definition
        The trial as it is written now.

    Returns
    -------
    list of str
        Plain sentences; empty when the definition would draw this very plan. Plots laid by hand
        are not compared: no seed draws them, and `wintersward.design.read_plots` checks them.
    """
    if definition.layout.laid_by_hand is not None:
        return []
    said = [*_structure_changed(plots, definition), *_sizes_changed(plots, definition)]
    # Positions and the draw can be compared only between plans of the same plots.
    if said:
        return said
    fresh = draw(definition)
    if set(fresh["plot"]) != set(plots["plot"].astype(str)):
        return ["The plots of the plan have other numbers than the definition gives them."]
    drawn = plots.assign(plot=plots["plot"].astype(str)).set_index("plot").loc[fresh["plot"]]
    fresh = fresh.set_index("plot")
    return [*_moved(drawn, fresh, definition), *_drawn_otherwise(drawn, fresh, definition)]


def _structure_changed(plots: pd.DataFrame, definition: Definition) -> Iterator[str]:
    layout, treatments = definition.layout, definition.treatments
    kinds = _kinds(plots)
    if layout.kind not in kinds:
        was = f"as {kinds[0]}" if len(kinds) == 1 else "without blocks"
        yield f"The plan was drawn {was}; the definition says {layout.kind}."
    blocks = plots["block"].astype(str).nunique()
    yield from _grounds_changed(plots, definition)
    if is_blocked(definition) and layout.kind in kinds and blocks != layout.block_count:
        said = definition.replication if layout.grounds else str(layout.blocks)
        yield f"The plan has {blocks} blocks; the definition says {said}."
    if not is_blocked(definition) and len(plots) != definition.plot_count:
        yield f"The plan has {len(plots)} plots; the definition asks for {definition.plot_count}."
    places = list(plots.columns)
    drawn = places[places.index("length_m") + 1 : places.index("walk")]
    if set(drawn) != set(treatments):
        yield f"The plan has the factors {listed(drawn)}; the definition has {listed(treatments)}."
    for factor in [name for name in treatments if name in drawn]:
        levels = plots[factor].astype(str).drop_duplicates().tolist()
        wanted = treatments[factor].levels
        if set(levels) != set(wanted):
            now = f"the definition has {listed(wanted)}"
            yield f"The plan has the levels {listed(sorted(levels))} of {factor}; {now}."
    whole = layout.whole_plot
    if kinds == ["split plot"] and whole in drawn:
        held = plots.groupby("whole_plot", observed=True)[whole].nunique()
        if held.max() > 1:
            now = "the definition gives each of them one level"
            yield f"In the plan {whole} changes within whole plots; {now}."


def _grounds_changed(plots: pd.DataFrame, definition: Definition) -> Iterator[str]:
    known = list(definition.layout.grounds or ())
    drawn = plots["ground"].astype(str).drop_duplicates().tolist() if "ground" in plots else []
    if sorted(drawn) != sorted(known):
        was = f"on the grounds {listed(drawn)}" if drawn else "on one ground"
        now = f"names the grounds {listed(known)}" if known else "has one ground"
        yield f"The plan lies {was}; the definition {now}."


def _kinds(plots: pd.DataFrame) -> list[str]:
    """Name the kinds of layout that a plan can have been drawn by."""
    if plots["whole_plot"].astype(str).str.len().gt(0).any():
        return ["split plot"]
    if plots["block"].astype(str).str.len().eq(0).all():
        return ["completely random", "latin square", "demonstration"]
    rows = plots.groupby(plots["block"].astype(str))["row"].nunique()
    return ["strip plot" if rows.max() > 1 else "randomised blocks"]


def _sizes_changed(plots: pd.DataFrame, definition: Definition) -> Iterator[str]:
    system = definition.units
    wide, long = definition.layout.plot_size
    for column, word, wanted in (("width_m", "wide", wide), ("length_m", "long", long)):
        sizes = plots[column].to_numpy(float)
        off = np.abs(sizes - wanted) > TOUCH_M
        if off.any():
            found = listed(dict.fromkeys(length(size, system) for size in sizes[off]))
            now = f"the definition says {length(wanted, system)}"
            yield f"{int(off.sum())} plots of the plan are {found} {word}; {now}."


def _moved(drawn: pd.DataFrame, fresh: pd.DataFrame, definition: Definition) -> Iterator[str]:
    system = definition.units
    if "ground" in fresh:
        elsewhere = int((drawn["ground"].astype(str) != fresh["ground"]).sum())
        if elsewhere:
            yield (
                f"{elsewhere} plots lie on another ground than the definition gives them; the "
                "order of the grounds was changed, or the plan was edited."
            )
            return
    places = ["x_m", "y_m"]
    off = (drawn[places] - fresh[places]).abs().max(axis=1) > TOUCH_M
    if off.any():
        plot = str(off.idxmax())
        there, here = (
            " and ".join(length(float(frame[place][plot]), system) for place in places)
            for frame in (drawn, fresh)
        )
        why = _what_moves(definition)
        yield (
            f"{int(off.sum())} plots lie elsewhere than the definition places them, the first of "
            f"them plot {plot}: {there} from the corner along width and length, not {here}; the "
            f"{why} was changed, or the plan was edited."
        )


def _what_moves(definition: Definition) -> str:
    """Name the lines of a definition that say where the plots lie."""
    if definition.layout.block_places:
        return "alley or block_places"
    if is_blocked(definition):
        return "alley or blocks_side_by_side"
    return "alley or areas_left_out" if definition.layout.areas_left_out else "alley"


def _drawn_otherwise(
    drawn: pd.DataFrame, fresh: pd.DataFrame, definition: Definition
) -> Iterator[str]:
    factors = list(definition.treatments)
    other = (drawn[factors].astype(str) != fresh[factors].astype(str)).any(axis=1)
    if other.any():
        yield (
            f"The seed {definition.layout.seed} gives {int(other.sum())} of {len(drawn)} plots "
            "another treatment than the plan does; the seed was changed, or the plan was edited "
            "or drawn in another way."
        )
