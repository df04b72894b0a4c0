"""Bad plans, each named with what to do instead; good ones, of which nothing is said."""

from __future__ import annotations

import re
from pathlib import Path

import pandas as pd
import pytest

from analysis.planned import BLOCKS, SOUND, one_factor, planned, shown_only
from wintersward import design
from wintersward.analysis import plan_concerns
from wintersward.analysis.concerns import KINDS, Concern
from wintersward.analysis.sun_values import FROM_SHADE
from wintersward.trial import Definition
from wintersward.trial.schema import LaidByHand

# A spread with which the primary question of the sound definition can be answered.
OWN = ("  alpha: 0.05\n", "  alpha: 0.05\nplanning: {sd: 3 points}\n")
Change = tuple[str, str]
# The sound definition, so changed that nothing about the work in the field is left to say.
CAREFUL = (
    SOUND.replace("latitude: 43.1", "latitude: 38.1")
    .replace("role: extension agent", "role: coach")
    .replace("alley: 2 ft", "alley: 6 ft")
    .replace("    per_plot: 1\n", "    per_plot: 3\n    quadrat: [3 ft, 3 ft]\n")
)
PHOTOS = "    per_plot: 3\n    quadrat: [3 ft, 3 ft]\n    dates: [baseline, visits]"


def careful(folder: Path, *changes: Change) -> Definition:
    return planned(folder, *changes, text=CAREFUL)


def kinds(definition: Definition) -> list[str]:
    return [one.kind for one in plan_concerns(definition)]


def only(definition: Definition, kind: str) -> Concern:
    (found,) = (one for one in plan_concerns(definition) if one.kind == kind)
    return found


def test_of_a_good_plan_nothing_is_said(tmp_path: Path) -> None:
    good = careful(tmp_path, OWN)
    plots = design.draw(good)
    sun = pd.DataFrame({"sun_hours": plots["block"].astype(float)}).set_axis(plots["plot"])
    assert plan_concerns(good, plots, sun) == []


def test_a_demonstration(tmp_path: Path) -> None:
    shown = shown_only(careful(tmp_path))
    assert kinds(shown) == ["demonstration"]
    assert only(shown, "demonstration").field == "layout.kind"


CASES: dict[str, tuple[tuple[Change, ...], str, list[str]]] = {
    "no control": (
        (("[fleece, open]", "[fleece, woven]"),),
        "analysis.primary.compare",
        ["Spun-bond fleece and Woven permeable cover are compared, and not the control, No cover",
         "compare with open"],
    ),
    "under covers": (
        (
            (PHOTOS, PHOTOS.replace("baseline, visits", "baseline, 2026-02-02, visits")),
        ),
        "measures.green_cover.dates",
        ["photographed on 2026-02-02 while covers lie (2026-01-19 to 2026-03-09)"],
    ),
    "no baseline": (
        (
            (PHOTOS, PHOTOS.replace("baseline, ", "")),
        ),
        "measures.green_cover.dates",
        ["not observed before the covers go on", "on or before covers_on (2026-01-19)"],
    ),
    "after play": (
        (
            ("first_event: 2026-04-18", "first_event: 2026-04-10"),
            ("on: 2026-03-24", "on: 2026-04-17"),
        ),
        "analysis.primary.on",
        ["2026-04-17, lies after the first event"],
    ),
    "single rater": (
        (("raters: [te, rx]", "raters: [te]"),),
        "measures.colour_rating.raters",
        ["rated by te alone", "name a second rater"],
    ),
    "typed seed": (
        (("seed: 20260119", "seed: 1"),),
        "layout.seed",
        ["1 looks typed"],
    ),
    "small sample": (
        (("quadrat: [3 ft, 3 ft]", "quadrat: [1 ft, 1 ft]"),),
        "measures.green_cover.per_plot",
        # 3 of the 8 by 4 square feet inside the edge.
        ["photos show 9.4 % of the part", "10 % or more"],
    ),
    "too small to see": (
        ((OWN[0], OWN[1].replace("3 points", "5 points")),),
        "layout.blocks",
        ["show 9 points or more, while 8 points matter",
         "first correct for how the plots were before",
         "then compare fewer treatments", "then repeat the trial in a second season",
         "and only then: take 8 blocks, which are 48 plots"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", CASES)
def test_a_bad_plan_is_named(tmp_path: Path, kind: str) -> None:
    changes, field, said = CASES[kind]
    bad = careful(tmp_path, *changes, *(() if kind == "too small to see" else (OWN,)))
    assert kinds(bad) == [kind]
    found = only(bad, kind)
    assert found.field == field
    for part in said:
        assert part in str(found)


@pytest.mark.parametrize(
    ("change", "field", "said"),
    [
        (
            ("edge_left_out: 1 ft", "edge_left_out: 2.5 ft"),
            "layout.plot_size",
            "inside its edge a plot has 5 by 1 ft to sample, less than 1 m2",
        ),
        (
            ("quadrat: [3 ft, 3 ft]", "quadrat: [9 ft, 3 ft]"),
            "measures.green_cover.quadrat",
            "a photo shows 9 by 3 ft, and inside its edge a plot has 8 by 4 ft",
        ),
    ],
)
def test_plots_that_are_smaller_than_what_is_sampled(
    tmp_path: Path, change: Change, field: str, said: str
) -> None:
    told = [one for one in plan_concerns(careful(tmp_path, OWN, change)) if one.field == field]
    assert [one.kind for one in told] == ["small plot"]
    assert said in told[0].what


def test_a_photo_that_just_fits_is_no_concern(tmp_path: Path) -> None:
    assert kinds(careful(tmp_path, OWN, ("quadrat: [3 ft, 3 ft]", "quadrat: [8 ft, 4 ft]"))) == []


@pytest.mark.parametrize(
    ("blocks", "kind", "df", "instead"),
    [(3, "too few degrees of freedom", 4, 6), (4, "thin degrees of freedom", 6, 6)],
)
def test_few_degrees_of_freedom(
    tmp_path: Path, blocks: int, kind: str, df: int, instead: int
) -> None:
    found = only(one_factor(tmp_path, OWN, (BLOCKS, BLOCKS.replace("4", str(blocks)))), kind)
    assert found.what.startswith(f"{df} degrees of freedom")
    assert f"with {blocks} blocks" in found.what
    assert found.instead == f"take {instead} blocks, which leave 10 or more"


def test_a_randomisation_test_that_cannot_reach_alpha(tmp_path: Path) -> None:
    found = only(one_factor(tmp_path, OWN, ("  blocks: 4", "  blocks: 5")), "randomisation test")
    # Two of 2^5 ways.
    assert "less than 0.062, " in found.what
    # So many leave 10 degrees of freedom too, and are named there.
    assert found.instead == "take as many as the line on degrees of freedom asks for"
    assert "randomisation test" not in kinds(planned(tmp_path / "six"))


def test_a_square_is_sent_to_blocks(tmp_path: Path) -> None:
    found = plan_concerns(one_factor(tmp_path, layout="  kind: latin square\n"))
    judged = [one for one in found if one.field == "layout.kind"]
    assert [one.kind for one in judged] == [
        "too few degrees of freedom",
        "randomisation test",
        "too small to see",
    ]
    assert all("take randomised blocks, " in one.instead for one in judged)
    assert judged[0].instead == (
        "take randomised blocks, as many as the line on what can be expected asks for"
    )
    assert judged[2].instead.endswith(
        "and only then: take randomised blocks, 18 of them, which are 54 plots"
    )


@pytest.mark.parametrize(
    ("sd", "largest"), [("3 points", "degrees of freedom"), ("8 points", "too small to see")]
)
def test_the_largest_number_of_blocks_is_named_once(tmp_path: Path, sd: str, largest: str) -> None:
    own = (OWN[0], OWN[1].replace("3 points", sd))
    found = plan_concerns(one_factor(tmp_path, own, ("  blocks: 4", "  blocks: 2")))
    judged = [one for one in found if one.field == "layout.blocks"]
    assert len(judged) == 3
    numbered = [one for one in judged if re.search(r"take \d+ blocks", one.instead)]
    assert len(numbered) == 1
    assert largest in numbered[0].kind
    word = "what can be expected" if "too small" in largest else largest
    others = [one for one in judged if one is not numbered[0]]
    assert all(f"take as many as the line on {word} asks for" in one.instead for one in others)


def test_a_spread_that_is_not_your_own_is_said(tmp_path: Path) -> None:
    found = only(planned(tmp_path), "too small to see")
    assert "not your own" in found.what
    assert found.instead.startswith("first measure how much your own plots differ, by photos of")
    assert found.instead.endswith("and only then: take 18 blocks, which are 108 plots")


@pytest.mark.parametrize(
    ("amount", "said"), [("1 points", "1 point matters"), ("2 points", "2 points matter")]
)
def test_one_point_matters(tmp_path: Path, amount: str, said: str) -> None:
    found = only(planned(tmp_path, ("8 points", amount)), "too small to see")
    assert f"while {said}, " in found.what


def test_values_that_go_with_a_treatment(tmp_path: Path) -> None:
    split = careful(tmp_path, OWN)
    plots = design.draw(split)
    sod = pd.DataFrame({"sod_source": ["new" if c == "open" else "old" for c in plots["cover"]]})
    (found,) = plan_concerns(split, plots, sod.set_axis(plots["plot"]))
    assert str(found) == (
        "plan/plot_values.csv: sod_source within blocks falls together with cover: the two cannot "
        "be told apart afterwards. Instead: form blocks by sod_source (the advice on blocking "
        "tells how) and draw anew before anything is observed, or name sod_source as a limit of "
        "the trial."
    )


def test_sun_that_goes_with_a_treatment_points_to_the_shade(tmp_path: Path) -> None:
    split = careful(tmp_path, OWN)
    plots = design.draw(split)
    sun = pd.DataFrame({FROM_SHADE: [6.0 if c == "open" else 9.0 for c in plots["cover"]]})
    (found,) = plan_concerns(split, plots, sun.set_axis(plots["plot"]))
    assert str(found).startswith(
        "site.shade: sun_hours (worked out from the declared shade) within blocks falls together "
        "with cover ("
    )


def test_concerns_are_sorted_the_worst_first(tmp_path: Path) -> None:
    bad = one_factor(
        tmp_path,
        ("[fleece, open]", "[fleece, woven]"),
        ("raters: [te, rx]", "raters: []"),
        ("seed: 20260119", "seed: 0"),
        ("  blocks: 4", "  blocks: 3"),
    )
    found = plan_concerns(bad)
    ranks = [KINDS.index(one.kind) for one in found]
    assert ranks == sorted(ranks)
    assert [one.kind for one in found] == [
        "no control",
        "too few degrees of freedom",
        "randomisation test",
        "too small to see",
        "winter baseline",
        "single rater",
        "photos",
        "typed seed",
    ]
    assert all("\n" not in str(one) for one in found)
    assert "no rater is named" in found[5].what


def by_hand(definition: Definition) -> Definition:
    hand = LaidByHand.model_validate({"how": "as they came", "signed": "rx", "date": "2026-01-10"})
    layout = definition.layout.model_copy(update={"laid_by_hand": hand})
    return definition.model_copy(update={"layout": layout})


def test_one_order_everywhere_is_told_first_and_once(tmp_path: Path) -> None:
    hand = by_hand(one_factor(tmp_path))
    plots = design.draw(hand)
    plots["cover"] = pd.Categorical(["open", "fleece", "woven"] * 4, plots["cover"].cat.categories)
    first, *others = plan_concerns(hand, plots)
    assert first.kind == "order by choice"
    # Three covers in four blocks: 3! to the third.
    assert first.what.startswith(
        "in every block cover lies in the same order (No cover, Spun-bond fleece, Woven permeable "
        "cover), as chance does once in 216 times: it looks like choice and not chance"
    )
    assert "no randomisation test and no promise" in first.what
    assert "aliased" not in [one.kind for one in others]


def test_the_starter_is_faulted_only_for_what_the_field_must_answer(tmp_path: Path) -> None:
    path = Path(__file__).parents[2] / "templates" / "starter" / "trial.yaml"
    text = path.read_text(encoding="utf-8").replace("{{ seed }}", "20260119")
    starter = planned(tmp_path, text=text.replace("{{ year }}", "2026"))
    found = [one.kind for one in plan_concerns(starter, design.draw(starter))]
    assert found == ["aerator between plots", "nobody blind", "photos"]
