"""Photos as pictures of a run: by treatment when the question has its data, by plot before."""

from __future__ import annotations

import datetime as dt
import io
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pandas as pd
import pytest
from PIL import Image

from wintersward.photos.sheets import JPEG_QUALITY, SheetRow
from wintersward.report import photo_sheets
from wintersward.report.photo_sheets import PhotoPicture, photo_pictures
from wintersward.trial.schema import Definition

BEFORE, COVERED, LATE = "2026-01-15", "2026-03-10", "2026-04-17"
PLOTS = {"101": ("open", "solid"), "102": ("fleece", "hollow"), "103": ("fleece", "solid"),
         "104": ("open", "hollow")}  # fmt: skip


@pytest.fixture
def trial(tmp_path: Path, definition: Definition) -> SimpleNamespace:
    rows = []
    (tmp_path / "photos").mkdir()
    for at, (plot, _) in enumerate(PLOTS.items()):
        for number, day in enumerate((BEFORE, COVERED, LATE)):
            for sample in (1, 2):
                path = f"photos/{plot}_{day}_{sample}.png"
                grey = (70 + 20 * at, 110 + 20 * number, 50)
                Image.new("RGB", (320, 240), grey).save(tmp_path / path)
                cover = 20.0 + 10 * number + at + sample / 10
                rows.append((pd.Timestamp(day), plot, sample, path, cover, ""))
    scores = pd.DataFrame(rows, columns=["date", "plot", "sample", "path", "cover", "flags"])
    plots = pd.DataFrame(PLOTS.values(), columns=["cover", "aeration"]).assign(plot=list(PLOTS))
    seen = pd.DataFrame({"source": scores["path"], "excluded": ""})
    begins = {"cover": dt.date(2026, 1, 19), "aeration": dt.date(2026, 3, 16)}
    measures = {n: m for n, m in definition.measures.items() if m.from_ == "photos"}
    return SimpleNamespace(
        folder=tmp_path,
        plots=plots,
        definition=definition,
        factors=definition.treatments,
        photo_measures=measures,
        photo_scores=lambda: scores.copy(),
        observations=lambda: seen,
        scores=scores,
        seen=seen,
        ready=True,
        begins=begins.__getitem__,
    )


@pytest.fixture
def laid(monkeypatch: pytest.MonkeyPatch) -> list[tuple[list[SheetRow], bool]]:
    """Rows and scores of every sheet that is laid out."""
    kept: list[tuple[list[SheetRow], bool]] = []

    def lay(rows: list[SheetRow], columns: int, thumb: int, scores: bool) -> Image.Image:
        kept.append((rows, scores))
        return Image.new("RGB", (8, 8))

    monkeypatch.setattr(photo_sheets, "contact_sheet", lay)
    return kept


def plots_of(rows: list[SheetRow]) -> list[tuple[str, list[str]]]:
    return [(row.heading, [entry.plot for entry in row.entries]) for row in rows]


def drawn(trial: Any) -> list[PhotoPicture]:
    return list(photo_pictures(trial))


def test_every_date_has_a_sheet_grouped_by_treatment(
    trial: SimpleNamespace, laid: list[Any]
) -> None:
    made = drawn(trial)
    assert [one.name for one in made] == [
        "photo_overlay", *(f"photo_sheet_{day}" for day in (BEFORE, COVERED, LATE))
    ]  # fmt: skip
    assert [plots_of(rows) for rows, _ in laid] == [
        [("", ["101", "102", "103", "104"])],
        [("No cover", ["101", "104"]), ("Spun-bond fleece", ["102", "103"])],
        [
            ("No cover with solid tine 3/8 in", ["101"]),
            ("No cover with hollow tine 3/4 in", ["104"]),
            ("Spun-bond fleece with solid tine 3/8 in", ["103"]),
            ("Spun-bond fleece with hollow tine 3/4 in", ["102"]),
        ],
    ]
    assert all(scores for _, scores in laid)
    assert laid[1][0][0].entries[0].cover == pytest.approx(30.1)
    assert made[1].caption.startswith("Photos of 15 January 2026, before any treatment was there")
    assert made[2].caption.startswith("Photos of 10 March 2026, grouped by treatment; below each")
    assert made[2].alt == (
        "Four photos of 10 March 2026, grouped by treatment: No cover; Spun-bond fleece. None is "
        "flagged. Green cover goes from 30 % on plot 101 to 33 % on plot 104."
    )


def test_before_the_primary_question_has_its_data_nothing_is_told(
    trial: SimpleNamespace, laid: list[Any]
) -> None:
    trial.ready = False
    made = drawn(trial)
    assert [plots_of(rows) for rows, _ in laid] == [[("", ["101", "102", "103", "104"])]] * 3
    assert not any(scores for _, scores in laid)
    for one in made[1:]:
        assert "by plot number" in one.caption
        assert "%" not in one.alt + one.caption
    words = " ".join(one.alt + one.caption for one in made)
    for factor in trial.definition.treatments.values():
        for level in factor.levels.values():
            assert level.label not in words


def test_flagged_photos_are_there_with_their_reason(
    trial: SimpleNamespace, laid: list[Any]
) -> None:
    second = (trial.scores["plot"] == "102") & (trial.scores["sample"] == 2)
    flagged = second & (trial.scores["date"] == COVERED)
    trial.scores.loc[flagged, "flags"] = "blurred: 0.1, limit 0.15; day: taken on 2026-03-09, ..."
    made = drawn(trial)
    entries = laid[1][0][1].entries
    assert [(one.plot, one.flag) for one in entries] == [
        ("102", ""),
        ("102, photo 2", "blurred, day"),
        ("103", ""),
    ]
    assert "A black frame marks what a check flagged" in made[2].caption
    assert "One photo flagged." in made[2].alt
    assert "frame" not in made[1].caption


def test_what_the_diary_set_aside_says_so(trial: SimpleNamespace, laid: list[Any]) -> None:
    trial.seen.loc[trial.seen["source"] == f"photos/101_{LATE}_1.png", "excluded"] = "a shadow"
    drawn(trial)
    notes = [entry.note for rows, _ in laid for row in rows for entry in row.entries]
    assert notes.count("set aside in the diary") == 1
    assert laid[2][0][0].entries[0].note == "set aside in the diary"


def test_the_overlay_shows_the_middle_of_the_middle_photo(trial: SimpleNamespace) -> None:
    made = drawn(trial)[0]
    ranked = trial.scores.sort_values(["cover", "path"])
    plot = ranked.iloc[(len(ranked) - 1) // 2]["plot"]
    assert made.caption.startswith(
        f"The middle of a photo of plot {plot} on 10 March 2026, the middle one of all photos by "
        "green cover."
    )
    assert "No pixel shown is borderline" in made.caption
    assert made.image.size == (1120, 840)


def test_the_overlay_is_of_the_primary_date_once_that_is_there(trial: SimpleNamespace) -> None:
    primary = pd.Timestamp("2026-03-24")
    trial.scores.loc[trial.scores["date"] == pd.Timestamp(LATE), "date"] = primary
    own = trial.scores[trial.scores["date"] == primary]
    middle = own.sort_values(["cover", "path"]).iloc[(len(own) - 1) // 2]
    assert drawn(trial)[0].caption.startswith(
        f"The middle of a photo of plot {middle['plot']} on 24 March 2026, the middle one of all "
        "photos of that day by green cover."
    )
    trial.ready = False
    assert "on 10 March 2026, the middle one of all photos" in drawn(trial)[0].caption


def size_of(made: list[PhotoPicture]) -> int:
    total = 0
    for one in made:
        stream = io.BytesIO()
        one.image.save(stream, "JPEG", quality=JPEG_QUALITY, optimize=True)
        total += len(stream.getvalue())
    return total


def test_all_sheets_together_keep_within_their_room(
    trial: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    roomy = drawn(trial)[1:]
    room = size_of(roomy) * 9 // 10
    monkeypatch.setattr(photo_sheets, "_SHEETS_BYTES", room)
    tight = drawn(trial)[1:]
    assert size_of(tight) <= room
    assert tight[-1].image.width < roomy[-1].image.width


def test_where_there_is_no_room_the_earliest_dates_are_left_out_and_told(
    trial: SimpleNamespace, laid: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(photo_sheets, "_MOST_PHOTOS", 9)
    made = drawn(trial)
    assert [one.name[-10:] for one in made[1:]] == [COVERED, LATE]
    assert made[1].caption.endswith("One date before this one has no sheet: the page has no room.")
    assert "no room" not in made[2].caption


def test_pictures_are_the_same_every_time(trial: SimpleNamespace) -> None:
    first, second = drawn(trial), drawn(trial)
    assert [one.image.tobytes() for one in first] == [one.image.tobytes() for one in second]
    assert [(one.alt, one.caption) for one in first] == [(one.alt, one.caption) for one in second]


def test_without_photos_there_is_no_picture(trial: SimpleNamespace) -> None:
    trial.photo_scores = lambda: trial.scores.iloc[:0]
    assert drawn(trial) == []
