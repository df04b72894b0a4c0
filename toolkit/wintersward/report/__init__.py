"""Pictures, tables, words and the page that leaves the groundskeeper's desk."""

from __future__ import annotations

from typing import Any

from wintersward.lazy import load

_HOMES = {
    "Page": "page",
    "Picture": "picture",
    "Provenance": "page",
    "answer": "words",
    "climate_pictures": "climate_figures",
    "decision_pictures": "decision_figures",
    "demonstration_words": "demonstrating",
    "exploratory_words": "frozen",
    "html_table": "tables",
    "meaning": "meanings",
    "photo_pictures": "photo_sheets",
    "plot_answer": "plotting",
    "plot_arrivals": "plotting",
    "plot_combinations": "plotting",
    "plot_differences": "plotting",
    "plot_means": "plotting",
    "plot_residuals": "plotting",
    "question_text": "words",
    "randomisation_words": "certainty",
    "render": "rendering",
    "report_page": "page",
    "show": "showing",
    "study_pictures": "plotting",
    "valid_trial_words": "demonstrating",
}

__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    """Load a name from its module when it is first asked for."""
    return load(__name__, _HOMES, name)


def __dir__() -> list[str]:
    """List the public names."""
    return __all__
