import io

import numpy as np
import pytest
from PIL import Image

from wintersward.errors import WinterswardError
from wintersward.photos.colour import GreenWindow, green_mask
from wintersward.photos.overlays import Example, contact_sheet, overlay

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


def test_green_is_outlined_not_repainted(turf_file, sharp_turf):
    drawn = np.asarray(overlay(turf_file))
    enlarged = np.asarray(sharp_turf).repeat(3, axis=0).repeat(3, axis=1)
    assert drawn.shape == enlarged.shape == (1440, 1920, 3)
    mask = green_mask(enlarged)
    line = (drawn != enlarged).any(axis=-1)
    assert np.array_equal(drawn[mask], enlarged[mask])
    assert (drawn[line] == WHITE).all()
    assert not line[mask].any()
    # A line one pixel wide along every edge: no green pixel touches plain ground.
    plain = ~mask & ~(drawn == WHITE).all(axis=-1)
    assert not (mask[1:] & plain[:-1]).any()
    assert not (mask[:-1] & plain[1:]).any()
    assert not (mask[:, 1:] & plain[:, :-1]).any()
    assert not (mask[:, :-1] & plain[:, 1:]).any()
    assert plain.sum() > 0.5 * (~mask).sum()


def test_overlay_follows_the_window(turf_file):
    nothing = np.asarray(overlay(turf_file, GreenWindow(hue=(300, 301))))
    plain = np.asarray(Image.open(turf_file)).repeat(3, axis=0).repeat(3, axis=1)
    assert np.array_equal(nothing, plain)


def test_large_photos_are_not_enlarged(tmp_path, sharp_turf):
    path = tmp_path / "large.png"
    sharp_turf.resize((1600, 1200)).save(path)
    assert overlay(path).size == (1600, 1200)


def examples(path, count):
    return [
        Example(path, str(101 + number), "2026-03-10", 12.3 * number) for number in range(count)
    ]


def test_sheet_has_every_photo_in_its_place(turf_file):
    sheet = contact_sheet(examples(turf_file, 5), columns=3, thumb_px=200)
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


def test_sheet_is_the_same_bytes_every_time(turf_file):
    first = saved(contact_sheet(examples(turf_file, 4), 2, 160))
    assert first == saved(contact_sheet(examples(turf_file, 4), 2, 160))
    other = [*examples(turf_file, 3), Example(turf_file, "104", "2026-03-10", 99.0)]
    assert first != saved(contact_sheet(other, 2, 160))
    assert saved(overlay(turf_file)) == saved(overlay(turf_file))


def test_sheet_takes_pictures_tall_photos_long_words_and_no_score(turf_file, sharp_turf):
    entries = [
        Example(overlay(turf_file), "a very long name of a plot that cannot fit", "10 March", 5.0),
        Example(sharp_turf.rotate(90, expand=True), "102", "a long date " * 20, None),
    ]
    sheet = np.asarray(contact_sheet(entries, columns=9, thumb_px=120))
    assert sheet.shape[1] == 2 * 126 + 6
    assert (sheet[:, -6:] == WHITE).all()
    assert (sheet[:, 126:132] == WHITE).all()


@pytest.mark.parametrize(("count", "columns", "px"), [(0, 3, 200), (2, 0, 200), (2, 2, 20)])
def test_impossible_sheets_are_refused(turf_file, count, columns, px):
    with pytest.raises(WinterswardError, match="at least 1 photo, 1 column and 80 pixels"):
        contact_sheet(examples(turf_file, count), columns, px)


def test_sheet_names_the_file_that_is_no_photo(tmp_path):
    path = tmp_path / "notes.jpg"
    path.write_text("no photo")
    with pytest.raises(WinterswardError, match=r"notes\.jpg: found a file that is no photo"):
        contact_sheet(examples(path, 1))
