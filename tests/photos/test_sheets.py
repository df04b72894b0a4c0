import io

import numpy as np
import pytest

from wintersward.errors import WinterswardError
from wintersward.photos.overlays import overlay
from wintersward.photos.sheets import Example, SheetRow, contact_sheet

WHITE = np.array([255, 255, 255])


def saved(image):
    memory = io.BytesIO()
    image.save(memory, "PNG")
    return memory.getvalue()


@pytest.fixture
def turf_file(tmp_path, sharp_turf):
    path = tmp_path / "turf.png"
    sharp_turf.save(path)
    return path


def row(path, count, heading="", **other):
    entries = [Example(path, str(101 + at), 12.3 * at, **other) for at in range(count)]
    return SheetRow(heading, entries)


def test_sheet_has_every_photo_in_its_place(turf_file):
    sheet = contact_sheet([row(turf_file, 5)], columns=3, thumb_px=200)
    pixels = np.asarray(sheet)
    assert sheet.width == 3 * 210 + 10
    row_px = (sheet.height - 10) // 2
    for number in range(6):
        top, left = 10 + number // 3 * row_px, 10 + number % 3 * 210
        thumb = pixels[top : top + 150, left : left + 200]
        label = pixels[top + 150 : top + row_px - 10, left : left + 200]
        filled = number < 5
        assert bool((thumb == WHITE).all()) is not filled
        assert bool((label == WHITE).all()) is not filled
        # Nothing is drawn between the columns.
        assert (pixels[top : top + row_px, left - 10 : left] == WHITE).all()


def test_every_row_begins_anew_under_its_heading(turf_file):
    rows = [row(turf_file, 2, "No cover"), row(turf_file, 1, "Fleece"), row(turf_file, 0, "None")]
    sheet = np.asarray(contact_sheet(rows, columns=3, thumb_px=150))
    one = np.asarray(contact_sheet(rows[:1], columns=3, thumb_px=150))
    assert np.array_equal(sheet[: len(one) - 7], one[:-7])
    # The heading of the second row, and nothing beside its one photo.
    below = sheet[len(one) - 7 :]
    assert not (below[:28] == WHITE).all()
    assert (below[28:, 170:] == WHITE).all()
    bare = contact_sheet([row(turf_file, 2)], columns=3, thumb_px=150)
    assert bare.height < len(one)


def test_a_flagged_photo_has_a_frame_and_its_reason(turf_file):
    plain = contact_sheet([row(turf_file, 1)], thumb_px=150)
    flagged = contact_sheet([row(turf_file, 1, flag="blurred, shadow")], thumb_px=150)
    frame = np.asarray(flagged)[7 : 7 + 112, 7 : 7 + 150]
    assert (frame[:3] == 0).all()
    assert (frame[-3:] == 0).all()
    assert (frame[:, :3] == 0).all()
    assert (frame[:, -3:] == 0).all()
    inner = np.asarray(plain)[7 : 7 + 112, 7 : 7 + 150]
    assert np.array_equal(frame[3:-3, 3:-3], inner[3:-3, 3:-3])
    assert flagged.height == plain.height + 14  # a line of words more
    several = contact_sheet([row(turf_file, 1, flag="colour profile, white balance, day")])
    assert several.height > flagged.height


def test_scores_may_be_left_out(turf_file):
    shown = contact_sheet([row(turf_file, 2)], thumb_px=150)
    hidden = np.asarray(contact_sheet([row(turf_file, 2)], thumb_px=150, scores=False))
    assert hidden.shape[:2] == (shown.height, shown.width)
    label = hidden[7 + 113 :, 7 + 75 : 7 + 150]
    assert (label == WHITE).all()
    # Another score leaves not a trace.
    other = [SheetRow("", [Example(turf_file, "101", 99.0), Example(turf_file, "102", None)])]
    assert np.array_equal(hidden, np.asarray(contact_sheet(other, thumb_px=150, scores=False)))


def test_sheet_is_the_same_bytes_every_time(turf_file):
    first = saved(contact_sheet([row(turf_file, 4)], 2, 160))
    assert first == saved(contact_sheet([row(turf_file, 4)], 2, 160))
    other = [*row(turf_file, 3).entries, Example(turf_file, "104", 99.0)]
    assert first != saved(contact_sheet([SheetRow("", other)], 2, 160))


def test_sheet_takes_pictures_tall_photos_long_words_and_no_score(turf_file, sharp_turf):
    entries = [
        Example(overlay(turf_file).image, "a very long name of a plot that cannot fit", 5.0),
        Example(sharp_turf.rotate(90, expand=True), "102", None, "a long note " * 20, "f" * 90),
    ]
    sheet = np.asarray(contact_sheet([SheetRow("h" * 200, entries)], columns=9, thumb_px=120))
    assert sheet.shape[1] == 2 * 126 + 6
    assert (sheet[:, -6:] == WHITE).all()
    assert (sheet[30:, 126:132] == WHITE).all()


@pytest.mark.parametrize(("count", "columns", "px"), [(0, 3, 200), (2, 0, 200), (2, 2, 20)])
def test_impossible_sheets_are_refused(turf_file, count, columns, px):
    with pytest.raises(WinterswardError, match="at least 1 photo, 1 column and 80 pixels"):
        contact_sheet([row(turf_file, count)], columns, px)


def test_sheet_names_the_file_that_is_no_photo(tmp_path):
    path = tmp_path / "notes.jpg"
    path.write_text("no photo")
    with pytest.raises(WinterswardError, match=r"notes\.jpg: found a file that is no photo"):
        contact_sheet([row(path, 1)])
