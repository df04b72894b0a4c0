"""A demonstration goes the whole way, and no file of it judges; see `e2e.judging`."""

from __future__ import annotations

import json
import shutil
from dataclasses import dataclass
from pathlib import Path

import nbformat
import pandas as pd
import pytest
from bs4 import BeautifulSoup
from click.testing import CliRunner

import wintersward
from e2e.demonstration import BASELINE, VISITS, gather, write_plan
from e2e.example import CHECKOUT
from e2e.judging import ALLOWED, judgements
from wintersward.analysis.demonstration_tables import DEMONSTRATION_TABLES
from wintersward.analysis.results import TABLES
from wintersward.analysis.skeleton import DEMONSTRATION
from wintersward.cli import main
from wintersward.errors import WinterswardError
from wintersward.runs.stages import DEMONSTRATION_STAGES

pytestmark = pytest.mark.e2e

OWN = "30-description.ipynb"
REASON = DEMONSTRATION.partition(",")[0]


@dataclass(frozen=True)
class Shown:
    """A demonstration that went the whole way through the command, and what that said."""

    study: Path
    run: Path
    said: dict[str, str]


def typed(*words: str) -> str:
    done = CliRunner().invoke(main, list(words))
    assert done.exit_code == 0, done.output
    return done.output


@pytest.fixture(scope="session")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Shown:
    study = write_plan(tmp_path_factory.mktemp("e2e") / "demonstration")
    said = {"planned": typed("plan", str(study), "--freeze")}
    said["papers"] = typed("papers", str(study))
    gather(study)
    said["check"] = typed("check", str(study))
    said["run"] = typed("run", str(study))
    return Shown(study, study / "runs" / "001", said)


@pytest.fixture(scope="session")
def page(shown: Shown) -> BeautifulSoup:
    return BeautifulSoup((shown.study / "report.html").read_bytes(), "html.parser")


def words_of(soup: BeautifulSoup, section: str) -> str:
    found = soup.find(id=section)
    assert found is not None, section
    return " ".join(found.get_text(" ").split())


def table(run: Path, name: str) -> pd.DataFrame:
    return pd.read_csv(run / "results" / f"{name}.csv", dtype={"plot": str})


def test_no_file_of_the_run_or_of_the_plan_judges(shown: Shown) -> None:
    for folder in (shown.run, shown.study / "plan"):
        assert judgements(folder) == []
    assert (shown.run / "report.html").read_bytes() == (shown.study / "report.html").read_bytes()
    assert {path.suffix for path in (shown.study / "plan").rglob("*") if path.is_file()} >= {
        ".csv",
        ".html",
        ".ics",
        ".json",
        ".svg",
        ".xlsx",
        ".yaml",
    }


def test_nothing_that_the_command_says_judges(shown: Shown, tmp_path: Path) -> None:
    for name, said in shown.said.items():
        (tmp_path / f"{name}.txt").write_text(said, encoding="utf-8")
    assert judgements(tmp_path) == []


def test_what_is_allowed_is_there_and_says_that_there_is_none(shown: Shown) -> None:
    protocol = (shown.study / "plan" / "frozen" / "protocol.html").read_text(encoding="utf-8")
    assert [one for one in ALLOWED if one not in protocol] == []
    assert all(" no " in one or "nothing" in one for one in ALLOWED)


def test_the_run_holds_the_tables_of_a_demonstration_and_no_other(shown: Shown) -> None:
    described = json.loads((shown.run / "results" / "tables.json").read_text(encoding="utf-8"))
    written = {path.stem for path in (shown.run / "results").glob("*.csv")}
    assert written == set(described) == set(DEMONSTRATION_TABLES)
    for name in written:
        heads = list(table(shown.run, name).columns)
        assert heads == [column["name"] for column in described[name]["columns"]]
    assert {"primary", "tests", "differences", "skeleton", "agreement"} <= set(TABLES) - written
    notebooks = sorted(path.name for path in (shown.run / "notebooks").iterdir())
    assert notebooks == [stage.file for stage in DEMONSTRATION_STAGES]
    made_from = json.loads((shown.run / "inputs.json").read_text(encoding="utf-8"))
    assert f"notebooks/{OWN}" in made_from["templates"]
    assert "notebooks/30-statistics.ipynb" not in made_from["templates"]
    told = json.loads((shown.run / "provenance.json").read_text(encoding="utf-8"))
    assert list(told["seconds"]) == [stage.name for stage in DEMONSTRATION_STAGES]
    assert "[3/5] 30-description: describe what was seen\n" in shown.said["run"]


def test_what_was_seen_is_in_the_tables(shown: Shown) -> None:
    seen, means = (table(shown.run, name) for name in ("plot_means", "means"))
    counts = table(shown.run, "counts").set_index(["measure", "date"])
    assert counts.loc[("colour_rating", VISITS[0]), ["used", "repeats"]].tolist() == [12, 6]
    assert counts.loc[("pull_force", VISITS[1]), ["used", "excluded"]].tolist() == [11, 1]
    day = seen[(seen["measure"] == "green_cover") & (seen["date"] == VISITS[1])]
    own = means[(means["measure"] == "green_cover") & (means["date"] == VISITS[1])]
    own = own[own["effect"] == "cover"].set_index("level")["mean"]
    assert own.to_dict() == pytest.approx(day.groupby("cover")["value"].mean().to_dict())
    assert own["fleece"] > own["woven"] > own["open"]
    assert not (means["date"] == BASELINE).any()
    found = table(shown.run, "rater_counts")
    looks = found.set_index(["date", "rater", "against"])
    assert looks.loc[(BASELINE, "rx", "te"), "plots"] == 6
    assert looks.loc[(BASELINE, "rx", "second look"), "plots"] == 3
    assert (found["same"] <= found["near"]).all()
    assert set(table(shown.run, "cover_events")["what"]) == {"blown off", "laid again", "snow"}
    months = table(shown.run, "weather_months")
    assert months["normal"].notna().any()
    assert len(table(shown.run, "arrivals")) == 6


def test_the_page_says_once_why_and_what_a_valid_trial_would_need(page: BeautifulSoup) -> None:
    assert words_of(page, "answer").count(DEMONSTRATION) == 1
    needs = words_of(page, "replication")
    assert needs.startswith("What a valid trial would need Several plots of every treatment")
    assert "Six of each are 36 plots of 10 ft by 6 ft in place of the six areas here" in needs
    for need in ("Blocks of ground", "the computer deals", "frozen before", "The same care"):
        assert need in needs
    asked = words_of(page, "trial")
    assert "less green cover than plots with no cover? A demonstration leaves it open" in asked
    assert "smallest difference" not in asked


def test_treatments_pictures_and_map_are_on_the_page(shown: Shown, page: BeautifulSoup) -> None:
    results = words_of(page, "results")
    for label in ("No cover", "Spun-bond fleece", "Woven permeable cover", "No sand"):
        assert label in results
    means = table(shown.run, "means")
    green = means[(means["measure"] == "green_cover") & (means["effect"] == "cover")]
    for value in green["mean"]:
        assert f"{value:.1f}" in results
    figures = json.loads((shown.run / "figures" / "figures.json").read_text(encoding="utf-8"))
    assert {"plot_map", "photo_overlay", "arrivals", "progress_green_cover"} <= set(figures)
    assert {"progress_colour_rating", "progress_pull_force", "raters_colour_rating"} <= set(figures)
    alts = [image["alt"] for image in page("img")]
    assert {entry["alt"] for entry in figures.values()} <= set(alts)
    assert [image["alt"] for image in page.select("#layout img")] == [figures["plot_map"]["alt"]]
    agreed = words_of(page, "agreement")
    assert "how often two looks gave the same" in agreed
    assert "R. Example, twice" in agreed
    assert "In January 2026 the mean low was" in words_of(page, "season")


def test_numbers_of_the_page_stand_in_the_tables(shown: Shown, page: BeautifulSoup) -> None:
    numbers = page("data")
    assert len(numbers) > 100
    assert "rater_counts.csv" in {str(one["title"]).split(":")[0] for one in numbers}
    lines: dict[str, list[str]] = {}
    for one in numbers:
        name, line = str(one["title"]).split(":")
        if name not in lines:
            lines[name] = (shown.run / "results" / name).read_text(encoding="utf-8").splitlines()
        assert one["value"] in lines[name][int(line) - 1].split(","), one


def test_an_own_copy_of_its_notebook_is_used_and_told(shown: Shown, tmp_path: Path) -> None:
    study = tmp_path / "study"
    shutil.copytree(shown.study, study, ignore=shutil.ignore_patterns("runs"))
    (study / "notebooks").mkdir()
    for name in (OWN, "30-statistics.ipynb"):
        shutil.copy(CHECKOUT / "templates" / "notebooks" / name, study / "notebooks")
    own = nbformat.read(study / "notebooks" / OWN, as_version=4)
    own.cells.append(nbformat.v4.new_code_cell('print("our own words")', id="ours"))
    nbformat.write(own, study / "notebooks" / OWN)
    said = typed("run", str(study))
    assert (
        "not used, since layout.kind is 'demonstration': notebooks/30-statistics.ipynb; its stages "
        "are: 10-photos, 20-climate, 30-description, 40-decisions, 50-report\n"
    ) in said
    made = study / "runs" / "001"
    assert "our own words" in (made / "notebooks" / OWN).read_text(encoding="utf-8")
    made_from = json.loads((made / "inputs.json").read_text(encoding="utf-8"))
    assert made_from["own_copies"] == [f"notebooks/{OWN}"]
    for before in sorted((shown.run / "results").iterdir()):
        assert (made / "results" / before.name).read_bytes() == before.read_bytes(), before.name


def test_what_only_a_trial_has_is_refused_with_the_reason(shown: Shown) -> None:
    trial = wintersward.open_study(shown.study)
    with pytest.raises(WinterswardError, match=REASON):
        wintersward.analyse(trial)["tests"]
    record = wintersward.open_record(trial, shown.run)
    with pytest.raises(WinterswardError, match="no table is called 'tests'"):
        record.write("tests", pd.DataFrame())
