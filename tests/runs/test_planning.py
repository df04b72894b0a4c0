from __future__ import annotations

from pathlib import Path

import pytest

from wintersward.design import redraw
from wintersward.errors import WinterswardError
from wintersward.runs.planning import plan


def edit(study: Path, old: str, new: str) -> None:
    path = study / "trial.yaml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def drawn(study: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in (study / "plan").iterdir()}


def test_plots_are_drawn_with_both_maps(study: Path) -> None:
    made = plan(study)
    assert (made.study, made.plots, made.drawn, made.seed) == (study, 16, True, 42)
    assert sorted(drawn(study)) == ["plot_map.svg", "plot_map_rater.svg", "plots.csv"]
    assert len((study / "plan" / "plots.csv").read_text().splitlines()) == 17


def test_the_map_for_raters_is_another_picture(study: Path) -> None:
    plan(study)
    files = drawn(study)
    assert files["plot_map.svg"] != files["plot_map_rater.svg"]


def test_the_same_definition_gives_the_same_bytes(study: Path, tmp_path: Path) -> None:
    plan(study)
    again = tmp_path / "again"
    again.mkdir()
    (again / "trial.yaml").write_bytes((study / "trial.yaml").read_bytes())
    plan(again)
    assert drawn(again) == drawn(study)


def test_planned_again_the_plots_stay_and_the_maps_are_drawn(study: Path) -> None:
    plan(study)
    before = drawn(study)
    (study / "plan" / "plot_map.svg").unlink()
    stamp = (study / "plan" / "plots.csv").stat().st_mtime_ns
    assert plan(study).drawn is False
    assert drawn(study) == before
    assert (study / "plan" / "plots.csv").stat().st_mtime_ns == stamp


def test_a_change_that_is_no_layout_keeps_the_plan(study: Path) -> None:
    plan(study)
    edit(study, "label: Fleece", "label: Spun-bond fleece")
    assert plan(study).drawn is False


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("blocks: 4", "blocks: 5", "The plan has 4 blocks; the definition says 5."),
        ("seed: 0042", "seed: 43", "The seed 43 gives"),
        ("[10 ft, 6 ft]", "[10 ft, 8 ft]", "the definition says 8 ft"),
        ("alley: 2 ft", "alley: 3 ft", "plots lie elsewhere"),
        (
            "fleece: {label: Fleece}}",
            "fleece: {label: Fleece}, woven: {label: Woven}}",
            "The plan has the levels",
        ),
    ],
)
def test_a_changed_layout_is_told_and_nothing_is_overwritten(
    study: Path, old: str, new: str, said: str
) -> None:
    plan(study)
    before = drawn(study)
    edit(study, old, new)
    with pytest.raises(WinterswardError) as caught:
        plan(study)
    problems = [str(problem) for problem in caught.value.problems]
    assert any(problem.startswith("plan/plots.csv: ") and said in problem for problem in problems)
    assert problems[-1] == (
        "the plots were drawn from another definition and are not drawn again; " + redraw(study)
    )
    assert drawn(study) == before


def test_a_plan_that_is_no_plan(study: Path) -> None:
    (study / "plan").mkdir()
    (study / "plan" / "plots.csv").write_text("name\nfirst\n")
    with pytest.raises(WinterswardError, match="plan/plots.csv, row 1.*found no column plot"):
        plan(study)
    assert drawn(study) == {"plots.csv": b"name\nfirst\n"}


def test_a_definition_with_problems(study: Path) -> None:
    edit(study, "units: us", "units: yards")
    with pytest.raises(WinterswardError, match="units: found 'yards'"):
        plan(study)
    assert not (study / "plan").exists()
