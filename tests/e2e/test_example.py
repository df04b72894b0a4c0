"""The main job, end to end: from definition, photos and sheets to the page that is handed in."""

from __future__ import annotations

import json
import re
import zipfile
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pandas as pd
import pytest

from e2e.example import EXAMPLE, OFFSET, USER, TwoRuns
from wintersward.handin.bundle import bundle
from wintersward.handin.unpacking import unpack
from wintersward.runs import open_record
from wintersward.runs.files import read_json

pytestmark = pytest.mark.e2e


def table(run: Path, name: str) -> pd.DataFrame:
    return pd.read_csv(run / "results" / f"{name}.csv", dtype={"plot": str})


class Page(HTMLParser):
    """Collects what the tests ask about a page."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def all(self, *names: str) -> list[dict[str, str]]:
        return [attrs for tag, attrs in self.tags if tag in names]


@pytest.fixture(scope="module")
def html(runs: TwoRuns) -> str:
    return (runs.study / "report.html").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def page(html: str) -> Page:
    return Page(html)


def test_runs_are_numbered_and_the_newest_report_is_copied(runs: TwoRuns) -> None:
    assert [runs.first.name, runs.second.name] == ["001", "002"]
    newest = (runs.second / "report.html").read_bytes()
    assert (runs.study / "report.html").read_bytes() == newest
    assert not list((runs.study / "runs").glob(".unfinished-*"))


def test_two_runs_give_the_same_bytes_outside_provenance(runs: TwoRuns) -> None:
    names = {p.relative_to(runs.first) for p in runs.first.rglob("*") if p.is_file()}
    assert names == {p.relative_to(runs.second) for p in runs.second.rglob("*") if p.is_file()}
    assert Path("provenance.json") in names
    for name in names - {Path("provenance.json")}:
        assert (runs.first / name).read_bytes() == (runs.second / name).read_bytes(), name


def test_the_second_run_had_other_surroundings(runs: TwoRuns) -> None:
    told = [
        json.loads((run / "provenance.json").read_text(encoding="utf-8"))
        for run in (runs.first, runs.second)
    ]
    assert [one["started"].endswith(OFFSET) for one in told] == [False, True]
    assert runs.first.parents[2] != runs.second.parents[2]
    words = {USER, str(runs.first.parents[2]), str(runs.second.parents[2])}
    written = [path for path in runs.second.rglob("*") if path.is_file()]
    assert not [p for p in written if any(word.encode() in p.read_bytes() for word in words)]


def test_the_interval_of_the_primary_effect_holds_the_true_effect(runs: TwoRuns) -> None:
    # The seed is the day on which the covers went on (example_study/field_model.py).
    primary = table(runs.first, "primary").set_index("which").loc["as planned"]
    truth = pd.read_csv(EXAMPLE / "truth" / "effects.csv")
    truth = truth[truth["date"] == primary["date"]].set_index(["left", "right"])["difference"]
    true = truth[(primary["left"], primary["right"])]
    assert primary["lower"] <= true <= primary["upper"]
    assert primary["df"] == pytest.approx(10)  # (6 blocks - 1)(3 covers - 1)


def test_covered_turf_loses_less_to_the_hollow_tine(runs: TwoRuns) -> None:
    found = table(runs.first, "differences")
    found = found[(found["measure"] == "green_cover") & (found["effect"] == "aeration")]
    truth = pd.read_csv(EXAMPLE / "truth" / "tines.csv")
    inside = []
    for row in truth.itertuples():
        here = found[(found["date"] == row.date) & (found["within"] == f"cover={row.cover}")]
        inside.append(
            bool((here["lower"] <= -row.loss).all() and (-row.loss <= here["upper"]).all())
        )
        assert len(here) == 1
    assert sum(inside) >= 5  # of six intervals at 95 %, not adjusted
    late = truth[truth["date"] == "2026-04-17"].set_index("cover")["loss"]
    assert late["fleece"] < late["open"]


def test_photos_agree_with_the_painted_truth(runs: TwoRuns) -> None:
    truth = pd.read_csv(EXAMPLE / "truth" / "photos.csv", dtype={"plot": str})
    scores = table(runs.first, "photo_scores").merge(truth, on=["date", "plot"])
    assert len(scores) == len(truth) == 215
    assert (scores["cover"] - scores["true_cover"]).abs().mean() <= 2.0


def test_blemishes_are_told(runs: TwoRuns) -> None:
    counts = table(runs.first, "counts").set_index(["measure", "date"])
    assert counts.loc[("green_cover", "2026-03-16"), "missing"] == 1
    assert counts.loc[("green_cover", "2026-03-24"), "excluded"] == 1
    assert counts.loc[("colour_rating", "2026-03-10"), "excluded"] == 2
    assert counts.loc[("pull_force", "2026-03-24"), "excluded"] == 1
    assert counts.loc[("pull_force", "2026-04-17"), "missing"] == 1
    assert counts["repeats"].sum() == 48  # of 36 plots 10 %, for two raters on six visits
    scores = table(runs.first, "photo_scores").set_index(["date", "plot"])
    assert "blurred" in str(scores.loc[("2026-04-04", "503"), "flags"])
    primary = table(runs.first, "primary")
    assert primary["which"].tolist() == ["as planned", "with excluded observations"]
    assert primary["difference"].nunique() == 2


def test_what_looks_odd_is_told_and_left_in_place(runs: TwoRuns) -> None:
    # tests/example_study/test_blemishes.py says why these three, and what is set aside.
    flags = table(runs.first, "flags")
    assert flags["kind"].tolist() == ["second look differs"] * 3
    sums = table(runs.first, "sheet_sums").set_index("file")
    assert sums.loc["sheets/colour_ratings.xlsx", "unread"] == "Remarks"
    assert sums.loc["sheets/pulls.csv", "values_missing"] == 1


def test_the_bias_between_the_raters_is_the_true_one(runs: TwoRuns) -> None:
    found = table(runs.first, "raters").pivot_table(
        index="date", columns="rater", values="severity"
    )
    truth = pd.read_csv(EXAMPLE / "truth" / "raters.csv").set_index("rater")
    true = truth.loc["rx", "severity"] - truth.loc["te", "severity"]
    # Two marks of one plot differ by the bias and by chance: twice the variance of a mark, to
    # which rounding to whole ones adds 1/12 (Sheppard 1898, from memory). 36 plots on 6 visits.
    error = ((2 * (truth["repeat_sd"] ** 2 + 1 / 12)) ** 0.5).max() / (6 * 36) ** 0.5
    assert (found["te"] - found["rx"]).mean() == pytest.approx(true, abs=3 * error)


def test_every_table_is_described(runs: TwoRuns) -> None:
    described = json.loads((runs.first / "results" / "tables.json").read_text(encoding="utf-8"))
    written = {path.stem for path in (runs.first / "results").glob("*.csv")}
    assert written == set(described)
    for name in written:
        heads = list(table(runs.first, name).columns)
        assert heads == [column["name"] for column in described[name]["columns"]]


def test_the_page_says_the_primary_answer(runs: TwoRuns, html: str) -> None:
    primary = table(runs.first, "primary").set_index("which").loc["as planned"]
    text = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", html))
    points = f"{primary['difference']:.0f}"
    assert re.search(rf"24 March 2026.{{0,200}}{points}(\.\d)? points", text)
    assert "invented" in text.lower()


def test_the_page_stands_alone(page: Page, html: str) -> None:
    assert page.all("script", "link", "iframe") == []
    fetched = [a.get("src", "") for a in page.all("img", "source", "video", "audio")]
    assert fetched
    assert all(source.startswith("data:") for source in fetched)
    assert not re.search(r"url\(|@import", html)
    assert not [a for a in page.all("a") if not a.get("href", "#").startswith("#")]
    assert len(html.encode()) < 6_000_000


def test_the_page_can_be_read_by_everyone(page: Page) -> None:
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(b - a <= 1 for a, b in zip(levels, levels[1:], strict=False))
    assert all(attrs.get("alt", "").strip() for attrs in page.all("img"))
    assert page.all("html")[0]["lang"] == "en"


def test_numbers_of_the_page_stand_in_the_tables(runs: TwoRuns, page: Page) -> None:
    data = page.all("data")
    assert len(data) > 100
    lines: dict[str, list[str]] = {}
    for attrs in data:
        name, line = attrs["title"].split(":")
        if name not in lines:
            text = (runs.second / "results" / name).read_text(encoding="utf-8")
            lines[name] = text.splitlines()
        assert attrs["value"] in lines[name][int(line) - 1].split(","), attrs


def test_stages_say_nothing_on_stderr(runs: TwoRuns) -> None:
    notebooks = sorted((runs.first / "notebooks").glob("*.ipynb"))
    assert [p.stem for p in notebooks] == [
        "10-photos",
        "20-climate",
        "30-statistics",
        "40-decisions",
        "50-report",
    ]
    for path in notebooks:
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        outputs = [out for cell in cells for out in cell.get("outputs", [])]
        assert outputs
        assert not [out for out in outputs if out.get("name") == "stderr"]


def test_records_open_by_hand(runs: TwoRuns) -> None:
    import wintersward

    record = open_record(wintersward.open_study(runs.study), runs.first)
    assert record.read("primary")["which"].tolist()[0] == "as planned"


@pytest.fixture(scope="module")
def archive(runs: TwoRuns) -> Iterator[Path]:
    made = bundle(runs.study)
    yield made
    made.unlink()


def test_the_example_is_packed_whole(runs: TwoRuns, archive: Path, tmp_path: Path) -> None:
    assert archive == runs.study / "bundle-002.zip"
    names = unpack(archive, tmp_path / "unpacked")
    files = read_json(tmp_path / "unpacked" / "inventory.json")["files"]
    assert set(names) - set(files) == {"inventory.json"}
    made_from = read_json(runs.second / "inputs.json")["files"]
    for name, told in made_from.items():
        assert files[f"study/{name}"]["sha256"] == told["sha256"]
    of_run = {p.relative_to(runs.second).as_posix() for p in runs.second.rglob("*") if p.is_file()}
    pages = {"report.html", "brief.html"} & of_run
    assert {f"run/{name}" for name in of_run - pages} | pages <= set(files)
    assert {one["role"] for one in files.values()} >= {"photo", "sheet", "logger", "results"}


def test_its_tables_and_stages_are_described(runs: TwoRuns, archive: Path) -> None:
    with zipfile.ZipFile(archive) as held:
        package = json.loads(held.read("datapackage.json"))
        crate = json.loads(held.read("ro-crate-metadata.json"))
        checklist = held.read("miappe.csv").decode().splitlines()
    tables = read_json(runs.second / "results" / "tables.json")
    assert {one["name"] for one in package["resources"]} == {"plots", *tables}
    pointing = [one["name"] for one in package["resources"] if "foreignKeys" in one["schema"]]
    assert {"observations", "plot_means", "differences", "photo_scores"} <= set(pointing)
    actions = [one for one in crate["@graph"] if one["@type"] == "CreateAction"]
    assert len(actions) == len(read_json(runs.second / "provenance.json")["seconds"])
    assert sum(",yes," in line for line in checklist) > 35
