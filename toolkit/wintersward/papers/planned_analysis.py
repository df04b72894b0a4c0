"""The analysis as it will run, in words that follow from the definition alone."""

from __future__ import annotations

from dataclasses import dataclass

from wintersward.report.adjusting import adjust_words
from wintersward.report.methods import surroundings_words
from wintersward.report.numbers import day_text, level_text
from wintersward.report.views import measure_view, plots_with
from wintersward.report.words import difference_text, matters_text
from wintersward.trial import Definition
from wintersward.trial.dates import dates_meant
from wintersward.trial.questions import Covariate
from wintersward.trial.shade import sun_span

__all__ = ["AnalysisStep", "hypotheses", "planned_analysis"]


@dataclass(frozen=True)
class AnalysisStep:
    """One thing that will be done with the data.

    Parameters
    ----------
    what : str
        Its name.
    words : str
        How it will be done.
    """

    what: str
    words: str


def hypotheses(definition: Definition) -> list[tuple[str, str]]:
    """Say what each comparison of the primary question supposes, and what stands against it.

    Returns
    -------
    list of (str, str)
        Null and alternative hypothesis, one pair a comparison.
    """
    primary = definition.analysis.primary
    noun = measure_view(definition, primary.measure).noun
    day = day_text(dates_meant(definition.dates, primary.on)[0])
    found = []
    for left, right in primary.pairs:
        one, other = plots_with(definition, left), plots_with(definition, right)
        null = f"On {day}, {one} and {other} have the same mean {noun}."
        against = f"The means differ, in either direction: {one} have more {noun}, or less."
        if measure_view(definition, primary.measure).rated:
            against = f"The means differ, in either direction: higher on {one}, or lower."
        found.append((null, against))
    return found


def planned_analysis(definition: Definition) -> list[AnalysisStep]:
    """List what will be done with the data, the primary question first.

    Parameters
    ----------
    definition : Definition
        The trial.

    Returns
    -------
    list of AnalysisStep
    """
    return [
        AnalysisStep("The primary question", _primary(definition)),
        AnalysisStep("What counts as met", _met(definition)),
        AnalysisStep("Everything else", _others(definition)),
        AnalysisStep("Comparisons made together", _together(definition)),
        AnalysisStep("Randomisation test", _randomisation(definition)),
        AnalysisStep("Covariate", _covariate(definition)),
        AnalysisStep("Days gained", _days_gained(definition)),
        AnalysisStep("Had the control caught up?", _caught_up(definition)),
        AnalysisStep("What may be left out", _left_out()),
    ]


def _primary(definition: Definition) -> str:
    around = surroundings_words(definition)
    fixed = f", with what surrounds them ({around}) taken as fixed" if around else ""
    level = level_text(definition.analysis.alpha)
    return (
        "From the means of the experimental units on that date, in original units, by least "
        f"squares{fixed}; a t test and a {level} interval with the degrees of freedom above. "
        "No model is chosen by the data, and nothing is compared before every planned "
        "observation of that date is there, set aside with a reason, or declared missing."
    )


def _met(definition: Definition) -> str:
    matters, alpha = matters_text(definition), definition.analysis.alpha
    return (
        f"The smallest difference worth acting on is {matters}. It counts as met where the whole "
        f"{level_text(alpha)} interval lies beyond {matters}; as too small to act on where the "
        f"whole {level_text(2 * alpha)} interval lies within {matters} of zero, up or down; "
        "anything else is said as it is: a difference of open size, or that these data cannot "
        "tell."
    )


def _others(definition: Definition) -> str:
    return (
        "Every measure on every date after the covers went on, by a mixed model that follows the "
        "layout (restricted maximum likelihood, degrees of freedom of Kenward and Roger); all "
        "dates in one model; averages over the season. All of it is secondary: a lead, not an "
        "answer. What is seen before the covers go on is shown and never compared."
    )


def _together(definition: Definition) -> str:
    # How a declared family is adjusted: wintersward.analysis.primary does the same.
    family = len(definition.analysis.primary.pairs) > 1
    return adjust_words(definition, "dunnett" if family else "none")


def _randomisation(definition: Definition) -> str:
    laid = definition.layout.laid_by_hand
    if laid is not None:
        return (
            "The primary question again, by exchanging the treatments as the layout allows: all "
            f"ways where they are few, else drawn from the seed {definition.layout.seed}. The "
            "plots were laid by hand: the test is as good as the statement signed "
            f"{laid.signed}, by which chance dealt the treatments. It supports the answer and does "
            "not replace it."
        )
    return (
        "The primary question again, by exchanging the treatments as the draw could have dealt "
        "them: all ways where they are few, else drawn from the seed "
        f"{definition.layout.seed}. It supports the answer and does not replace it."
    )


def _covariate(definition: Definition) -> str:
    asked = definition.analysis.covariate
    if asked == "none":
        return "None."
    if asked == "sun_hours":
        return _sun(definition)
    if isinstance(asked, Covariate):
        name, on = asked.measure, asked.on
    else:
        name, on = definition.analysis.primary.measure, "baseline"
    day = day_text(dates_meant(definition.dates, on)[0])
    return (
        f"{measure_view(definition, name).label} on {day}, before the covers went on: a second "
        "analysis of the primary question beside the first, which stands."
    )


def _sun(definition: Definition) -> str:
    first, last = sun_span(definition.dates, definition.analysis.primary.on)
    when = f"from {day_text(first)} to {day_text(last)}" if first < last else f"on {day_text(last)}"
    around = ""
    if surroundings_words(definition):
        around = (
            " It only sees how plots differ within what surrounds them: blocks that follow the "
            "shade have taken up most of it."
        )
    return (
        f"Hours of direct sun a day on each plot under a clear sky, {when}, worked out from the "
        "declared shade and fixed by the site: a second analysis of the primary question beside "
        f"the first, which stands.{around}"
    )


def _days_gained(definition: Definition) -> str:
    asked = definition.analysis.days_gained
    if asked is None:
        return "Not asked."
    view = measure_view(definition, asked.measure)
    level = f"{view.value(asked.level.value):.4g}{f' {view.unit}' if view.unit else ''}"
    return (
        f"The day on which each unit reaches {level} of {view.noun}, between visits by a straight "
        "line; treatments compared with their control in days. A unit that was there at the "
        "first visit, or never got there, counts at its bound and is never dropped."
    )


def _caught_up(definition: Definition) -> str:
    margin = definition.analysis.caught_up_within
    if margin is None:
        return "Not asked."
    primary = definition.analysis.primary
    noun = measure_view(definition, primary.measure).noun
    said = difference_text(definition, primary.measure, margin.value)
    level = level_text(2 * definition.analysis.alpha)
    return (
        f"On the last visit, by {noun}: the control has caught up where the upper end of the "
        f"{level} interval of a treatment's lead is below {said}, and has not where the lower "
        "end is above it."
    )


def _left_out() -> str:
    return (
        "Only what the diary sets aside, with the reason, in the report; the primary question is "
        "answered with and without it."
    )
