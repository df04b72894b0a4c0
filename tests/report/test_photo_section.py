"""The section on the photos: visits, cameras, the window, flags in words, ranges; nothing early."""

from __future__ import annotations

import re
from collections.abc import Callable

import pandas as pd
import pytest
from bs4 import BeautifulSoup, Tag

from wintersward.photos import GREEN
from wintersward.report.page import Drawn, Page
from wintersward.report.photo_section import photos_context
from wintersward.trial.schema import Definition, Window

Tables = dict[str, pd.DataFrame]
Make = Callable[..., Page]


def soup_of(page: Page) -> BeautifulSoup:
    return BeautifulSoup(page.section("photos")._repr_html_(), "html.parser")


def said(page: Page) -> str:
    return " ".join(soup_of(page).get_text().split())


def rows_of(page: Page, caption: str) -> list[list[str]]:
    table = next(t for t in soup_of(page).select("table") if t.caption.get_text() == caption)
    lines = table.select("tbody tr")
    return [[" ".join(cell.get_text().split()) for cell in line(["th", "td"])] for line in lines]


@pytest.fixture
def scores(tables: Tables) -> pd.DataFrame:
    """Photos of two cameras on one date; three flagged."""
    made = tables["photo_scores"].copy()
    first = made["date"] == made["date"].min()
    made["camera"] = "Invented P1"
    made.loc[made[first].index[:4], "camera"] = "Invented P2"
    made.loc[made[~first].index[:2], "camera"] = ""
    made["flags"] = ""
    at = made.index
    made.loc[at[0], "flags"] = "blurred: 0.10, limit 0.15; day: taken on 2026-01-14, the visit ..."
    made.loc[at[1], "flags"] = "blurred: 0.12, limit 0.15"
    made.loc[at[2], "flags"] = "an older check: 3"
    made["patchiness"] = [4.0 + 0.1 * number for number in range(len(made))]
    return made


@pytest.fixture
def page(make_page: Make, tables: Tables, definition: Definition, scores: pd.DataFrame) -> Page:
    return make_page({**tables, "photo_scores": scores}, definition)


def test_each_visit_has_its_photos_cameras_and_flags(page: Page, scores: pd.DataFrame) -> None:
    rows = rows_of(page, "Photos of each visit")
    assert len(rows) == scores["date"].nunique()
    assert rows[0] == ["15 January 2026", "36", "36", "Invented P1 (32); Invented P2 (4)", "3"]
    assert rows[1][3] == "Invented P1 (34); not told by the files (2)"
    assert rows[2][3:] == ["Invented P1", "0"]


def test_the_window_stands_with_its_fingerprint(page: Page) -> None:
    assert (
        "the window of green is, for green cover, hue 50 to 170 degrees, saturation 0 to 1 and "
        f"brightness 0 to 1 (fingerprint of these limits: {GREEN.hash()})" in said(page)
    )


def test_checks_that_flagged_are_told_in_words_and_the_others_named(page: Page) -> None:
    rows = rows_of(page, "What the checks noticed")
    assert [[row[0], row[2]] for row in rows] == [
        ["blurred", "2"],
        ["day", "1"],
        ["an older check", "1"],
    ]
    assert rows[0][1] == "its fine detail has less than 0.15 of the strength of the coarser"
    assert "No photo was flagged for: small, flat, overexposed," in said(page)
    assert "The checks flagged three photos" in said(page)


def test_without_a_flag_the_checks_are_named(
    make_page: Make, tables: Tables, definition: Definition, scores: pd.DataFrame
) -> None:
    made = make_page({**tables, "photo_scores": scores.assign(flags="")}, definition)
    assert "The checks flagged no photo. They look for: small, flat, blurred," in said(made)
    assert "What the checks noticed" not in said(made)


def test_ranges_know_their_rows(page: Page, scores: pd.DataFrame) -> None:
    rows = {row[0]: row for row in rows_of(page, "The photos' numbers, over all photos")}
    many = len(scores)
    low, high = scores["cover"].min(), scores["cover"].max()
    assert rows["Green cover"] == ["Green cover", "%", f"{low:.1f}", f"{high:.1f}", str(many)]
    assert rows["Patchiness"][2:] == ["4.0", f"{4 + 0.1 * (many - 1):.1f}", str(many)]
    assert rows["Dark green colour index"][2] == "0.420"
    linked = [
        (one["title"], float(one["value"]))
        for one in soup_of(page).select("data")
        if one["title"].startswith("photo_scores.csv")
    ]
    assert ("photo_scores.csv:2", 4.0) in linked
    assert (f"photo_scores.csv:{many + 1}", pytest.approx(4 + 0.1 * (many - 1))) in linked


def test_a_number_that_no_photo_has_is_left_out(
    make_page: Make, tables: Tables, definition: Definition, scores: pd.DataFrame
) -> None:
    made = make_page({**tables, "photo_scores": scores.assign(cover_se=float("nan"))}, definition)
    assert "standard error" not in said(made)


def test_while_the_comparison_waits_no_cover_is_shown(
    make_page: Make, early: Tables, definition: Definition
) -> None:
    made = make_page(early, definition)
    text = said(made)
    names = [row[0] for row in rows_of(made, "The photos' numbers, over all photos")]
    assert "Patchiness" in names
    assert not any("cover" in name.lower() or "error" in name for name in names)
    assert "how green the photos are is shown once the primary question has its data" in text
    for factor in definition.treatments.values():
        for level in factor.levels.values():
            assert level.label not in text


def test_the_sheet_of_the_primary_date_stands_open(
    make_page: Make, tables: Tables, definition: Definition
) -> None:
    made = make_page(tables, definition)
    figures = {name: one for name, one in made.figures.items() if not name.startswith("photo")}
    for name in ("photo_overlay", "photo_sheet_2026-03-10", "photo_sheet_2026-03-24",
                 "photo_sheet_2026-04-17"):  # fmt: skip
        figures[name] = Drawn(b"\xff\xd8", "image/jpeg", f"alt of {name}", f"words of {name}")
    shown = Page(made.tables, figures, definition)
    soup = soup_of(shown)
    alts = [image["alt"].removeprefix("alt of photo_") for image in soup("img")]
    assert alts == ["overlay", "sheet_2026-03-24", "sheet_2026-03-10", "sheet_2026-04-17"]
    folded = next(one for one in soup("details") if one.summary.get_text().startswith("Photos of"))
    assert isinstance(folded, Tag)
    assert folded.summary.get_text() == "Photos of two other dates"
    assert [image["alt"][-10:] for image in folded("img")] == ["2026-03-10", "2026-04-17"]
    del figures["photo_sheet_2026-03-24"]
    context = photos_context(Page(made.tables, figures, definition))
    assert "2026-04-17" in context["sheet"]


def test_two_windows_have_their_own_ranges(
    make_page: Make, tables: Tables, definition: Definition, scores: pd.DataFrame
) -> None:
    measure = definition.measures["green_cover"]
    update = {"window": Window(hue=(60.0, 150.0)), "label": "Green cover, narrower"}
    second = measure.model_copy(update=update)
    several = definition.model_copy(
        update={"measures": {**definition.measures, "narrow_cover": second}}
    )
    first = scores.assign(window=GREEN.hash())
    both = pd.concat([first, scores.assign(window="ffffffffffff")], ignore_index=True)
    made = make_page({**tables, "photo_scores": both}, several)
    captions = [table.caption.get_text() for table in soup_of(made)("table")]
    ranges = [one for one in captions if one.startswith("The photos' numbers")]
    assert len(ranges) == 2
    assert ranges[0].endswith("hue 50 to 170 degrees, saturation 0 to 1 and brightness 0 to 1")
    assert re.search(r"The run scored 216 photos\.", said(made))
