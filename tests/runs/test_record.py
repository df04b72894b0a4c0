from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pandas as pd
import pytest
from matplotlib.figure import Figure
from PIL import Image

from wintersward.analysis.demonstration_tables import DEMONSTRATION_TABLES
from wintersward.analysis.results import TABLES as OF_A_TRIAL
from wintersward.analysis.results import Column, Table
from wintersward.errors import WinterswardError
from wintersward.paths import command
from wintersward.runs.record import Record, open_record

TABLES = {
    "given": Table(
        "What was given.",
        ("plot",),
        (Column("plot", "text", "", "plot"), Column("force", "number", "N", "pull force")),
    ),
    "open": Table("Open.", ("plot",), (Column("plot", "text", "", "plot"),), open_ended=True),
}


@pytest.fixture
def record(tmp_path: Path) -> Record:
    return Record(tmp_path, TABLES)


def figure(end: float = 1) -> Figure:
    made = Figure()
    made.subplots().plot([0, end], label="cover")
    return made


class TestTables:
    def test_written_and_read(self, record: Record) -> None:
        record.write("given", pd.DataFrame({"plot": ["102", "101"], "force": [2.0, 1.0]}))
        path = record.folder / "results" / "given.csv"
        assert path.read_bytes() == b"plot,force\n101,1\n102,2\n"
        assert record.read("given")["plot"].tolist() == ["101", "102"]

    def test_described_in_tables_json(self, record: Record) -> None:
        record.write("open", pd.DataFrame({"plot": ["1"], "cover": ["fleece"]}))
        record.write("given", pd.DataFrame({"plot": ["1"], "force": [1.0]}))
        path = record.folder / "results" / "tables.json"
        described = json.loads(path.read_text(encoding="utf-8"))
        assert list(described) == ["given", "open"]
        assert described["given"] == {
            "description": "What was given.",
            "key": ["plot"],
            "columns": [
                {"name": "plot", "type": "text", "unit": "", "text": "plot"},
                {"name": "force", "type": "number", "unit": "N", "text": "pull force"},
            ],
        }
        assert described["open"]["columns"][1]["name"] == "cover"

    def test_several_are_entered_together(self, record: Record) -> None:
        given = pd.DataFrame({"plot": ["1"], "force": [1.0]})
        opened = pd.DataFrame({"plot": ["1"], "cover": ["fleece"]})
        record.write_all({"open": opened, "given": given})
        path = record.folder / "results" / "tables.json"
        together = path.read_bytes()
        path.unlink()
        record.write("given", given)
        record.write("open", opened)
        assert path.read_bytes() == together
        assert {name: len(frame) for name, frame in record.written().items()} == {
            "given": 1,
            "open": 1,
        }

    def test_one_that_does_not_fit_leaves_none_entered(self, record: Record) -> None:
        given = pd.DataFrame({"plot": ["1"], "force": [1.0]})
        with pytest.raises(WinterswardError, match="no table is called 'gven'"):
            record.write_all({"given": given, "gven": given})
        with pytest.raises(WinterswardError, match="table open: two rows for plot '1'"):
            record.write_all({"given": given, "open": pd.DataFrame({"plot": ["1", "1"]})})
        assert record.written() == {}
        assert not [*record.folder.rglob("*.csv")]

    def test_written_again_it_is_replaced(self, record: Record) -> None:
        for force in (1.0, 2.0):
            record.write("given", pd.DataFrame({"plot": ["1"], "force": [force]}))
        assert record.read("given")["force"].tolist() == [2.0]

    def test_an_unknown_table_is_refused(self, record: Record) -> None:
        said = "no table is called 'gven'; there are: given, open; did you mean given?"
        with pytest.raises(WinterswardError, match=said.replace("?", r"\?")):
            record.write("gven", pd.DataFrame())
        with pytest.raises(WinterswardError, match="no table"):
            record.read("gven")

    def test_other_columns_are_refused_and_nothing_is_written(self, record: Record) -> None:
        with pytest.raises(WinterswardError, match="table given: it lacks force"):
            record.write("given", pd.DataFrame({"plot": ["1"]}))
        assert not (record.folder / "results").exists()

    def test_a_table_that_is_not_there_yet(self, record: Record) -> None:
        with pytest.raises(WinterswardError, match="given is not there yet") as caught:
            record.read("given")
        assert str(caught.value).endswith(command("run", record.folder.parent.parent))

    def test_the_known_tables_are_those_of_the_results(self, tmp_path: Path) -> None:
        frame = pd.DataFrame({"date": [pd.Timestamp(2026, 3, 24)], "what": ["a"], "reason": ["b"]})
        Record(tmp_path).write("deviations", frame)
        assert (tmp_path / "results" / "deviations.csv").read_text() == (
            "date,what,reason\n2026-03-24,a,b\n"
        )


class TestFigures:
    def test_a_figure_and_its_words(self, record: Record) -> None:
        record.save_figure("means", figure(), "It rises to 1.", "See it rise.")
        assert (record.folder / "figures" / "means.svg").is_file()
        assert record.figures() == {
            "means": {"file": "means.svg", "alt": "It rises to 1.", "caption": "See it rise."}
        }

    def test_an_ending_that_changes_leaves_no_old_file(self, record: Record) -> None:
        record.save_figure("sheet", Image.new("RGB", (4, 4)), "black", "Black.")
        record.save_figure("sheet", Image.new("RGBA", (4, 4)), "nothing", "Nothing.")
        names = sorted(path.name for path in (record.folder / "figures").iterdir())
        assert names == ["figures.json", "sheet.png"]

    @pytest.mark.parametrize(("alt", "caption"), [("", "b"), ("  ", "b"), ("a", ""), (None, "b")])
    def test_words_are_required(self, record: Record, alt: Any, caption: str) -> None:
        with pytest.raises(WinterswardError, match="figure means: no (alt text|caption)"):
            record.save_figure("means", figure(), alt, caption)
        assert record.figures() == {}

    @pytest.mark.parametrize("name", ["", "../means", "Means", "a b", ".means"])
    def test_names_that_are_no_file_names(self, record: Record, name: str) -> None:
        with pytest.raises(WinterswardError, match="figure name"):
            record.save_figure(name, figure(), "a", "b")


def opened(folder: Path, tested: bool = True) -> Any:
    definition = SimpleNamespace(layout=SimpleNamespace(tested=tested))
    return cast(Any, SimpleNamespace(folder=folder, definition=definition))


class TestOpening:
    def test_the_folder_that_the_runner_passes(self, tmp_path: Path) -> None:
        trial = opened(tmp_path / "study")
        made = open_record(trial, str(tmp_path / "study" / "runs" / ".unfinished-001"))
        assert made.folder == (tmp_path / "study" / "runs" / ".unfinished-001").resolve()
        assert made.folder.is_dir()

    def test_by_hand(self, tmp_path: Path) -> None:
        trial = opened(tmp_path)
        assert open_record(trial).folder == (tmp_path / "runs" / ".by-hand").resolve()
        assert (tmp_path / "runs" / ".by-hand").is_dir()

    def test_a_demonstration_has_tables_of_its_own(self, tmp_path: Path) -> None:
        assert open_record(opened(tmp_path)).tables is OF_A_TRIAL
        record = open_record(opened(tmp_path, tested=False))
        assert record.tables is DEMONSTRATION_TABLES
        with pytest.raises(WinterswardError, match="no table is called 'tests'"):
            record.write("tests", pd.DataFrame())
        row = {"measure": ["cover"], "date": [pd.Timestamp(2026, 3, 24)], "effect": ["cover"]}
        means = pd.DataFrame(row).assign(level="fleece", mean=71.0, units=1)
        with pytest.raises(WinterswardError, match="table means: it has se, df; its columns are"):
            record.write("means", means.assign(se=1.0, df=2.0))
        record.write("means", means)
        text = (record.folder / "results" / "means.csv").read_text(encoding="utf-8")
        assert text == (
            "measure,date,effect,level,mean,units\ncover,2026-03-24,cover,fleece,71,1\n"
        )
        assert record.read("means")["units"].tolist() == [1]
