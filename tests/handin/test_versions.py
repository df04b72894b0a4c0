"""A bundle that was made with other versions, or on another computer, than it is verified."""

from __future__ import annotations

import json
import platform
from pathlib import Path
from typing import Any

import pytest

from handin.made_bundle import Laid, edit_json, failures
from wintersward import __version__
from wintersward.handin.verifying import verify

pytestmark = pytest.mark.usefixtures("anew")


class TestVersions:
    def other(self, laid: Laid, **versions: str) -> Laid:
        def change(held: dict[str, Any]) -> None:
            held["versions"].update(versions)

        edit_json(laid.folder / "run" / "inputs.json", change)
        return laid.listed()

    def test_a_missing_package_ends_it(self, laid: Laid) -> None:
        found = verify(self.other(laid, turfmaths="1.2").packed())
        assert failures(found) == [
            "FAIL versions: turfmaths 1.2 was used and is not installed here"
        ]
        assert found.lines[-1].what == "versions"

    def test_other_versions_compare_by_tolerance(self, laid: Laid, anew: Path) -> None:
        here = json.loads((laid.folder / "run" / "inputs.json").read_text())["versions"]["scipy"]
        laid.change("run/results/means.csv", "71.04166667", "71.0416667")
        found = verify(self.other(laid, scipy="0.1").packed())
        assert found.passed
        told = [str(line) for line in found.lines]
        assert (
            "PASS versions: not all the same, so that numbers are compared by tolerance and pages "
            f"by their words: scipy 0.1 there, {here} here"
        ) in told
        assert (
            "PASS table means: four rows, the same; 1 of 8 cells differ, all within a relative "
            "1e-06"
        ) in told
        assert "PASS report.html: the same bytes as made anew" in told
        assert found.said == (
            "all 16 lines passed; NOT compared: pictures, what the notebooks wrote, other files of "
            "the run"
        )
        laid.change("run/results/means.csv", "71.0416667", "71.042")
        assert failures(verify(laid.listed().packed()))[0].startswith("FAIL table means: 1 of 8")

    def test_another_computer_compares_by_tolerance(self, laid: Laid, anew: Path) -> None:
        here = {"host": "elsewhere", "platform": platform.platform()}
        edit_json(laid.folder / "run" / "provenance.json", lambda held: held.update(here))
        text = (anew / "report.html").read_text().replace('"11.04"', '"11.04000001"')
        (anew / "report.html").write_text(text)
        found = verify(laid.listed().packed())
        assert found.passed
        told = [str(line) for line in found.lines]
        said = (
            "all the same, but not known to be the same computer, so that numbers are compared by"
        )
        assert f"PASS versions: {said} tolerance" in told
        said = "the same words and shown numbers as made anew, pictures apart"
        assert f"PASS report.html: {said}" in told
        laid.change("report.html", "points more", "points less")
        assert failures(verify(laid.listed().packed()))[0].startswith(
            "FAIL report.html: it is not what comes out anew; line 3: "
        )

    def test_a_template_told_to_be_another_than_this_version_has(self, laid: Laid) -> None:
        style = "templates/reports/study/style.css"

        def change(held: dict[str, Any]) -> None:
            held["templates"][style]["sha256"] = "0" * 64

        edit_json(laid.folder / "run" / "inputs.json", change)
        laid.change("report.html", ">11<", ">99<")
        laid.change("report.html", "Fleece", "Felt")
        told = failures(verify(laid.listed().packed()))
        assert told[:2] == [
            f"FAIL versions: run/inputs.json tells another {style} than wintersward "
            f"{__version__} has",
            "FAIL numbers of report.html: line 3: primary.csv:2 is shown as '99'; made anew, as "
            "'11'",
        ]

    def test_words_are_compared_where_other_libraries_made_the_page(self, laid: Laid) -> None:
        laid.change("report.html", "points more", "points less")
        assert failures(verify(self.other(laid, scipy="0.1").packed())) == [
            "FAIL report.html: it is not what comes out anew; 'less ( primary.csv:2 4 to "
            "primary.csv:2 18 ).'; made anew: 'more ( primary.csv:2 4 to primary.csv:2 18 ).'"
        ]

    def test_another_wintersward_is_told_with_what_was_not_compared(self, laid: Laid) -> None:
        laid.change("report.html", "points more", "points less")
        laid.change("report.html", ">11<", ">12<")
        found = verify(self.other(laid, wintersward="0.0.9").packed())
        told = [str(line) for line in found.lines]
        assert found.passed
        assert (
            "PASS report.html: only its tied numbers were compared; its words and pictures were "
            "made by wintersward 0.0.9, which is not here"
        ) in told
        here = "wintersward 0.0.9, which is not here"
        assert f"PASS pictures: not compared: they were drawn by {here}" in told
        assert f"PASS notebooks: not compared: they are those of {here}" in told
        assert found.said == (
            "all 16 lines passed; NOT compared: descriptions, words of the pages, pictures, "
            "notebooks, other files of the run"
        )
        laid.change("report.html", ">12<", ">99<")
        assert failures(verify(laid.listed().packed())) == [
            "FAIL numbers of report.html: line 3: primary.csv:2 is shown as '99'; made anew, as "
            "'11'"
        ]

    @pytest.mark.parametrize("version", ["0.0.9", __version__])
    def test_a_report_that_is_missing(self, laid: Laid, version: str) -> None:
        (laid.folder / "report.html").unlink()
        told = failures(verify(self.other(laid, wintersward=version).packed()))
        assert told == ["FAIL report.html: it is missing"]

    def test_a_version_that_is_not_told(self, laid: Laid) -> None:
        edit_json(laid.folder / "run" / "inputs.json", lambda held: held["versions"].clear())
        laid.hashed("run/inputs.json")
        found = verify(laid.packed())
        (line,) = (one for one in found.lines if one.what == "versions")
        assert line.found.endswith("numbers alone: the version of wintersward is not told")
        assert "descriptions" in [line.uncompared for line in found.lines]
