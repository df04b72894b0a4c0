from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

from handin.made_bundle import a_run, edit_json
from wintersward.errors import WinterswardError
from wintersward.runs.history import Run, compare, runs_of

PRIMARY = """\
which,measure,date,left,right,left_mean,right_mean,difference,se,df,lower,upper,t,p,adjust,method,\
unit_kind,alpha,matters_from,units_left,units_right
as planned,colour,2026-03-24,fleece,open,6.5,5.25,1.25,0.3,3,0.3,2.2,4.1,0.03,none,ols,\
whole plot,0.05,1,4,4
"""
TEXT = ("which", "measure", "date", "left", "right", "adjust", "method", "unit_kind")


@pytest.fixture
def ran(study: Path) -> Path:
    """A study with two runs whose primary tables are whole."""
    for number in ("001", "002"):
        a_run(study, number)
        path = study / "runs" / number / "results" / "primary.csv"
        path.write_text(PRIMARY, encoding="utf-8")
        columns = [
            {"name": name, "type": "text" if name in TEXT else "number", "unit": "", "text": name}
            for name in PRIMARY.splitlines()[0].split(",")
        ]
        edit_json(
            path.with_name("tables.json"),
            lambda held, columns=columns: held["primary"].update(columns=columns),
        )
        make_whole(study / "runs" / number)
    return study


def make_whole(run: Path) -> None:
    """Bring in what a run that was executed holds besides."""
    edit_json(
        run / "figures" / "figures.json", lambda held: held["answer"].update(caption="The answer.")
    )
    (run / "notebooks" / "10-photos.ipynb").write_text("{}", encoding="utf-8")


def told(study: Path) -> list[str]:
    return [line for one in runs_of(study) for line in one.words()]


class TestRuns:
    def test_a_run_tells_when_from_what_and_its_answer(self, ran: Path) -> None:
        first, second = runs_of(ran)
        assert re.fullmatch("[0-9a-f]{8}", first.inputs)
        assert first == Run(
            "001",
            "complete",
            "2026-04-20 18:22",
            second.inputs,
            "We estimate that on 24 March 2026 plots with fleece had a colour 1.2 higher than "
            "plots with no cover, averaged over aeration treatments (95 % interval 0.3 to 2.2).",
        )
        assert told(ran)[0] == f"001  2026-04-20 18:22, inputs {first.inputs}"

    def test_the_answer_is_told_in_the_units_of_the_reader(self, ran: Path) -> None:
        definition = ran / "trial.yaml"
        text = definition.read_text(encoding="utf-8")
        text = text.replace("scale: 1-9, raters: [rx]", "kind: pull_force, unit: lbf")
        definition.write_text(text.replace("matters_from: 1", "matters_from: 5 lbf"))
        # 1.25 N are 0.28 lbf (1 lbf = 4.4482216152605 N, NIST SP 811, appendix B.8).
        assert "had 0.28 lbf more colour" in runs_of(ran)[0].said

    def test_before_the_primary_date_there_is_no_data_yet(self, ran: Path) -> None:
        for run in ("001", "002"):
            path = ran / "runs" / run / "results" / "primary.csv"
            path.write_text(PRIMARY.splitlines()[0] + "\n", encoding="utf-8")
        assert [one.said for one in runs_of(ran)] == ["no data yet for the primary question"] * 2

    def test_it_tells_how_much_of_the_data_is_there(self, ran: Path) -> None:
        results = ran / "runs" / "002" / "results"
        (results / "primary.csv").write_text(PRIMARY.splitlines()[0] + "\n", encoding="utf-8")
        head = "measure,date,expected,used,excluded,missing,repeats,due\n"
        rows = "colour,2026-02-28,16,16,0,0,0,yes\ncolour,2026-03-24,16,{},0,1,0,yes\n"
        for used, said in (
            (15, "15 of 16 observations of the primary question; nothing is compared yet"),
            (0, "no data yet for the primary question"),
        ):
            (results / "counts.csv").write_text(head + rows.format(used), encoding="utf-8")
            assert runs_of(ran)[1].said == said

    def test_a_demonstration_shows_no_interval(self, ran: Path) -> None:
        run = ran / "runs" / "002"
        edit_json(run / "results" / "tables.json", lambda held: held.pop("primary"))
        said = "a demonstration: it shows what was seen and compares nothing"
        assert runs_of(ran)[1].said == said

    def test_another_definition_since(self, ran: Path) -> None:
        definition = ran / "trial.yaml"
        text = definition.read_text(encoding="utf-8").replace("fleece", "felt")
        definition.write_text(text, encoding="utf-8")
        said = "its answer is in runs/001/report.html; trial.yaml is another since"
        assert runs_of(ran)[0].said == said

    def test_a_definition_that_cannot_be_read_is_no_other_one(self, ran: Path) -> None:
        (ran / "trial.yaml").write_text("title: [", encoding="utf-8")
        said = "its answer is in runs/001/report.html; trial.yaml cannot be read now"
        assert runs_of(ran)[0].said == said

    def test_an_answer_that_cannot_be_read_hides_no_other_run(self, ran: Path) -> None:
        path = ran / "runs" / "001" / "results" / "primary.csv"
        path.write_text(PRIMARY.replace("1.25", "much"), encoding="utf-8")
        first, second = runs_of(ran)
        assert first.said.startswith("its answer cannot be read: table primary, column difference")
        assert second.said.startswith("We estimate that")
        path.write_text(PRIMARY.replace("as planned", "otherwise"), encoding="utf-8")
        assert runs_of(ran)[0].said == (
            "its answer is in runs/001/report.html; its table primary does not fit the question "
            "of trial.yaml"
        )

    def test_a_failure_that_is_no_text(self, ran: Path) -> None:
        place = ran / "runs" / ".unfinished-003"
        place.mkdir()
        (place / "failure.txt").write_bytes(b"reason: caf\xe9\n")
        assert runs_of(ran)[2].said == "reason: caf\ufffd; see runs/.unfinished-003/failure.txt"

    def test_unfinished_and_damaged_ones_are_listed_as_such(self, ran: Path) -> None:
        runs = ran / "runs"
        unfinished = runs / ".unfinished-003"
        unfinished.mkdir()
        (unfinished / "failure.txt").write_text(
            "stopped in: stage 10-photos\nreason:     no photo\nwhat to do: look\n"
        )
        (runs / ".unfinished-004").mkdir()
        for number in ("005", "006"):
            shutil.copytree(runs / "001", runs / number)
            edit_json(
                runs / number / "provenance.json",
                lambda held, number=number: held.update(run=number),
            )
        (runs / "005" / "results" / "means.csv").unlink()
        (runs / "006" / "inputs.json").write_text("{")
        (runs / "1000").mkdir()
        (runs / "notes").mkdir()
        again = "run again: it gets a number of its own"
        assert told(ran)[4:] == [
            "003  unfinished",
            "     stopped in: stage 10-photos; reason: no photo; see "
            "runs/.unfinished-003/failure.txt",
            "004  unfinished",
            "     broken off, or still going",
            "005  damaged",
            f"     it lacks results/means.csv; {again}",
            "006  damaged",
            f"     its inputs.json holds no JSON; {again}",
            "1000  damaged",
            "     it lacks inputs.json, provenance.json, report.html, results/tables.json; "
            f"{again}",
        ]

    def test_no_run_yet(self, study: Path) -> None:
        assert runs_of(study) == []


class TestCompare:
    def test_two_alike(self, ran: Path) -> None:
        assert compare(ran, "001", "2") == [
            "001 and 002 were made from the same, with the same versions",
            "no table differs: 26 cells in 2 tables, the same digit for digit",
        ]

    def test_what_they_were_made_from(self, ran: Path) -> None:
        def change(held: dict[str, dict[str, object]]) -> None:
            held["files"]["sheets/new.csv"] = {"bytes": 1, "sha256": "0"}
            held["files"]["trial.yaml"] = {"bytes": 1, "sha256": "0"}
            held["versions"].update(scipy="9.9")
            del held["versions"]["numpy"]
            held["parameters"]["quick"] = True
            held["templates"]["notebooks/10-photos.ipynb"]["sha256"] = "0"  # type: ignore[index]

        first = json.loads((ran / "runs" / "001" / "inputs.json").read_text())["versions"]
        edit_json(ran / "runs" / "002" / "inputs.json", change)
        assert compare(ran, "001", "002")[:-1] == [
            "what 001 and 002 were made from:",
            "  sheets/new.csv: came with 002",
            "  trial.yaml: changed",
            "  notebooks/10-photos.ipynb: changed",
            "  quick: came with 002 (True)",
            f"  numpy: is not in 002 any more ({first['numpy']})",
            f"  scipy: changed ({first['scipy']}, then 9.9)",
        ]

    def test_many_of_a_folder_are_one_line(self, ran: Path) -> None:
        def change(count: int) -> None:
            def add(held: dict[str, dict[str, object]]) -> None:
                told = {"bytes": 1, "sha256": "0"}
                held["files"].update({f"photos/{n:02d}.jpg": told for n in range(count)})

            edit_json(ran / "runs" / "001" / "inputs.json", add)

        change(10)
        assert compare(ran, "001", "002")[10] == "  photos/09.jpg: is not in 002 any more"
        change(11)
        assert compare(ran, "001", "002")[:-1] == [
            "what 001 and 002 were made from:",
            "  photos: 11 not in 002 any more, such as photos/00.jpg",
        ]

    def test_the_largest_movement_comes_first(self, ran: Path) -> None:
        results = ran / "runs" / "002" / "results"
        text = PRIMARY.replace(",1.25,0.3,", ",1.3,0.3,").replace(",0.03,", ",0.06,")
        (results / "primary.csv").write_text(text, encoding="utf-8")
        means = (results / "means.csv").read_text().replace("46.25", "46.26")
        (results / "means.csv").write_text(means)
        assert compare(ran, "001", "002")[1:] == [
            "tables: 2 of 2 differ, 3 of 26 cells moved",
            "  means: 1 of 8 cells moved",
            "  primary: 2 of 18 cells moved",
            "the largest movements, at most three of a column, beside the column's largest number:",
            "  primary, line 2 (which as planned, left fleece, right open), column p: 0.03 in 001, "
            "0.06 in 002, apart by 0.5 of the larger",
            "  primary, line 2 (which as planned, left fleece, right open), column difference: "
            "1.25 in 001, 1.3 in 002, apart by 0.038 of the larger",
            "  means, line 2 (measure green_cover, date 2026-03-10, level fleece), column mean: "
            "46.25 in 001, 46.26 in 002, apart by 0.00022 of the larger",
        ]

    def test_tables_and_rows_that_came_and_went(self, ran: Path) -> None:
        run = ran / "runs" / "002"
        edit_json(
            run / "results" / "tables.json", lambda held: held.update(extra=held.pop("primary"))
        )
        (run / "results" / "extra.csv").write_text(PRIMARY)
        means = (run / "results" / "means.csv").read_text()
        (run / "results" / "means.csv").write_text(means + "green_cover,2026-04-04,open,70,10\n")
        assert compare(ran, "001", "002")[1:] == [
            "tables: 3 of 3 differ, 0 of 8 cells moved",
            "  extra: came with 002",
            "  means: a row only in 002: measure green_cover, date 2026-04-04, level open",
            "  primary: is not in 002 any more",
        ]

    def test_only_the_ten_largest_are_told(self, ran: Path) -> None:
        results = ran / "runs" / "002" / "results"
        text = PRIMARY.replace("6.5,5.25,1.25,0.3,3,0.3,2.2,4.1,0.03", "7,8,9,1,2,3,4,5,6")
        text = text.replace("0.05,1,4,4", "0.1,2,5,6")
        (results / "primary.csv").write_text(text, encoding="utf-8")
        lines = compare(ran, "001", "002")
        assert lines[1] == "tables: 1 of 2 differ, 13 of 26 cells moved"
        assert lines[-1] == "  and 3 more"

    def test_one_column_does_not_hide_the_others(self, ran: Path) -> None:
        for number in ("001", "002"):
            path = ran / "runs" / number / "results" / "primary.csv"
            row = PRIMARY.splitlines()[1]
            rows = [row.replace("as planned", f"plan {n:02d}") for n in range(12)]
            if number == "002":
                rows = [one.replace(",6.5,", f",{n + 9},") for n, one in enumerate(rows)]
                rows[0] = rows[0].replace(",5.25,", ",5.3,")
            path.write_text("\n".join([PRIMARY.splitlines()[0], *rows, ""]), encoding="utf-8")
        lines = compare(ran, "001", "002")
        assert lines[1] == "tables: 1 of 2 differ, 13 of 224 cells moved"
        columns = [re.findall("column ([a-z_]+):", line) for line in lines[4:]]
        assert columns == [["left_mean"]] * 3 + [["right_mean"], []]
        assert lines[-1] == "  and 9 more"

    def test_a_unit_and_a_key_that_changed(self, ran: Path) -> None:
        def change(held: dict[str, dict[str, list[dict[str, str] | str]]]) -> None:
            held["means"]["columns"][3]["unit"] = "lbf"  # type: ignore[index]
            held["means"]["key"] = ["date", "level"]

        edit_json(ran / "runs" / "002" / "results" / "tables.json", change)
        assert compare(ran, "001", "002")[1:] == [
            "tables: 1 of 2 differ, 0 of 26 cells moved",
            "  means: its key is measure, date, level in 001, date, level in 002; "
            "unit of mean: none in 001, lbf in 002",
        ]

    def test_a_run_that_is_not_there_or_not_whole(self, ran: Path) -> None:
        with pytest.raises(WinterswardError, match="runs/7: no such complete run; there are: 001"):
            compare(ran, "7", "001")
        (ran / "runs" / "002" / "report.html").unlink()
        with pytest.raises(WinterswardError, match="runs/002: it lacks report.html; it cannot be"):
            compare(ran, "001", "002")
