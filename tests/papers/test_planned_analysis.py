from __future__ import annotations

import pytest

from papers.trial_papers import sound
from wintersward.papers.planned_analysis import hypotheses, planned_analysis
from wintersward.trial import Definition


def steps(definition: Definition) -> dict[str, str]:
    return {step.what: step.words for step in planned_analysis(definition)}


def test_the_hypotheses_of_one_comparison(definition: Definition) -> None:
    assert hypotheses(definition) == [
        (
            "On 24 March 2026, plots with spun-bond fleece and plots with no cover have the same "
            "mean green cover.",
            "The means differ, in either direction: plots with spun-bond fleece have more green "
            "cover, or less.",
        )
    ]


def test_a_family_has_one_pair_of_hypotheses_a_comparison() -> None:
    family = {"each": ["fleece", "woven"], "with": "open"}
    primary = {"measure": "colour_rating", "on": "2026-03-24", "matters_from": 1}
    made = sound("analysis", primary={**primary, "compare": family})
    found = hypotheses(made)
    assert len(found) == 2
    assert "woven permeable cover" in found[1][0]
    assert found[0][1].endswith("higher on plots with spun-bond fleece, or lower.")
    assert "adjusted together by Dunnett's method" in steps(made)["Comparisons made together"]


def test_what_is_not_asked_is_said(definition: Definition) -> None:
    said = steps(definition)
    assert said["Covariate"] == "None."
    assert said["Days gained"] == said["Had the control caught up?"] == "Not asked."
    assert "stands alone; it is not adjusted" in said["Comparisons made together"]
    assert "seed 20260119" in said["Randomisation test"]


def test_what_is_asked_has_its_numbers() -> None:
    said = steps(
        sound(
            "analysis",
            covariate="baseline",
            days_gained={"measure": "green_cover", "level": "60 %"},
            caught_up_within="5 points",
        )
    )
    assert said["Covariate"].startswith("Green cover on 15 January 2026, before the covers went on")
    assert "reaches 60 % of green cover" in said["Days gained"]
    assert (
        "90 % interval of a treatment's lead is below 5 points"
        in said["Had the control caught up?"]
    )


def test_a_test_of_plots_laid_by_hand_is_as_good_as_their_statement() -> None:
    by_hand = {"how": "numbers drawn from a hat.", "signed": "rx", "date": "2026-01-05"}
    said = steps(sound("layout", laid_by_hand=by_hand))["Randomisation test"]
    assert "the test is as good as the statement signed rx" in said
    assert "the draw could have dealt" not in said


def test_a_covariate_that_is_written_out() -> None:
    said = steps(sound("analysis", covariate={"measure": "colour_rating", "on": "baseline"}))
    assert said["Covariate"].startswith("Colour rating on 15 January 2026")


def test_the_sun_as_covariate() -> None:
    said = steps(sound("analysis", covariate="sun_hours"))["Covariate"]
    assert said == (
        "Hours of direct sun a day on each plot under a clear sky, from 9 March 2026 to 24 March "
        "2026, worked out from the declared shade and fixed by the site: a second analysis of the "
        "primary question beside the first, which stands. It only sees how plots differ within "
        "what surrounds them: blocks that follow the shade have taken up most of it."
    )


@pytest.mark.parametrize(
    ("alpha", "outer", "inner"), [(0.05, "95 %", "90 %"), (0.1, "90 %", "80 %")]
)
def test_what_counts_as_met(alpha: float, outer: str, inner: str) -> None:
    said = steps(sound("analysis", alpha=alpha))["What counts as met"]
    assert f"where the whole {outer} interval lies beyond 8 points" in said
    assert f"whole {inner} interval lies within 8 points of zero" in said
