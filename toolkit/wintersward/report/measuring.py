"""How each measure was taken, in words that follow from its definition."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wintersward.report.cautions import UNSOURCED
from wintersward.report.climate import temperature_measures
from wintersward.report.methods import measure_words, photo_words
from wintersward.report.numbers import counted
from wintersward.report.views import measure_view, quantity
from wintersward.trial.catalogue import measure_kind
from wintersward.trial.schema import Definition, LoggerMeasure, PhotoMeasure, SheetMeasure

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["measurements_context", "taking_words"]

# The rules of the photo lists, in short; a test holds them to the lists.
_HOURS = {"us": "10 am and 2 pm", "metric": "10 and 14 h"}
_PHOTOGRAPHED = (
    "How the camera was held, in what light and at what hour, the definition does not tell. The "
    "photo lists ask for one camera at the same height, pointing straight down, in steady light "
    "between {hours} or under an even overcast sky, with exposure and white balance locked or "
    f"a photo of a grey card ({UNSOURCED})."
)


def measurements_context(page: Page) -> dict[str, Any]:
    """Fill the section on the measurements, in the definition's order."""
    definition = page.definition
    return {
        "measures": [
            {
                "label": measure_view(definition, name).label,
                "how": measure_words(definition, name),
                "more": taking_words(definition, name),
            }
            for name in definition.measures
        ],
        "photo_rules": photo_words(definition),
        "degrees": bool(temperature_measures(definition)),
        "system": "US customary" if definition.units == "us" else "metric",
    }


def taking_words(definition: Definition, name: str) -> list[str]:
    """Say what the definition holds of how a measure is taken, beyond how often and when.

    Parameters
    ----------
    definition : Definition
        The trial.
    name : str
        A measure of it.

    Returns
    -------
    list of str
        Sentences; none where the definition says no more.
    """
    measure, system = definition.measures[name], definition.units
    if isinstance(measure, PhotoMeasure):
        return [_quadrat(measure, system), _PHOTOGRAPHED.format(hours=_HOURS[system])]
    if isinstance(measure, LoggerMeasure):
        taken = measure.logged
        said = [
            f"{taken.protocol.rstrip('.')} ({taken.source}).",
            f"A day counts when at least {measure.complete:g} % of it was seen.",
        ]
        if measure.band is not None:
            low, high = (quantity(end, "temperature", system) for end in measure.band)
            said.append(
                f"Hours of each day from {low} to {high}, a band that this study names, stand "
                "in daily_facts.csv."
            )
        return said
    said = [*_kind(measure), *_scale(measure), *_second_looks(measure)]
    if measure.instrument is not None:
        held = measure.instrument
        said.append(
            f"The missile weighs {quantity(held.missile, 'mass', system)} and falls "
            f"{quantity(held.drop_height, 'distance', system)}, {counted(held.drops, 'drop')} a "
            "reading; values of another missile, height or drop do not compare."
        )
    if measure.settings is not None:
        said.append(f"Read with: {measure.settings.rstrip('.')}.")
    if measure.destructive:
        said.append("A reading takes turf away, so that no spot is read twice.")
    return said


def _quadrat(measure: PhotoMeasure, system: str) -> str:
    if measure.quadrat is None:
        return "The definition names no quadrat: how much turf a photo shows is not told."
    sides = " by ".join(quantity(side, "distance", system) for side in measure.quadrat)
    return f"Each photo shows a quadrat of {sides}."


def _kind(measure: SheetMeasure) -> list[str]:
    if measure.kind is None:
        told = measure.scale or measure.settings
        return [] if told else ["The definition does not say how a reading is taken."]
    kind = measure_kind(measure.kind)
    return [f"{kind.protocol.rstrip('.')} ({kind.source})."]


def _scale(measure: SheetMeasure) -> list[str]:
    said = []
    if measure.anchors:
        marks = ", ".join(f"{mark:g} {words}" for mark, words in sorted(measure.anchors.items()))
        said.append(f"The marks mean: {marks}.")
    elif measure.scale is not None:
        said.append("The definition does not say what the marks mean.")
    if measure.acceptable is not None:
        said.append(f"{measure.acceptable:g} is the lowest acceptable mark.")
    return said


def _second_looks(measure: SheetMeasure) -> list[str]:
    if not measure.repeat_share:
        return []
    return [
        f"On each date every rater looks at about {measure.repeat_share:g} % of the plots a second "
        "time; second looks enter no mean."
    ]
