"""A plan is frozen once; what is changed since is told everywhere, and so is a damaged freeze."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from pathlib import Path

import pandas as pd
import pytest
from bs4 import BeautifulSoup
from click.testing import CliRunner

from runs.conftest import DEFINITION
from wintersward.analysis import analyse
from wintersward.analysis.freeze import freeze_tables
from wintersward.cli import main
from wintersward.errors import WinterswardError
from wintersward.report import report_page
from wintersward.runs import runner
from wintersward.runs.checking import check
from wintersward.runs.files import sha256
from wintersward.runs.freezing import freeze, freeze_lines, late_words
from wintersward.runs.planning import plan
from wintersward.runs.provenance import input_files
from wintersward.runs.record import open_record
from wintersward.study import open_study

ON_TIME = dt.datetime(2026, 1, 12, 9, 5, 30, tzinfo=dt.timezone(dt.timedelta(hours=-5)))
WHEN = "12 January 2026, 14:05 UTC"
Tables = dict[str, pd.DataFrame]
NAMES = {"trial.yaml", "plots.csv", "protocol.html", "frozen.json"}


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A study whose plots are drawn, not to be changed."""
    folder = tmp_path_factory.mktemp("planned")
    (folder / "trial.yaml").write_text(DEFINITION, encoding="utf-8", newline="")
    plan(folder)
    return folder


@pytest.fixture(scope="module")
def agreed(planned: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same, frozen in good time; not to be changed either."""
    folder = shutil.copytree(planned, tmp_path_factory.mktemp("agreed") / "study")
    freeze(folder, lambda: ON_TIME)
    return folder


@pytest.fixture
def drawn(planned: Path, study: Path) -> Path:
    """A study whose plots are drawn."""
    return shutil.copytree(planned, study, dirs_exist_ok=True)


@pytest.fixture
def kept(agreed: Path, study: Path) -> Path:
    """A study whose plan was frozen in good time."""
    return shutil.copytree(agreed, study, dirs_exist_ok=True)


def rate(study: Path) -> None:
    """Write a rating of every plot on every date; fleece is two steps greener in spring."""
    plots = pd.read_csv(study / "plan" / "plots.csv", dtype=str)
    lines = ["date,plot,rater,colour"]
    for day in ("2026-01-15", "2026-02-28", "2026-03-10", "2026-03-24"):
        for at, row in enumerate(plots.itertuples()):
            better = 2 if row.cover == "fleece" and day > "2026-03" else 0
            lines.append(f"{day},{row.plot},rx,{3 + better + at * 7 % 3}")
    (study / "sheets").mkdir()
    (study / "sheets" / "colour.csv").write_text("\n".join(lines) + "\n")


def change(study: Path, old: str, new: str) -> None:
    path = study / "trial.yaml"
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8", newline="")


@pytest.fixture(scope="module")
def tables(planned: Path, tmp_path_factory: pytest.TempPathFactory) -> Tables:
    """Analyse the study once, as it is before anything is frozen or changed."""
    folder = shutil.copytree(planned, tmp_path_factory.mktemp("analysed") / "study")
    rate(folder)
    return analyse(open_study(folder))


def pages(study: Path, folder: Path, tables: Tables | None = None) -> dict[str, str]:
    """Write the tables of a study, analysed now or before, and read what its page says of them."""
    trial = open_study(study)
    record = open_record(trial, folder)
    made = analyse(trial) if tables is None else tables | freeze_tables(trial)
    record.write_all(made)
    page = report_page(trial, record)
    return {
        name: " ".join(
            BeautifulSoup(page.section(name)._repr_html_(), "html.parser").get_text(" ").split()
        )
        for name in ("answer", "methods", "results", "plan", "limits")
    }


class TestFreeze:
    def test_copies_hashes_and_time(self, drawn: Path) -> None:
        frozen = freeze(drawn, lambda: ON_TIME)
        folder = drawn / "plan" / "frozen"
        assert {path.name for path in folder.iterdir()} == NAMES
        assert (folder / "trial.yaml").read_bytes() == (drawn / "trial.yaml").read_bytes()
        assert (folder / "plots.csv").read_bytes() == (drawn / "plan" / "plots.csv").read_bytes()
        told = json.loads((folder / "frozen.json").read_text())
        assert told["frozen_at"] == "2026-01-12T14:05:30+00:00"
        assert told["files"] == {n: sha256(folder / n) for n in NAMES - {"frozen.json"}}
        assert told["late"] == []
        assert (frozen.when, frozen.late) == (WHEN, ())
        assert frozen.document in (folder / "protocol.html").read_text(encoding="utf-8")
        assert not [path.name for path in folder.parent.iterdir() if path.name.startswith(".")]

    def test_the_freeze_stands(self, kept: Path) -> None:
        before = {p.name: p.read_bytes() for p in (kept / "plan" / "frozen").iterdir()}
        change(kept, "matters_from: 1}", "matters_from: 2}")
        with pytest.raises(WinterswardError, match="the freeze stands; trial.yaml may") as caught:
            freeze(kept)
        assert len(caught.value.problems) == 1
        assert {p.name: p.read_bytes() for p in (kept / "plan" / "frozen").iterdir()} == before

    def test_values_of_the_plots_are_kept_and_told_in_the_protocol(self, drawn: Path) -> None:
        plots = pd.read_csv(drawn / "plan" / "plots.csv", dtype=str)
        sod = ["new" if one == "open" else "old" for one in plots["cover"]]
        values = drawn / "plan" / "plot_values.csv"
        plots[["plot"]].assign(sod_source=sod).to_csv(values, index=False)
        frozen = freeze(drawn, lambda: ON_TIME)
        kept = frozen.folder / "plot_values.csv"
        assert kept.read_bytes() == values.read_bytes()
        assert frozen.files["plot_values.csv"] == sha256(values)
        assert frozen.values["101"]["sod_source"] == sod[0]
        page = (frozen.folder / "protocol.html").read_text(encoding="utf-8")
        assert "falls together with cover" in BeautifulSoup(page, "html.parser").get_text()
        assert {kept, values} <= set(input_files(drawn))
        kept.write_bytes(b"plot,sod_source\n101,old\n")
        (line,) = freeze_lines(drawn, open_study(drawn).definition)
        assert "plan/frozen/plot_values.csv: found another content" in line

    def test_faulty_values_are_not_frozen(self, drawn: Path) -> None:
        (drawn / "plan" / "plot_values.csv").write_text("plots,sun\n101,3\n")
        with pytest.raises(WinterswardError, match="found no column plot"):
            freeze(drawn)
        assert not (drawn / "plan" / "frozen").exists()

    def test_without_plots_nothing_is_frozen(self, study: Path) -> None:
        with pytest.raises(WinterswardError, match=r"no plots to freeze yet; run: .*plan"):
            freeze(study)
        assert not (study / "plan").exists()

    def test_a_wrong_definition_is_not_frozen(self, drawn: Path) -> None:
        change(drawn, "units: us", "units: yards")
        with pytest.raises(WinterswardError, match="units: found 'yards'"):
            freeze(drawn)
        assert not (drawn / "plan" / "frozen").exists()

    def test_another_plan_is_not_frozen(self, drawn: Path) -> None:
        change(drawn, "seed: 0042", "seed: 43")
        with pytest.raises(WinterswardError, match="is not the plan"):
            freeze(drawn)
        assert not (drawn / "plan" / "frozen").exists()

    def test_a_full_disk_leaves_nothing(self, drawn: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        def full(*_: object) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr("wintersward.runs.freezing.os.rename", full)
        with pytest.raises(OSError, match="No space left"):
            freeze(drawn)
        assert [p.name for p in (drawn / "plan").iterdir() if "frozen" in p.name] == []


class TestLate:
    @pytest.mark.parametrize(
        ("day", "said"),
        [
            (18, []),
            (19, ["on the day on which the covers went on (19 January 2026)"]),
            (20, ["after the covers went on (19 January 2026)"]),
        ],
    )
    def test_by_the_planned_day(self, drawn: Path, day: int, said: list[str]) -> None:
        frozen = freeze(drawn, lambda: ON_TIME.replace(day=day))
        assert list(frozen.late) == said

    def test_by_the_day_in_the_diary(self, drawn: Path) -> None:
        (drawn / "diary.yaml").write_text("covers:\n  - {on: 2026-01-11}\n")
        frozen = freeze(drawn, lambda: ON_TIME)
        assert frozen.late == ("after the covers went on (11 January 2026)",)

    def test_with_values_there(self, drawn: Path) -> None:
        rate(drawn)
        frozen = freeze(drawn, lambda: ON_TIME.replace(month=4))
        assert frozen.late == (
            "after the covers went on (19 January 2026)",
            "when 1 sheet was already there",
        )
        html = (drawn / "plan" / "frozen" / "protocol.html").read_text(encoding="utf-8")
        assert "This plan was frozen late: after the covers went on (19 January 2026) and " in html

    def test_with_values_that_cannot_be_read(self, drawn: Path) -> None:
        (drawn / "sheets").mkdir()
        (drawn / "sheets" / "colour.csv").write_text("date,plot,rater,colour\n2026-01-15,1,rx,5\n")
        frozen = freeze(drawn, lambda: ON_TIME)
        assert frozen.late == ("when sheets or photos that cannot be read yet were already there",)

    def test_it_is_said_at_once(self, drawn: Path) -> None:
        # The clock of the machine is past January 2026.
        said = CliRunner().invoke(main, ["plan", str(drawn), "--freeze"])
        assert (said.exit_code, said.stderr) == (0, "")
        assert (
            "\nthis is late: the plan was frozen after the covers went on (19 January 2026); it "
            "cannot show that the question came before what was known by then" in said.stdout
        )
        html = (drawn / "plan" / "frozen" / "protocol.html").read_text(encoding="utf-8")
        assert "Read and agreed late, after the covers went on (19 January 2026)." in html

    def test_in_good_time_there_is_nothing_to_say(self, drawn: Path) -> None:
        assert late_words(freeze(drawn, lambda: ON_TIME)) == ""


class TestCheck:
    def test_an_open_plan(self, drawn: Path) -> None:
        found = check(drawn)
        assert (found.frozen, found.protocol) == (False, ())

    def test_nothing_was_changed(self, kept: Path) -> None:
        found = check(kept)
        assert found.frozen
        assert found.protocol == (f"the plan was frozen on {WHEN}; nothing was changed since",)

    def test_every_change_has_a_line(self, kept: Path) -> None:
        change(kept, "matters_from: 1}", "matters_from: 2}")
        change(kept, "title: Covers on", "title: Winter covers on")
        (kept / "diary.yaml").write_text(
            "deviations:\n  - {date: 2026-02-01, what: margin, reason: asked by the program, "
            "field: analysis.primary.matters_from}\n"
        )
        first, *lines = check(kept).protocol
        assert first.startswith(f"the plan was frozen on {WHEN}; 2 lines were changed since")
        assert first.endswith("calls exploratory what that touches:")
        assert lines == [
            "  title: Covers on the Alder Road ground, 2026 -> Winter covers on the Alder Road "
            "ground, 2026; no reason given",
            "  analysis.primary.matters_from: 1 -> 2; asked by the program",
        ]

    def test_damage_is_told(self, kept: Path) -> None:
        (kept / "plan" / "frozen" / "protocol.html").unlink()
        (said,) = check(kept).protocol
        assert said.startswith("the frozen plan is damaged: plan/frozen/protocol.html: found")

    def test_a_line_that_is_gone_may_still_be_named(self, drawn: Path) -> None:
        change(drawn, "  visits: [", "  spare: 2026-04-01\n  visits: [")
        freeze(drawn, lambda: ON_TIME)
        change(drawn, "  spare: 2026-04-01\n", "")
        (drawn / "diary.yaml").write_text(
            "deviations:\n  - {date: 2026-02-01, what: gone, reason: idle, field: dates.spare}\n"
        )
        assert check(drawn).protocol[1:] == ("  dates.spare: 2026-04-01 -> nothing; idle",)


def test_a_run_says_in_one_line_how_the_plan_stands(
    drawn: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def done(study: Path, *_: object) -> Path:
        return study / "runs" / "001"

    monkeypatch.setattr(runner, "run_stages", done)
    monkeypatch.setattr(runner, "hand_out", lambda _: None)
    said: list[str] = []
    runner.run(drawn, said.append)
    assert said == []
    freeze(drawn, lambda: ON_TIME)
    change(drawn, "matters_from: 1}", "matters_from: 2}")
    runner.run(drawn, said.append)
    assert len(said) == 1
    assert "1 line was changed since; the report calls exploratory what that touches" in said[0]
    (drawn / "plan" / "frozen" / "plots.csv").write_text("")
    runner.run(drawn, said.append)
    assert said[1].startswith("the frozen plan is damaged: plan/frozen/plots.csv")


def test_the_frozen_plan_is_an_input_of_a_run(kept: Path) -> None:
    named = {path.relative_to(kept).as_posix() for path in input_files(kept)}
    assert {f"plan/frozen/{name}" for name in NAMES} <= named


class TestReport:
    def test_without_a_freeze(self, drawn: Path, tmp_path: Path, tables: Tables) -> None:
        rate(drawn)
        said = pages(drawn, tmp_path / "run", tables)
        assert "stayed open" in said["answer"]
        assert "The plan stayed open" in said["plan"]
        assert "was not frozen" in said["limits"]
        assert "xploratory" not in said["answer"] + said["methods"] + said["results"]

    def test_frozen_in_time_and_kept(self, drawn: Path, tmp_path: Path, tables: Tables) -> None:
        frozen = freeze(drawn, lambda: ON_TIME)
        rate(drawn)
        said = pages(drawn, tmp_path / "run", tables)
        assert "frozen on 12 January 2026 at 14:05 UTC, before the covers went on" in said["plan"]
        assert frozen.short in said["plan"]
        assert "Nothing was changed since" in said["plan"]
        assert "question came before the data" not in said["answer"] + said["limits"]
        assert "xploratory" not in said["answer"] + said["methods"] + said["results"]

    def test_a_changed_question_is_exploratory(self, kept: Path, tmp_path: Path) -> None:
        rate(kept)
        change(kept, "matters_from: 1}", "matters_from: 2}")
        (kept / "diary.yaml").write_text(
            "deviations:\n  - {date: 2026-02-01, what: margin, reason: asked by the program, "
            "field: analysis.primary}\n"
        )
        said = pages(kept, tmp_path / "run")
        assert "Exploratory: We estimate that on 24 March 2026" in said["answer"]
        assert "changed after the freeze (analysis.primary.matters_from)" in said["answer"]
        assert "It was changed after the plan was frozen" in said["answer"]
        assert "so this is exploratory: the primary question" in said["methods"]
        for words in ("analysis.primary.matters_from 1 2", "asked by the program"):
            assert words in said["plan"]
        # The measure itself was not touched.
        assert "xploratory" not in said["results"]

    def test_a_changed_measure_marks_its_section(self, kept: Path, tmp_path: Path) -> None:
        change(kept, "visits: [2026-03-10,", "visits: [2026-03-11,")
        rate(kept)
        sheet = kept / "sheets" / "colour.csv"
        sheet.write_text(sheet.read_text().replace("2026-03-10", "2026-03-11"))
        said = pages(kept, tmp_path / "run")
        assert "Exploratory" not in said["answer"]
        assert "Colour (exploratory)" in said["results"]
        assert "Exploratory. Colour: means by cover" in said["results"]
        assert "no reason given" in said["plan"]

    def test_words_alone_touch_nothing(self, kept: Path, tmp_path: Path, tables: Tables) -> None:
        change(kept, "title: Covers on", "title: Winter covers on")
        rate(kept)
        said = pages(kept, tmp_path / "run", tables)
        assert "Words alone were changed since" in said["plan"]
        assert "xploratory" not in said["answer"] + said["methods"] + said["results"]

    def test_damage_is_told_on_the_page(self, kept: Path, tmp_path: Path, tables: Tables) -> None:
        (kept / "plan" / "frozen" / "trial.yaml").write_text("title: another")
        rate(kept)
        said = pages(kept, tmp_path / "run", tables)
        assert "the frozen files are damaged" in said["plan"]
        assert "what was frozen is damaged" in said["answer"]
        assert "The frozen plan is damaged" in said["limits"]

    def test_frozen_late(self, drawn: Path, tmp_path: Path, tables: Tables) -> None:
        rate(drawn)
        freeze(drawn, lambda: ON_TIME.replace(month=4))
        said = pages(drawn, tmp_path / "run", tables)
        words = "after the covers went on (19 January 2026) and when 1 sheet was already there"
        assert f"The plan was frozen {words}" in said["answer"]
        assert f"14:05 UTC, {words}" in said["plan"]
        assert f"The plan was frozen {words}, so this report cannot show" in said["limits"]


def test_lines_without_a_freeze_are_none(drawn: Path) -> None:
    assert freeze_lines(drawn, open_study(drawn).definition) == []
