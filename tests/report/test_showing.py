from __future__ import annotations

import datetime as dt
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import IPython.display
import pandas as pd
import pytest
from matplotlib.figure import Figure
from PIL import Image

from wintersward.errors import WinterswardError
from wintersward.report.showing import photo_sheet, show


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch) -> list[tuple[dict[str, Any], dict[str, Any]]]:
    kept: list[tuple[dict[str, Any], dict[str, Any]]] = []

    def keep(data: dict[str, Any], raw: bool, metadata: dict[str, Any] | None = None) -> None:
        assert raw
        kept.append((data, metadata or {}))

    monkeypatch.setattr(IPython.display, "display", keep)
    return kept


def test_a_table_is_captioned_and_cut(shown: list[Any]) -> None:
    frame = pd.DataFrame({"plot": ["101", "102"], "value": [46.25, 51.0]}, index=[7, 9])
    show(frame, "Scores", limit=1)
    html = shown[0][0]["text/html"]
    assert "<caption>Scores</caption>" in html
    assert "46.25" in html
    assert "102" not in html
    assert "1 more rows." in html


def test_an_empty_table_says_so(shown: list[Any]) -> None:
    show(pd.DataFrame({"a": []}), "Days <gained>")
    data = shown[0][0]
    assert data["text/plain"] == "Days <gained>: nothing to show yet."
    assert data["text/html"] == "<p>Days &lt;gained&gt;: nothing to show yet.</p>"


def test_a_figure_brings_its_words(shown: list[Any]) -> None:
    show(Figure(figsize=(1, 1)), "Nothing, 0 lines")
    data, metadata = shown[0]
    assert data["image/png"].startswith(b"\x89PNG")
    assert metadata == {"image/png": {"alt": "Nothing, 0 lines"}}


def test_a_picture_brings_its_words(shown: list[Any]) -> None:
    show(Image.new("RGB", (4, 4)), "A field, 4 pixels wide")
    assert shown[0][0]["image/jpeg"].startswith(b"\xff\xd8")
    assert shown[0][1]["image/jpeg"]["alt"] == "A field, 4 pixels wide"


@pytest.mark.parametrize(("what", "words"), [(pd.DataFrame(), " "), ("text", "words")])
def test_anything_else_is_refused(shown: list[Any], what: Any, words: str) -> None:
    with pytest.raises(WinterswardError, match="show"):
        show(what, words)


@pytest.fixture
def trial(tmp_path: Path) -> SimpleNamespace:
    rows = []
    for plot in ("101", "102", "201"):
        for day, cover in (("2026-03-10", 22.0), ("2026-03-24", 51.4)):
            if (plot, day) == ("102", "2026-03-24"):
                continue
            path = f"photos/{plot}_{day}.png"
            (tmp_path / "photos").mkdir(exist_ok=True)
            Image.new("RGB", (320, 240), (60, 120, 50)).save(tmp_path / path)
            rows.append((pd.Timestamp(day), plot, 1, path, cover + int(plot) / 100))
    scores = pd.DataFrame(rows, columns=["date", "plot", "sample", "path", "cover"])
    plots = pd.DataFrame({"plot": ["101", "102", "201"], "block": ["1", "1", "2"]})
    plots["cover"] = ["open", "fleece", "open"]
    return SimpleNamespace(
        folder=tmp_path,
        plots=plots,
        photo_scores=lambda: scores,
        ready=True,
        factors=["cover"],
        begins=lambda factor: dt.date(2026, 3, 20),
    )


def test_the_sheet_shows_the_first_block(trial: SimpleNamespace) -> None:
    sheet, alt = photo_sheet(trial)
    assert alt == (
        "3 photos of block 1, a row a plot and a column a date. Green cover goes from "
        "23 % on plot 101 on 10 March 2026 to 52 % on plot 101 on 24 March 2026."
    )
    # Two columns and two rows, the missing photo a grey field in its place.
    corner = sheet.getpixel((sheet.width * 3 // 4, sheet.height * 5 // 8))
    assert corner == (236, 239, 236)


def labels(monkeypatch: pytest.MonkeyPatch, trial: SimpleNamespace) -> list[str]:
    seen: list[Any] = []

    def sheet(entries: list[Any], **_: Any) -> Image.Image:
        seen.extend(entries)
        return Image.new("RGB", (8, 8))

    monkeypatch.setattr("wintersward.photos.overlays.contact_sheet", sheet)
    photo_sheet(trial)
    return [entry.date for entry in seen]


def test_photos_name_what_was_on_their_plot_that_day(
    monkeypatch: pytest.MonkeyPatch, trial: SimpleNamespace
) -> None:
    told = labels(monkeypatch, trial)
    assert told == ["10 Mar", "24 Mar, open", "10 Mar", "24 Mar, fleece, no photo"]


def test_before_the_primary_date_no_photo_names_its_treatment(
    monkeypatch: pytest.MonkeyPatch, trial: SimpleNamespace
) -> None:
    trial.ready = False
    assert labels(monkeypatch, trial) == ["10 Mar", "24 Mar", "10 Mar", "24 Mar, no photo"]


def test_without_photos_the_sheet_says_so(trial: SimpleNamespace) -> None:
    empty = trial.photo_scores().iloc[:0]
    trial.photo_scores = lambda: empty
    sheet, alt = photo_sheet(trial)
    assert "No photos yet" in alt
    assert sheet.size == (480, 72)
