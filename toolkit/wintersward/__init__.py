"""Formal winter-cover trials on sports turf, from the plan to the report that is handed in.

The names below are loaded when they are first asked for, so that ``import wintersward``
and a quick check of a definition stay quick.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wintersward.lazy import load

if TYPE_CHECKING:
    from wintersward.analysis import analyse, climate_tables, model_for
    from wintersward.analysis.days_gained import days_gained
    from wintersward.analysis.power import power
    from wintersward.climate.degree_days import degree_days
    from wintersward.decisions.aeration import aeration_area
    from wintersward.decisions.readiness import readiness
    from wintersward.design import plot_map
    from wintersward.errors import Problem, WinterswardError
    from wintersward.models import Repeated, fit_mixed
    from wintersward.photos import GreenWindow, green_mask, score_photo, score_photos
    from wintersward.report import (
        decision_pictures,
        photo_pictures,
        plot_answer,
        plot_combinations,
        plot_differences,
        plot_means,
        report_page,
        show,
        study_pictures,
    )
    from wintersward.runs import check, open_record, plan, run
    from wintersward.study import Trial, open_study

__version__ = "0.1.0"

_HOMES = {
    "GreenWindow": "photos",
    "Problem": "errors",
    "Repeated": "models",
    "Trial": "study",
    "WinterswardError": "errors",
    "aeration_area": "decisions.aeration",
    "analyse": "analysis",
    "check": "runs",
    "climate_tables": "analysis",
    "days_gained": "analysis.days_gained",
    "decision_pictures": "report",
    "decision_tables": "decisions",
    "degree_days": "climate.degree_days",
    "fit_mixed": "models",
    "green_mask": "photos",
    "model_for": "analysis",
    "open_record": "runs",
    "open_study": "study",
    "photo_pictures": "report",
    "plan": "runs",
    "plot_answer": "report",
    "plot_combinations": "report",
    "plot_differences": "report",
    "plot_map": "design",
    "plot_means": "report",
    "power": "analysis.power",
    "readiness": "decisions.readiness",
    "report_page": "report",
    "run": "runs",
    "score_photo": "photos",
    "score_photos": "photos",
    "show": "report",
    "study_pictures": "report",
}

__all__ = [
    "GreenWindow",
    "Problem",
    "Repeated",
    "Trial",
    "WinterswardError",
    "__version__",
    "aeration_area",
    "analyse",
    "check",
    "climate_tables",
    "days_gained",
    "decision_pictures",
    "decision_tables",
    "degree_days",
    "fit_mixed",
    "green_mask",
    "model_for",
    "open_record",
    "open_study",
    "photo_pictures",
    "plan",
    "plot_answer",
    "plot_combinations",
    "plot_differences",
    "plot_map",
    "plot_means",
    "power",
    "readiness",
    "report_page",
    "run",
    "score_photo",
    "score_photos",
    "show",
    "study_pictures",
]


def __getattr__(name: str) -> Any:
    """Load a name from its module when it is first asked for."""
    return load(__name__, _HOMES, name)
