"""A measure of a definition that names its kind."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from wintersward.trial import read_definition
from wintersward.trial.catalogue import CATALOGUE
from wintersward.trial.schema import Instrument, SheetMeasure

Change = Callable[..., list[str]]

PULLS = "    unit: lbf\n    per_plot: 3\n"
RATING = "    scale: 1-9\n"
HARDNESS = """    kind: surface_hardness
    instrument: {missile: 2.25 kg, drop_height: 18 in, drops: 1}
"""


def measure(folder: Path, name: str) -> SheetMeasure:
    definition, problems = read_definition(folder)
    assert definition is not None, problems
    made = definition.measures[name]
    assert isinstance(made, SheetMeasure)
    return made


@pytest.mark.parametrize(("system", "unit"), [("us", "lbf"), ("metric", "N")])
def test_a_kind_brings_the_unit_of_the_reader(
    change: Change, tmp_path: Path, system: str, unit: str
) -> None:
    changes = [(PULLS, "    kind: pull_force\n")]
    if system != "us":
        changes.append(("units: us", f"units: {system}"))
    assert change(*changes) == []
    made = measure(tmp_path, "pull_force")
    assert (made.unit_written, made.unit, made.per_plot) == (unit, "N", 3)
    assert made.destructive is True
    assert made.limits == made.readings == (0.0, None)


def test_a_rating_brings_its_scale_and_takes_words_for_its_marks(
    change: Change, tmp_path: Path
) -> None:
    words = "    kind: colour\n    anchors: {1: straw, 6: green enough, 9: deep green}\n"
    assert change((RATING, words)) == []
    made = measure(tmp_path, "colour_rating")
    assert (made.scale, made.acceptable, made.unit) == ((1.0, 9.0), 6.0, "rating 1-9")
    assert made.anchors == {1.0: "straw", 6.0: "green enough", 9.0: "deep green"}


def test_hardness_keeps_how_it_was_taken(change: Change, tmp_path: Path) -> None:
    assert change((PULLS, HARDNESS)) == []
    made = measure(tmp_path, "pull_force")
    assert isinstance(made.instrument, Instrument)
    assert made.instrument.drops == 1
    # 18 in are 0.4572 m (NIST SP 811, appendix B.8).
    assert (made.instrument.missile, made.instrument.drop_height) == (2.25, 0.4572)
    assert (made.unit, made.per_plot, made.destructive) == ("gravities", 6, False)


def test_a_temperature_may_be_read_within_the_range_of_its_kind(
    change: Change, tmp_path: Path
) -> None:
    assert change((PULLS, "    kind: soil_temperature\n")) == []
    made = measure(tmp_path, "pull_force")
    assert (made.unit_written, made.limits) == ("degF", (None, None))
    assert made.readings == CATALOGUE["soil_temperature"].range


def test_a_kind_alone_has_no_unit_where_nothing_says_whose_units_hold() -> None:
    content = {"from": "sheet", "kind": "pull_force", "dates": ["baseline"]}
    with pytest.raises(ValueError, match="either a scale, such as 1-9, or a unit"):
        SheetMeasure.model_validate(content)
    made = SheetMeasure.model_validate(content, context={"units": "us"})
    assert made.unit_written == "lbf"
    assert SheetMeasure.model_validate(made.model_dump(by_alias=True)) == made


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            PULLS,
            "    kind: pul_force\n",
            "measures.pull_force.kind: found 'pul_force'; allowed: one of "
            f"{', '.join(CATALOGUE)}; did you mean pull_force?",
        ),
        (
            PULLS,
            "    kind: pull_force\n    unit: in\n",
            "measures.pull_force.unit: found 'in'; allowed: N, kgf, lbf; correct the unit, or "
            "the kind",
        ),
        (
            PULLS,
            "    kind: pull_force\n    scale: 1-9\n",
            "measures.pull_force.scale: found '1-9'; allowed: a unit (N, kgf, lbf); write "
            "'unit: ...', or leave out 'kind' for a rating of your own",
        ),
        (
            RATING,
            "    kind: colour\n    unit: lbf\n",
            "measures.colour_rating.unit: found 'lbf'; allowed: a scale, such as 1-9: colour is a "
            "rating; remove the unit",
        ),
        (
            PULLS,
            "    kind: surface_hardness\n",
            "measures.pull_force.instrument: found nothing; allowed: the mass of the missile, its "
            "drop height and the number of drops; add 'instrument: {missile: 2.25 kg, "
            "drop_height: 455 mm, drops: 1}' as yours is",
        ),
        (
            PULLS,
            HARDNESS.replace("surface_hardness", "pull_force"),
            "measures.pull_force.instrument: found a missile; allowed: only beside 'kind: "
            "surface_hardness'; remove it, or name that kind",
        ),
        (
            PULLS,
            HARDNESS.replace("2.25 kg", "2.25"),
            "measures.pull_force.instrument.missile: found '2.25'; allowed: a number and a unit "
            "(kg, g, lb, oz), such as '2.25 kg'",
        ),
        (
            PULLS,
            HARDNESS.replace("drops: 1", "drops: 0"),
            "measures.pull_force.instrument.drops: found '0'; allowed: 1 or more",
        ),
        (
            PULLS,
            PULLS + "    anchors: {1: none}\n",
            "measures.pull_force.anchors: found words for marks; allowed: only beside a scale",
        ),
        (
            RATING,
            RATING + "    anchors: {1: straw, 10: deep green}\n",
            "measures.colour_rating.anchors: found words for 10; allowed: marks from 1 to 9",
        ),
    ],
)
def test_what_contradicts_a_kind_is_told_where_it_stands(
    change: Change, old: str, new: str, said: str
) -> None:
    (problem,) = change((old, new))
    place, _, rest = problem.partition("measures.")
    assert place.startswith("trial.yaml:")
    assert f"measures.{rest}" == f"measures.{said.partition('measures.')[2]}"


def test_a_wider_scale_is_its_own_range(change: Change, tmp_path: Path) -> None:
    assert change((RATING, "    kind: colour\n    scale: 0-10\n")) == []
    made = measure(tmp_path, "colour_rating")
    assert (made.limits, made.readings, made.acceptable) == ((0.0, 10.0), (0.0, 10.0), None)


def test_what_a_force_was_read_with_is_kept_in_words(change: Change, tmp_path: Path) -> None:
    words = "gauge to 100 lbf, frame of 6 in by 6 in, pulled straight up"
    assert change((PULLS, f"{PULLS}    settings: {words}\n")) == []
    assert measure(tmp_path, "pull_force").settings == words


def test_a_mark_has_no_settings(change: Change) -> None:
    (said,) = change((RATING, f"{RATING}    settings: by eye\n"))
    assert "measures.colour_rating.settings" in said
    assert "only beside a unit" in said
