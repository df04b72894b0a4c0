"""Cells of the plots table: what each column may hold."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from wintersward.design.layouts import block_names, is_blocked, is_split
from wintersward.errors import closest, listed
from wintersward.trial import Definition

__all__ = ["PLACES", "Reader", "cell_readers", "finite_number"]

_SIZES = ("width_m", "length_m")
PLACES = ("x_m", "y_m")
# Turns the text of a cell into what it means, or raises ValueError with the rule.
Reader = Callable[[str], str | int | float]


def cell_readers(definition: Definition, plots: int, advice: str) -> dict[str, Reader]:
    """Make the reader of each column; it raises ValueError with the rule and what to do.

    Parameters
    ----------
    definition : Definition
        Its layout and treatments say what may stand in a cell.
    plots : int
        Number of lines of the table.
    advice : str
        What to do about a plan that the definition does not draw.
    """
    layout = definition.layout
    readers: dict[str, Reader] = {"plot": _text}
    if layout.grounds:
        readers["ground"] = _word_reader(list(layout.grounds), advice)
    readers["whole_plot"] = _text if is_split(definition) else _blank(definition, "whole plots")
    readers["block"] = _block_reader(definition, advice)
    readers |= dict.fromkeys(("row", "column"), _count)
    readers |= dict.fromkeys(PLACES, finite_number)
    readers |= dict.fromkeys(_SIZES, _size)
    for factor, treatment in definition.treatments.items():
        readers[factor] = _word_reader(list(treatment.levels), advice)
    readers["walk"] = lambda cell: _count(cell, plots)
    return readers


def _block_reader(definition: Definition, advice: str) -> Reader:
    if not is_blocked(definition):
        return _blank(definition, "blocks")
    blocks = block_names(definition)
    return lambda cell: _one_of(cell, blocks, f"a block from 1 to {len(blocks)}; {advice}")


def _word_reader(known: list[str], advice: str) -> Reader:
    def read(cell: str) -> str:
        near = closest(cell, known) if cell else ""
        return _one_of(cell, known, f"{listed(known)}; {near or advice}")

    return read


def _one_of(cell: str, allowed: list[str], rule: str) -> str:
    if cell not in allowed:
        raise ValueError(rule)
    return cell


def _text(cell: str) -> str:
    if not cell:
        raise ValueError("a name")
    return cell


def _blank(definition: Definition, what: str) -> Reader:
    def read(cell: str) -> str:
        if cell:
            raise ValueError(f"nothing, since the layout ({definition.layout.kind}) has no {what}")
        return cell

    return read


def _count(cell: str, most: int | None = None) -> int:
    rule = "a whole number from 1" + (f" to {most}" if most else "")
    if not re.fullmatch(r"[1-9][0-9]{0,8}", cell) or (most and int(cell) > most):
        raise ValueError(rule)
    return int(cell)


def finite_number(cell: str) -> float:
    """Read a length [m] with a decimal point.

    Raises
    ------
    ValueError
        For anything else, with the rule.
    """
    rule = "a number of metres, with a decimal point"
    try:
        value = float(cell)
    except ValueError:
        raise ValueError(rule) from None
    if not math.isfinite(value):
        raise ValueError(rule)
    return value


def _size(cell: str) -> float:
    rule = "a number of metres above 0, with a decimal point"
    try:
        value = finite_number(cell)
    except ValueError:
        raise ValueError(rule) from None
    if value <= 0:
        raise ValueError(rule)
    return value
