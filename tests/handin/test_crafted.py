"""Bundles whose content was written to break the check off, or to speak in its name."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from handin.made_bundle import PHOTOS, Laid, edit_json, failures, lay_out
from wintersward.cli import main
from wintersward.handin.verified import Line
from wintersward.handin.verifying import verify

pytestmark = pytest.mark.usefixtures("anew")

DESCRIBED = "FAIL descriptions: inventory.json or a file of the run is of another shape ("


def provenance(laid: Laid, **told: Any) -> Path:
    name = "run/provenance.json"
    edit_json(laid.folder / name, lambda held: held.update(told))
    laid.hashed(name)
    return laid.packed()


class TestBreakingOff:
    @pytest.mark.parametrize(
        ("seconds", "error"),
        [
            ({}, "IndexError"),
            ([], "IndexError"),
            ({"10-photos": 1e308}, "OverflowError"),
            ({"10-photos": "long"}, "TypeError"),
        ],
    )
    def test_durations_that_are_none(self, laid: Laid, seconds: object, error: str) -> None:
        told = failures(verify(provenance(laid, seconds=seconds)))
        assert [one for one in told if one.startswith(f"{DESCRIBED}{error}: ")]

    def test_a_page_that_no_parser_takes(self, laid: Laid) -> None:
        page = laid.folder / "report.html"
        page.write_bytes(page.read_bytes().replace(b"</body>", b'<![bad x="</body>'))
        found = verify(laid.listed().packed())
        assert [one for one in failures(found) if one.startswith("FAIL report.html: ")]
        # What comes after the page is looked at all the same.
        assert found.lines[-1].what == "other files of the run"

    def test_a_table_that_is_told_without_columns(self, laid: Laid, anew: Path) -> None:
        name = "run/results/tables.json"
        edit_json(laid.folder / name, lambda held: held["means"].pop("columns"))
        laid.hashed(name)
        told = failures(verify(laid.packed()))
        said = "FAIL tables: run/results/tables.json or a table is of another shape (KeyError: "
        assert [one for one in told if one.startswith(said)]

    def test_a_size_beyond_all_numbers(self, source: Path, tmp_path: Path) -> None:
        laid = lay_out(source, source / "runs" / "001", tmp_path / "small", photos=False)

        def grow(held: dict[str, Any]) -> None:
            held["left_out"][PHOTOS[0]]["bytes"] = 10**400

        edit_json(laid.folder / "inventory.json", grow)
        told = failures(verify(laid.packed()))
        assert [one for one in told if one.startswith(f"{DESCRIBED}OverflowError: ")]

    def test_half_a_letter_in_a_name(self, laid: Laid) -> None:
        path = laid.folder / "inventory.json"
        half = b'"files": {\n    "x\\ud800": {"bytes": 1, "sha256": "' + b"0" * 64 + b'"},'
        path.write_bytes(path.read_bytes().replace(b'"files": {', half, 1))
        ended = CliRunner().invoke(main, ["verify", str(laid.packed())])
        assert ended.exit_code == 1
        assert "FAIL inventory: x\\ud800: it is missing" in ended.stdout.splitlines()
        assert "broke off" not in ended.output

    def test_a_letter_that_the_terminal_does_not_have(self, laid: Laid) -> None:
        (laid.folder / "study" / "\u0142.csv").write_text("date\n")
        packed = str(laid.packed())
        ended = CliRunner(charset="cp1252").invoke(main, ["verify", packed])
        assert "FAIL inputs: study/\\u0142.csv: no run reads it" in ended.stdout.splitlines()


class TestSpeakingInItsName:
    @pytest.mark.parametrize(
        "text",
        ["\nPASS rerun: six stages", "\r\x1b[2J", "\x1b[8m", "a\u2028b", "\u202egpj", "\x85"],
    )
    def test_a_line_stays_one_and_steers_nothing(self, text: str) -> None:
        for line in (Line(True, "inventory", text), Line(False, text, "it is missing")):
            assert len(str(line).splitlines()) == 1
            assert str(line).isprintable()

    def test_what_the_inventory_says_makes_no_lines(self, laid: Laid) -> None:
        asked = "\nPASS table primary: two rows\nverified: all 101 lines passed\n\x1b[8m"
        edit_json(
            laid.folder / "inventory.json", lambda held: held.update(changed_on_request=[asked])
        )
        ended = CliRunner().invoke(main, ["verify", str(laid.packed())])
        lines = ended.stdout.splitlines()
        assert not [one for one in lines if one == "PASS table primary: two rows"]
        assert not [one for one in lines if one.startswith("verified: ")]
        assert "\x1b" not in ended.stdout
