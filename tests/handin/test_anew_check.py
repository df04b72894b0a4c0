from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from handin.made_bundle import (
    PHOTOS,
    Laid,
    edit_json,
    failures,
    lay_out,
)
from wintersward.errors import WinterswardError
from wintersward.handin import verifying
from wintersward.handin.rerunning import Rerun
from wintersward.handin.verifying import verify
from wintersward.report.numbers import counted
from wintersward.runs.stages import STAGES

pytestmark = pytest.mark.usefixtures("anew")


class TestWhatComesOutAnew:
    def test_one_changed_cell(self, laid: Laid) -> None:
        laid.change("run/results/means.csv", "71.04166667", "71.04166668")
        assert failures(verify(laid.listed().packed())) == [
            "FAIL table means: 1 of 8 cells differ, the most line 4 (measure green_cover, date "
            "2026-03-24, level fleece), column mean: 71.04166668 in the bundle, 71.04166667 made "
            "anew, apart by 1.4e-10 of the larger; no more than is allowed on another computer: is "
            "this one of the same name, or changed?"
        ]

    def test_a_cell_that_is_far_off(self, laid: Laid) -> None:
        laid.change("run/results/means.csv", "71.04166667", "71.1")
        assert failures(verify(laid.listed().packed())) == [
            "FAIL table means: 1 of 8 cells differ, the most line 4 (measure green_cover, date "
            "2026-03-24, level fleece), column mean: 71.1 in the bundle, 71.04166667 made anew, "
            "apart by 0.00082 of the larger"
        ]

    def test_tables_that_came_went_or_are_told_otherwise(self, laid: Laid) -> None:
        def change(held: dict[str, Any]) -> None:
            held["primary"]["key"] = ["which"]
            del held["means"]

        edit_json(laid.folder / "run" / "results" / "tables.json", change)
        (laid.folder / "run" / "results" / "extra.csv").write_text("a\n1\n")
        told = [one for one in failures(verify(laid.listed().packed())) if " table " in one]
        assert told == [
            "FAIL table extra: the run made anew has no such table",
            "FAIL table means: run/results/tables.json does not tell of it",
            "FAIL table primary: run/results/tables.json describes it otherwise",
        ]

    def test_a_table_that_is_missing(self, laid: Laid) -> None:
        (laid.folder / "run" / "results" / "means.csv").unlink()
        told = failures(verify(laid.listed().packed()))
        assert told == ["FAIL table means: run/results/means.csv is missing"]

    def test_a_value_edited_in_the_page(self, laid: Laid) -> None:
        laid.change("report.html", '"11.04"', '"19.04"')
        told = failures(verify(laid.listed().packed()))
        assert told[0] == (
            "FAIL numbers of report.html: line 3: '19.04', shown as '11', does not stand in "
            "primary.csv:2, which holds as planned, fleece, open, 11.04, 4.2, 17.9, 6"
        )
        assert [one.partition(":")[0] for one in told[1:]] == ["FAIL report.html"]

    def test_a_shown_number_edited_in_the_page(self, laid: Laid) -> None:
        laid.change("report.html", ">18<", ">13<")
        told = failures(verify(laid.listed().packed()))
        assert told[0] == (
            "FAIL numbers of report.html: line 5: primary.csv:2 is shown as '13'; made anew, as "
            "'18'"
        )
        assert told[1].startswith("FAIL report.html: it is not what comes out anew; line 5: ")
        assert len(told) == 2

    def test_a_word_edited_in_the_page(self, laid: Laid) -> None:
        laid.change("report.html", "points more", "points less")
        assert failures(verify(laid.listed().packed())) == [
            "FAIL report.html: it is not what comes out anew; line 3: "
            """' <data title="primary.csv:2" value="11.04">11</data> points less</p>'; """
            """made anew: ' <data title="primary.csv:2" value="11.04">11</data> points more</p>'"""
        ]

    def test_a_page_that_is_missing(self, laid: Laid, anew: Path) -> None:
        shutil.copy(anew / "report.html", anew / "brief.html")
        assert failures(verify(laid.packed())) == ["FAIL brief.html: it is missing"]

    def test_many_wrong_numbers_are_summed_up(self, laid: Laid, anew: Path) -> None:
        path = laid.folder / "report.html"
        path.write_text(path.read_text() + '<data value="1" title="no.csv:2">1</data>\n' * 8)
        told = [one for one in failures(verify(laid.listed().packed())) if "numbers of" in one]
        assert len(told) == 6
        assert told[-1] == "FAIL numbers of report.html: and 4 more"

    def test_pictures_and_notebooks(self, laid: Laid) -> None:
        (laid.folder / "run" / "figures" / "answer.svg").write_text("<svg></svg>")
        (laid.folder / "run" / "notebooks" / "50-report.ipynb").unlink()
        assert failures(verify(laid.listed().packed())) == [
            "FAIL report.html: picture 1 is no picture of run/figures",
            "FAIL pictures: run/figures/answer.svg: it is not what comes out anew",
            "FAIL notebooks: run/notebooks/50-report.ipynb: it is missing",
        ]

    def test_a_rerun_that_stops(self, laid: Laid, monkeypatch: pytest.MonkeyPatch) -> None:
        def stopped(*_: object) -> Rerun:
            raise WinterswardError(["stage 10-photos: no photo", "put right what is listed"])

        monkeypatch.setattr(verifying, "rerun", stopped)
        found = verify(laid.packed())
        assert failures(found) == [
            "FAIL rerun: stage 10-photos: no photo",
            "FAIL rerun: put right what is listed",
        ]
        assert found.lines[-1].what == "rerun"


class TestWithoutPhotos:
    @pytest.fixture
    def without(self, source: Path, tmp_path: Path) -> Laid:
        return lay_out(source, source / "runs" / "001", tmp_path / "without", photos=False)

    def test_a_line_says_what_was_not_made_again(self, without: Laid) -> None:
        found = verify(without.packed())
        assert found.passed
        told = [str(line) for line in found.lines]
        assert (
            f"PASS rerun: {counted(len(STAGES) - 1, 'stage')} executed: "
            f"{', '.join(stage.name for stage in STAGES[1:])}; two photos left out, so "
            "that photos were not scored again and these were taken from the bundle: means"
        ) in told
        said = "all the same; photos were left out, so that numbers are compared by tolerance"
        assert f"PASS versions: {said}" in told
        left = "scores of photos, what the notebooks wrote"
        assert found.said == f"all {len(told)} lines passed; NOT compared: {left}"
        # What was taken from the bundle is not said to agree with it.
        assert not [one for one in told if "table means" in one]

    def test_photos_that_are_listed_and_are_no_photos_of_the_run(self, without: Laid) -> None:
        other = {**without.left_out[PHOTOS[0]], "sha256": "0" * 64}
        changed = replace(without, left_out={**without.left_out, PHOTOS[0]: other})
        assert failures(verify(changed.listed().packed())) == [
            f"FAIL inputs: {PHOTOS[0]}: not the file that the run was made from"
        ]

    def test_a_photo_that_is_there_and_listed_as_left_out(self, without: Laid) -> None:
        (without.folder / PHOTOS[0]).parent.mkdir(parents=True)
        (without.folder / PHOTOS[0]).write_bytes(b"photo 0")
        told = f"FAIL inventory: {PHOTOS[0]}: it is there and listed as left out"
        assert failures(verify(without.listed().packed())) == [told]

    def test_a_description_of_another_shape(self, laid: Laid) -> None:
        edit_json(
            laid.folder / "run" / "results" / "tables.json", lambda held: held.update(means=1)
        )
        told = failures(verify(laid.packed()))
        assert told[-1].startswith("FAIL tables: run/results/tables.json or a table is of another")
