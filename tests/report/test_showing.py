from __future__ import annotations

from typing import Any

import IPython.display
import pandas as pd
import pytest
from matplotlib.figure import Figure
from PIL import Image

from wintersward.errors import WinterswardError
from wintersward.report.showing import show


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
    assert data["image/svg+xml"].startswith("<?xml")
    assert metadata == {"image/svg+xml": {"alt": "Nothing, 0 lines"}}


def test_a_picture_brings_its_words(shown: list[Any]) -> None:
    show(Image.new("RGB", (4, 4)), "A field, 4 pixels wide")
    assert shown[0][0]["image/jpeg"].startswith(b"\xff\xd8")
    assert shown[0][1]["image/jpeg"]["alt"] == "A field, 4 pixels wide"


@pytest.mark.parametrize(("what", "words"), [(pd.DataFrame(), " "), ("text", "words")])
def test_anything_else_is_refused(shown: list[Any], what: Any, words: str) -> None:
    with pytest.raises(WinterswardError, match="show"):
        show(what, words)
