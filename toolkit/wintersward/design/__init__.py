"""Plots: where they lie, how treatments are drawn for them, their table and their map."""

from __future__ import annotations

from typing import Any

from wintersward.lazy import load

_HOMES = {
    "Mark": "marks",
    "amend": "checks",
    "columns": "layouts",
    "draw": "randomise",
    "layout_changed": "checks",
    "layout_faults": "faults",
    "map_alt": "alts",
    "place_concerns": "places",
    "plot_map": "maps",
    "plots_to_fill_in": "plots",
    "read_plot_values": "plot_values",
    "read_plots": "plots",
    "redraw": "checks",
    "sampling_places": "places",
    "treatment_marks": "marks",
    "unit_names": "plots",
    "units": "layouts",
    "write_plots": "plots",
}

__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    """Load a name from its module when it is first asked for."""
    return load(__name__, _HOMES, name)


def __dir__() -> list[str]:
    """List the public names."""
    return __all__
