"""Pictures, tables, words and the page that leaves the groundskeeper's desk."""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOME = {
    "Page": "page",
    "Picture": "figures",
    "Provenance": "page",
    "answer": "words",
    "html_table": "tables",
    "meaning": "words",
    "photo_sheet": "showing",
    "plot_answer": "plotting",
    "plot_combinations": "plotting",
    "plot_differences": "plotting",
    "plot_means": "plotting",
    "render": "rendering",
    "report_page": "page",
    "show": "showing",
    "study_pictures": "plotting",
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
