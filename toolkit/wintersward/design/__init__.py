"""Plots: where they lie, how treatments are drawn for them, their table and their map."""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOME = {
    "Mark": "marks",
    "columns": "layouts",
    "draw": "randomise",
    "layout_changed": "checks",
    "map_alt": "map_words",
    "plot_map": "maps",
    "read_plots": "plots",
    "redraw": "checks",
    "treatment_marks": "marks",
    "unit_names": "plots",
    "units": "layouts",
    "write_plots": "plots",
}

__all__ = sorted(_HOME)


def __getattr__(name: str) -> Any:
    """Import a name's module when the name is first asked for."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)


def __dir__() -> list[str]:
    """List the public names."""
    return __all__
