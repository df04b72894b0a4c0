"""A signed paper names treatments as people do, and tells nobody what to write into a file."""

from __future__ import annotations

import pandas as pd

from papers.trial_papers import drawn, sound
from wintersward.analysis import expectation_words, plan_concerns
from wintersward.papers import weaknesses as module
from wintersward.papers.weaknesses import prospects, weaknesses
from wintersward.trial import Definition
from wintersward.trial.schema import Planning


def test_no_sentence_points_to_the_file(definition: Definition, plots: pd.DataFrame) -> None:
    said = " ".join(prospects(definition, plots) + weaknesses(definition, plots))
    assert "trial.yaml" in " ".join(expectation_words(definition))
    assert "'planning'" in " ".join(one.what for one in plan_concerns(definition, plots))
    assert "trial.yaml" not in said
    assert "'planning" not in said
    assert "standard deviation of 8.2 points" in said


def test_a_spread_of_ones_own_needs_no_file() -> None:
    made = sound("analysis")
    planning = Planning.model_validate({"sd": "6 points"})
    own = made.model_copy(update={"planning": planning})
    said = prospects(own, drawn(own))
    assert said[-1].endswith("to differ by a standard deviation of 6 points.")


def test_names_become_labels_and_labels_stay(definition: Definition) -> None:
    words = "fleece, Spun-bond fleece and green_cover by cover, uncovered, open"
    assert module._labelled(definition, words, True) == (
        "spun-bond fleece, Spun-bond fleece and green cover by cover, uncovered, no cover"
    )
    assert module._labelled(definition, words, False) == words.replace("_", " ")


def test_a_demonstration_is_judged_by_nothing() -> None:
    words = "green_cover is seen, the primary date among them, early; the primary question rests"
    assert module._unjudged(words) == "green_cover is seen early"


def test_a_plan_without_its_control(definition: Definition) -> None:
    primary = {"measure": "green_cover", "on": "2026-03-24", "matters_from": "8 points"}
    made = sound("analysis", primary={**primary, "compare": ["fleece", "woven"]})
    told = weaknesses(made, drawn(made))
    kinds = [one.kind for one in plan_concerns(made, drawn(made))]
    said = told[kinds.index("no control")]
    assert said.startswith("Spun-bond fleece and Woven permeable cover are compared, and not the ")
    assert "No cover" in said
    assert "open" not in said


def test_days_are_those_of_a_letter() -> None:
    made = sound("green_cover", dates=["2026-02-10", "2026-03-24"])
    said = " ".join(weaknesses(made, drawn(made)))
    assert "on 10 February 2026 while covers lie (19 January 2026 to 9 March 2026)" in said


def test_what_is_known_of_the_plots_is_told(definition: Definition, plots: pd.DataFrame) -> None:
    sod = ["new" if one == "open" else "old" for one in plots["cover"]]
    values = pd.DataFrame({"sod_source": sod}).set_axis(plots["plot"])
    assert "sod_source" not in " ".join(weaknesses(definition, plots))
    said = " ".join(weaknesses(definition, plots, values))
    assert "Sod_source within blocks falls together with cover: the two cannot be told" in said


def test_places_that_do_not_fit_are_told_without_what_to_do() -> None:
    made = sound("green_cover", quadrat=["20 ft", "3 ft"])
    told = [one for one in weaknesses(made, drawn(made)) if "of green cover fit, since" in one]
    assert len(told) == 1
    assert told[0].startswith("In each of the plots 101, ")
    assert told[0].endswith(" are sampled.")
