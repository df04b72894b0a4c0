"""The contact sheet shows every photo under its plot, in walking order, and no treatment."""

from __future__ import annotations

import io
import re
from html.parser import HTMLParser
from typing import Any

import pandas as pd
import pytest
from PIL import Image

from wintersward.errors import WinterswardError
from wintersward.papers.contact_sheets import THUMB, Sighted, contact_sheet, thumbnail
from wintersward.papers.looks import walks
from wintersward.trial import Definition

GREEN = thumbnail(Image.new("RGB", (64, 48), (60, 90, 40)))


def photo(plot: str = "101", **changed: Any) -> Sighted:
    told: dict[str, Any] = {
        "day": "2026-03-24",
        "plot": plot,
        "sample": "1" if plot else "",
        "file": f"IMG_{plot or '0000'}.jpg",
        "taken": "2026-03-24 11:00:05",
        "remark": "",
        "picture": GREEN,
    }
    return Sighted(**{**told, **changed})


def sheet(definition: Definition, plots: pd.DataFrame, *photos: Sighted) -> str:
    return contact_sheet(definition, plots, "a4", photos)


def cells(page: str) -> list[str]:
    """Plots and samples as they stand under the pictures."""
    return re.findall("<b>([^<]*)</b>", page)


def headings(page: str) -> list[str]:
    return [re.sub("<[^>]*>", "", found) for found in re.findall("<h[23]>(.*?)</h[23]>", page)]


class _Page(HTMLParser):
    """Keeps what a page would fetch, and the alternative texts of its pictures."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.fetched: list[str] = []
        self.alts: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        self.fetched += [value or "" for name, value in attrs if name in ("src", "href")]
        self.fetched += [tag] if tag in ("script", "link") else []
        self.alts += [told["alt"] or ""] if tag == "img" else []


def test_plots_stand_in_walking_order_with_a_frame_for_each(
    definition: Definition, plots: pd.DataFrame
) -> None:
    walk = [str(plot) for one in walks(plots) for plot in one["plot"]]
    page = sheet(definition, plots, *(photo(plot) for plot in sorted(walk, reverse=True)[1:]))
    assert cells(page) == walk
    assert page.count("no photo</div>") == 1
    assert headings(page) == [f"24 March 2026 · {len(walk) - 1} photos, one plot without a photo"]
    assert ", ".join(walk[:12]) in page


def test_a_sheet_needs_nothing_else_and_tells_each_picture(
    definition: Definition, plots: pd.DataFrame
) -> None:
    page = _Page(sheet(definition, plots, photo(), photo("", taken="", file="b.jpg")))
    assert all(text.startswith("data:image/jpeg;base64,") for text in page.fetched)
    assert len(page.fetched) == 2
    assert page.alts == [
        "Photo IMG_101.jpg, plot 101, taken at 11:00:05",
        "Photo b.jpg, plot unknown",
    ]


def test_no_treatment_is_named(definition: Definition, plots: pd.DataFrame) -> None:
    page = sheet(definition, plots, *(photo(str(plot)) for plot in plots["plot"]))
    words = re.sub('<style>.*?</style>|data:[^"]*|<[^>]*>', " ", page, flags=re.DOTALL)
    named = {
        word
        for factor in definition.treatments.values()
        for name, level in factor.levels.items()
        for word in (name, level.label)
    }
    assert [word for word in named if re.search(rf"\b{re.escape(word)}\b", words)] == []
    assert definition.title not in words


def test_photos_without_a_plot_stand_apart(definition: Definition, plots: pd.DataFrame) -> None:
    lost = photo("", remark="no: it comes after a doubtful place")
    looked = photo("102", remark="look: 2 of 3 photos of this plot")
    page = sheet(definition, plots, photo(), looked, lost)
    lacking = len(plots) - 2
    assert headings(page) == [
        "24 March 2026 · three photos, 1 without a plot yet, 1 to look at twice, "
        f"{lacking} plots without a photo",
        "Without a plot yet, by time",
    ]
    assert page.count('class="doubt"') == 2
    assert cells(page)[-1] == "?"
    assert page.index("Without a plot yet, by time") < page.index(lost.remark)
    nothing = sheet(definition, plots, lost)
    assert cells(nothing) == ["?"]
    assert "no photo</div>" not in nothing


def test_a_plot_that_is_not_in_the_plan_stands_apart(
    definition: Definition, plots: pd.DataFrame
) -> None:
    assert "Without a plot yet, by time" in sheet(definition, plots, photo(), photo("999"))


def test_days_follow_one_another_and_the_unknown_one_is_last(
    definition: Definition, plots: pd.DataFrame
) -> None:
    days = ["", "2026-04-04", "3/24/2026", "2026-03-10"]
    page = sheet(definition, plots, *(photo(day=day) for day in days))
    told = [heading.split(" ·")[0] for heading in headings(page)]
    assert told == ["10 March 2026", "4 April 2026", "3/24/2026", "Day unknown"]


def test_samples_are_told_where_there_are_several(
    definition: Definition, plots: pd.DataFrame
) -> None:
    page = sheet(definition, plots, photo(), photo(sample="2"))
    assert cells(page)[:2] == ["101 · 1", "101 · 2"]
    assert cells(sheet(definition, plots, photo()))[0] == "101"


def test_names_are_escaped_and_pictures_may_lack(
    definition: Definition, plots: pd.DataFrame
) -> None:
    page = sheet(definition, plots, photo(file="<b>1</b>&.jpg", picture=b"", taken=""))
    assert "&lt;b&gt;1&lt;/b&gt;&amp;.jpg" in page
    assert "cannot be opened</div>" in page
    assert "no time" in page


@pytest.mark.parametrize(
    ("taken", "time"), [("2026-03-24 11:00:05", "11:00:05"), ("3/24/2026 11:00", "11:00"), ("", "")]
)
def test_the_time_of_day_is_shown(taken: str, time: str) -> None:
    assert photo(taken=taken).time == time


def test_an_unknown_paper_is_refused(definition: Definition, plots: pd.DataFrame) -> None:
    with pytest.raises(WinterswardError, match="allowed: letter, a4"):
        contact_sheet(definition, plots, "napkin", [photo()])


@pytest.mark.parametrize("size", [(4000, 3000), (3000, 4000), (100, 80)])
def test_a_thumbnail_is_small_and_whole(size: tuple[int, int]) -> None:
    image = Image.new("RGB", size, (60, 90, 40))
    with Image.open(io.BytesIO(thumbnail(image))) as small:
        assert small.format == "JPEG"
        assert max(small.size) == min(THUMB, max(size))
        assert small.width / small.height == pytest.approx(size[0] / size[1], abs=0.02)
    assert image.size == size
