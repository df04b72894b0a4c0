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

from e2e.example import EXAMPLE, Ran
from e2e.judging import judgements
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
def html(ran: Ran) -> str:
    return (ran.study / "report.html").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def page(html: str) -> Page:
    return Page(html)


def test_the_run_is_numbered_and_its_report_is_copied(ran: Ran) -> None:
    assert ran.run == ran.study / "runs" / "001"
    newest = (ran.run / "report.html").read_bytes()
    assert (ran.study / "report.html").read_bytes() == newest
    assert not list((ran.study / "runs").glob(".unfinished-*"))


def test_the_interval_of_the_primary_effect_holds_the_true_effect(ran: Ran) -> None:
    # The seed is the day on which the covers went on (example_study/field_model.py).
    primary = table(ran.run, "primary").set_index("which").loc["as planned"]
    truth = pd.read_csv(EXAMPLE / "truth" / "effects.csv")
    truth = truth[truth["date"] == primary["date"]].set_index(["left", "right"])["difference"]
    true = truth[(primary["left"], primary["right"])]
    assert primary["lower"] <= true <= primary["upper"]
    assert primary["df"] == pytest.approx(10)  # (6 blocks - 1)(3 covers - 1)


def test_covered_turf_loses_less_to_the_hollow_tine(ran: Ran) -> None:
    found = table(ran.run, "differences")
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


def test_photos_agree_with_the_painted_truth(ran: Ran) -> None:
    truth = pd.read_csv(EXAMPLE / "truth" / "photos.csv", dtype={"plot": str})
    scores = table(ran.run, "photo_scores").merge(truth, on=["date", "plot"])
    assert len(scores) == len(truth) == 215
    assert (scores["cover"] - scores["true_cover"]).abs().mean() <= 2.0


def test_blemishes_are_told(ran: Ran) -> None:
    counts = table(ran.run, "counts").set_index(["measure", "date"])
    assert counts.loc[("green_cover", "2026-03-16"), "missing"] == 1
    assert counts.loc[("green_cover", "2026-03-24"), "excluded"] == 1
    assert counts.loc[("colour_rating", "2026-03-10"), "excluded"] == 2
    assert counts.loc[("pull_force", "2026-03-24"), "excluded"] == 1
    assert counts.loc[("pull_force", "2026-04-17"), "missing"] == 1
    assert counts["repeats"].sum() == 48  # of 36 plots 10 %, for two raters on six visits
    scores = table(ran.run, "photo_scores").set_index(["date", "plot"])
    assert "blurred" in str(scores.loc[("2026-04-04", "503"), "flags"])
    primary = table(ran.run, "primary")
    assert primary["which"].tolist() == ["as planned", "with excluded observations"]
    assert primary["difference"].nunique() == 2


def test_what_looks_odd_is_told_and_left_in_place(ran: Ran) -> None:
    # tests/example_study/test_blemishes.py says why these three, and what is set aside.
    flags = table(ran.run, "flags")
    assert flags["kind"].tolist() == ["second look differs"] * 3
    sums = table(ran.run, "sheet_sums").set_index("file")
    assert sums.loc["sheets/colour_ratings.xlsx", "unread"] == "Remarks"
    assert sums.loc["sheets/pulls.csv", "values_missing"] == 1


def test_the_bias_between_the_raters_is_the_true_one(ran: Ran) -> None:
    found = table(ran.run, "raters").pivot_table(index="date", columns="rater", values="severity")
    truth = pd.read_csv(EXAMPLE / "truth" / "raters.csv").set_index("rater")
    true = truth.loc["rx", "severity"] - truth.loc["te", "severity"]
    # Two marks of one plot differ by the bias and by chance: twice the variance of a mark, to
    # which rounding to whole ones adds 1/12 (Sheppard 1898, from memory). 36 plots on 6 visits.
    error = ((2 * (truth["repeat_sd"] ** 2 + 1 / 12)) ** 0.5).max() / (6 * 36) ** 0.5
    assert (found["te"] - found["rx"]).mean() == pytest.approx(true, abs=3 * error)


def test_every_table_is_described(ran: Ran) -> None:
    described = json.loads((ran.run / "results" / "tables.json").read_text(encoding="utf-8"))
    written = {path.stem for path in (ran.run / "results").glob("*.csv")}
    assert written == set(described)
    for name in written:
        heads = list(table(ran.run, name).columns)
        assert heads == [column["name"] for column in described[name]["columns"]]


def test_the_page_says_the_primary_answer(ran: Ran, html: str) -> None:
    primary = table(ran.run, "primary").set_index("which").loc["as planned"]
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


def test_numbers_of_the_page_stand_in_the_tables(ran: Ran, page: Page) -> None:
    data = page.all("data")
    assert len(data) > 100
    lines: dict[str, list[str]] = {}
    for attrs in data:
        name, line = attrs["title"].split(":")
        if name not in lines:
            text = (ran.run / "results" / name).read_text(encoding="utf-8")
            lines[name] = text.splitlines()
        assert attrs["value"] in lines[name][int(line) - 1].split(","), attrs


def test_what_judges_is_found_where_treatments_are_tested(ran: Ran) -> None:
    """So that finding nothing in a demonstration tells something."""
    found = judgements(ran.run)
    kinds = {one.partition(":")[0].rpartition(".")[2] for one in found}
    assert kinds == {"csv", "html", "ipynb", "json"}
    names = {one.rpartition(" ")[2].strip("'") for one in found if ": name " in one}
    assert names >= {"f", "t", "p", "df", "df_num", "df_den", "se", "lower", "upper", "letters"}
    said = "\n".join(one for one in found if ": words " in one).lower()
    for word in (
        "degrees of freedom",
        "interval",
        "standard error",
        "holm",
        "kenward",
        "f test",
    ):
        assert word in said
    assert len(found) > 500


def test_stages_say_nothing_on_stderr(ran: Ran) -> None:
    notebooks = sorted((ran.run / "notebooks").glob("*.ipynb"))
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


def test_records_open_by_hand(ran: Ran) -> None:
    import wintersward

    record = open_record(wintersward.open_study(ran.study), ran.run)
    assert record.read("primary")["which"].tolist()[0] == "as planned"


@pytest.fixture(scope="module")
def archive(ran: Ran) -> Iterator[Path]:
    made = bundle(ran.study)
    yield made
    made.unlink()


def test_the_example_is_packed_whole(ran: Ran, archive: Path, tmp_path: Path) -> None:
    assert archive == ran.study / "bundle-001.zip"
    names = unpack(archive, tmp_path / "unpacked")
    files = read_json(tmp_path / "unpacked" / "inventory.json")["files"]
    assert set(names) - set(files) == {"inventory.json"}
    made_from = read_json(ran.run / "inputs.json")["files"]
    for name, told in made_from.items():
        assert files[f"study/{name}"]["sha256"] == told["sha256"]
    of_run = {p.relative_to(ran.run).as_posix() for p in ran.run.rglob("*") if p.is_file()}
    pages = {"report.html", "brief.html"} & of_run
    assert {f"run/{name}" for name in of_run - pages} | pages <= set(files)
    assert {one["role"] for one in files.values()} >= {"photo", "sheet", "logger", "results"}


def test_its_tables_and_stages_are_described(ran: Ran, archive: Path) -> None:
    with zipfile.ZipFile(archive) as held:
        package = json.loads(held.read("datapackage.json"))
        crate = json.loads(held.read("ro-crate-metadata.json"))
        checklist = held.read("miappe.csv").decode().splitlines()
    tables = read_json(ran.run / "results" / "tables.json")
    assert {one["name"] for one in package["resources"]} == {"plots", *tables}
    pointing = [one["name"] for one in package["resources"] if "foreignKeys" in one["schema"]]
    assert {"observations", "plot_means", "differences", "photo_scores"} <= set(pointing)
    actions = [one for one in crate["@graph"] if one["@type"] == "CreateAction"]
    assert len(actions) == len(read_json(ran.run / "provenance.json")["seconds"])
    assert sum(",yes," in line for line in checklist) > 35
