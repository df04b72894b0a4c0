from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from runs.conftest import DEFINITION
from wintersward.design import redraw
from wintersward.errors import WinterswardError
from wintersward.paths import command
from wintersward.runs.planning import TO_FILL_IN, plan

MAPS = ["plot_map.png", "plot_map.svg", "plot_map_rater.png", "plot_map_rater.svg"]
HAND = "  laid_by_hand: {how: slips from a hat, signed: rx, date: 2026-01-10}\n  seed:"
GROUNDS = "  grounds: {upper: Upper field, lower: Lower field}\n  seed:"


def edit(study: Path, old: str, new: str) -> None:
    path = study / "trial.yaml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def drawn(study: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in (study / "plan").iterdir()}


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The study, planned; not to be changed."""
    folder = tmp_path_factory.mktemp("planned") / "study"
    folder.mkdir()
    (folder / "trial.yaml").write_text(DEFINITION, encoding="utf-8", newline="")
    plan(folder)
    return folder


@pytest.fixture
def planned(once: Path, study: Path) -> Path:
    """The study, planned before."""
    return shutil.copytree(once, study, dirs_exist_ok=True)


def test_plots_are_drawn_with_both_maps(study: Path) -> None:
    made = plan(study)
    assert (made.study, made.plots, made.drawn, made.seed) == (study, 16, True, 42)
    assert sorted(drawn(study)) == [*MAPS, "plots.csv"]
    assert made.said == "plan/plots.csv: 16 plots, drawn with the seed 42"
    assert made.written["plot_map.svg"] == "with the treatments"
    assert made.complete
    assert len((study / "plan" / "plots.csv").read_text().splitlines()) == 17


def test_the_map_for_raters_is_another_picture(planned: Path) -> None:
    files = drawn(planned)
    assert files["plot_map.svg"] != files["plot_map_rater.svg"]


def test_the_same_definition_gives_the_same_bytes(study: Path, tmp_path: Path) -> None:
    plan(study)
    again = tmp_path / "again"
    again.mkdir()
    (again / "trial.yaml").write_bytes((study / "trial.yaml").read_bytes())
    plan(again)
    assert drawn(again) == drawn(study)


def test_planned_again_the_plots_stay_and_the_maps_are_drawn(planned: Path) -> None:
    before = drawn(planned)
    (planned / "plan" / "plot_map.svg").unlink()
    stamp = (planned / "plan" / "plots.csv").stat().st_mtime_ns
    assert plan(planned).drawn is False
    assert drawn(planned) == before
    assert (planned / "plan" / "plots.csv").stat().st_mtime_ns == stamp


def test_a_change_that_is_no_layout_keeps_the_plan(planned: Path) -> None:
    edit(planned, "label: Fleece", "label: Spun-bond fleece")
    assert plan(planned).drawn is False


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
    planned: Path, old: str, new: str, said: str
) -> None:
    before = drawn(planned)
    edit(planned, old, new)
    with pytest.raises(WinterswardError) as caught:
        plan(planned)
    problems = [str(problem) for problem in caught.value.problems]
    assert any(problem.startswith("plan/plots.csv: ") and said in problem for problem in problems)
    assert problems[-1] == (
        "the plots were drawn from another definition and are not drawn again; " + redraw(planned)
    )
    assert drawn(planned) == before


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


def test_each_ground_has_maps_of_its_own(study: Path) -> None:
    edit(study, "  seed:", GROUNDS)
    made = plan(study)
    assert made.plots == 32
    assert set(made.written) == {
        f"plot_map{copy}_{ground}.{kind}"
        for copy in ("", "_rater")
        for ground in ("upper", "lower")
        for kind in ("svg", "png")
    }
    assert made.written["plot_map_rater_lower.svg"] == (
        "map of Lower field without the treatments, for raters"
    )
    assert plan(study).drawn is False


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (
            "  areas_left_out:\n    - {what: drain, at: [0 ft, 7 ft], size: [5 ft, 2 ft]}\n",
            "trial.yaml:32:7: layout.areas_left_out.1: found drain, on which plot 201 would lie; "
            "allowed: areas without plots; move the block by block_places, or choose another "
            "plot_size or blocks_side_by_side",
        ),
        (
            "  block_places: [[0 ft, 0 ft], [0 ft, 20 ft], [0 ft, 24 ft], [0 ft, 40 ft]]\n",
            "trial.yaml:31:47: layout.block_places.3: found block 3, which would lie on block 2; "
            "allowed: blocks that do not lie on one another; move one of them",
        ),
    ],
)
def test_plots_that_cannot_lie_there_are_told_by_line(study: Path, lines: str, said: str) -> None:
    edit(study, "  seed:", f"{lines}  seed:")
    with pytest.raises(WinterswardError) as caught:
        plan(study)
    assert str(caught.value) == said
    assert not (study / "plan").exists()


def test_an_area_found_later_is_told_by_plot(planned: Path) -> None:
    edit(planned, "  seed:", "  areas_left_out:\n    - {what: drain, at: [0 ft, 7 ft], "
         "size: [5 ft, 2 ft]}\n  seed:")  # fmt: skip
    with pytest.raises(WinterswardError, match=r"row 6.*plot 201, which lies on .*\(drain\)"):
        plan(planned)


class TestLaidByHand:
    def test_a_table_to_fill_in_comes_first(self, study: Path) -> None:
        edit(study, "  seed:", HAND)
        made = plan(study)
        assert (made.drawn, made.complete, list(made.written)) == (False, False, [TO_FILL_IN])
        assert "put the treatments (cover and aeration) into plan/plots_to_fill_in.csv" in made.said
        assert made.said.endswith(f"and run: {command('plan', study)}")
        lines = drawn(study)[TO_FILL_IN].decode().splitlines()
        assert len(lines) == 17
        assert lines[1].split(",")[:3] == ["101", "1A", "1"]
        assert lines[1].split(",")[-3:] == ["", "", "1"]

    def test_what_was_filled_in_there_stays(self, study: Path) -> None:
        edit(study, "  seed:", HAND)
        plan(study)
        path = study / "plan" / TO_FILL_IN
        path.write_text(path.read_text().replace(",,,", ",fleece,solid,", 1))
        before = path.read_bytes()
        assert plan(study).written == {TO_FILL_IN: "stays as it is"}
        assert path.read_bytes() == before

    def test_filled_in_it_is_checked_and_mapped_and_never_drawn(self, study: Path) -> None:
        plan(study)
        other = (study / "plan" / "plots.csv").read_bytes()
        edit(study, "seed: 0042", "seed: 7")
        edit(study, "alley: 2 ft", "alley: 3 ft")
        edit(study, "  seed:", HAND)
        made = plan(study)
        assert made.said == (
            "plan/plots.csv agrees with trial.yaml and stays as it is: 16 plots, laid by hand"
        )
        assert (made.drawn, made.complete, sorted(made.written)) == (False, True, MAPS)
        assert drawn(study)["plots.csv"] == other
        (study / "plan" / "plots.csv").write_bytes(other.replace(b"open,", b"fleece,", 1))
        with pytest.raises(WinterswardError, match="one level of cover in a whole plot"):
            plan(study)


def test_faulty_values_stop_before_anything_is_written(study: Path) -> None:
    values = study / "plan" / "plot_values.csv"
    values.parent.mkdir()
    values.write_text("plots,sun\n101,3\n", encoding="utf-8")
    with pytest.raises(WinterswardError, match="plan/plot_values.csv, row 1: found no column plot"):
        plan(study)
    assert list(values.parent.iterdir()) == [values]
    values.unlink()
    plan(study)
    (study / "plan" / MAPS[0]).unlink()
    values.write_text("plots,sun\n101,3\n", encoding="utf-8")
    with pytest.raises(WinterswardError, match="found no column plot"):
        plan(study)
    assert not (study / "plan" / MAPS[0]).exists()


def test_a_character_that_the_maps_cannot_show_is_told_with_the_plan(study: Path) -> None:
    edit(study, "label: Fleece", "label: \u51ac fleece")
    first, concern = plan(study).said.splitlines()
    assert first.startswith("plan/plots.csv: 16 plots")
    assert "this character and have a box instead: \u51ac (U+51AC);" in concern
