import numpy as np
import pytest
from PIL import Image

from wintersward.errors import WinterswardError
from wintersward.photos.colour import GreenWindow, green_mask, hsb
from wintersward.photos.overlays import Overlay, borderline_mask, overlay

WHITE, BLACK = np.array([255, 255, 255]), np.array([0, 0, 0])


@pytest.fixture
def turf_file(tmp_path, sharp_turf):
    path = tmp_path / "turf.png"
    sharp_turf.save(path)
    return path


def dots(near, factor, size):
    """Where dots of a size stand in the enlarged picture."""
    where = np.zeros((near.shape[0] * factor, near.shape[1] * factor), dtype=bool)
    first = (factor - size) // 2
    for row in range(first, first + size):
        for column in range(first, first + size):
            where[row::factor, column::factor] = near
    return where


def test_green_is_outlined_not_repainted(turf_file, sharp_turf):
    drawn = np.asarray(overlay(turf_file).image)
    pixels = np.asarray(sharp_turf)
    enlarged = pixels.repeat(3, axis=0).repeat(3, axis=1)
    assert drawn.shape == enlarged.shape == (1440, 1920, 3)
    mask, dot = green_mask(enlarged), dots(borderline_mask(pixels), 3, 1)
    other = (drawn != enlarged).any(axis=-1)
    assert np.array_equal(drawn[mask & ~dot], enlarged[mask & ~dot])
    assert (drawn[other & ~dot] == WHITE).all()
    # A line one pixel wide along every edge: no green pixel touches plain ground.
    plain = ~mask & ~(drawn == WHITE).all(axis=-1) & ~dot
    assert not (mask[1:] & plain[:-1]).any()
    assert not (mask[:-1] & plain[1:]).any()
    assert not (mask[:, 1:] & plain[:, :-1]).any()
    assert not (mask[:, :-1] & plain[:, 1:]).any()
    assert plain.sum() > 0.5 * (~mask).sum()


def test_every_borderline_pixel_has_a_dot_and_no_other(turf_file, sharp_turf):
    pixels = np.asarray(sharp_turf)
    near = borderline_mask(pixels)
    made = overlay(turf_file, long_side_px=3200)
    drawn, dot = np.asarray(made.image), dots(near, 5, 3)
    dark = (pixels @ np.array([0.299, 0.587, 0.114]) < 50).repeat(5, axis=0).repeat(5, axis=1)
    assert (drawn[dot & ~dark] == BLACK).all()
    assert (drawn[dot & dark] == WHITE).all()
    assert (dot & dark).any()
    assert not (drawn[~dot] == BLACK).all(axis=-1).any()
    # The rim of the pixel shows its own colour, where no line runs.
    rim = dots(near, 5, 5) & ~dot & ~(drawn == WHITE).all(axis=-1)
    assert np.array_equal(drawn[rim], pixels.repeat(5, axis=0).repeat(5, axis=1)[rim])


def test_borderline_is_told_by_the_hue_and_counted(turf_file, sharp_turf):
    pixels = np.asarray(sharp_turf)
    hue = hsb(pixels)[..., 0]
    near = (np.abs(hue - 50) <= 5) | (np.abs(hue - 170) <= 5)
    made, green = overlay(turf_file), green_mask(pixels)
    # Fewer than one pixel in ten thousand lies exactly on the inner edge, where it is certain.
    assert made.inside == pytest.approx(100 * (near & green).mean(), abs=0.2)
    assert made.outside == pytest.approx(100 * (near & ~green).mean(), abs=0.2)
    assert made.borderline == made.inside + made.outside > 1
    assert made.green == pytest.approx(100 * green.mean())
    assert "within 5 degrees of an edge of the window, 50 to 170 degrees" in made.caption
    assert f"Borderline are {made.borderline:.1f} % of the pixels shown" in made.caption


def test_the_caption_says_which_side_of_the_lines_is_green(turf_file):
    green = overlay(turf_file)
    assert green.green > 50
    assert f"most counts as green ({green.green:.1f} %): the rings lie round what does not" in (
        green.caption
    )
    bare = overlay(turf_file, GreenWindow(hue=(300, 301)))
    assert "less than half counts as green (0.0 %): the rings lie round that." in bare.caption
    assert "No pixel shown is borderline: none has a hue within 5 degrees" in bare.caption


def test_a_few_borderline_pixels_are_not_called_none():
    few = Overlay(Image.new("RGB", (1, 1)), GreenWindow(), 80.0, 0.03, 0.01)
    assert "Borderline are fewer than 0.1 % of the pixels shown." in few.caption


@pytest.mark.parametrize(
    ("window", "colour", "near"),
    [
        (GreenWindow(), (98, 90, 40), True),  # 51.7 degrees: green, only just
        (GreenWindow(), (98, 85, 40), True),  # 46.6: not green, only just
        (GreenWindow(), (98, 78, 40), False),  # 39.3
        (GreenWindow(), (60, 90, 40), False),  # 96
        (GreenWindow(saturation=(0.7, 1)), (98, 90, 40), False),  # never green in this window
        (GreenWindow(hue=(96, 98)), (60, 90, 40), True),  # the window is narrower than two edges
        (GreenWindow(hue=(0, 360)), (90, 90, 90), False),
    ],
)
def test_what_is_borderline(window, colour, near):
    assert bool(borderline_mask(np.array(colour, dtype=np.uint8), window)) is near


def test_overlay_follows_the_window(turf_file):
    nothing = overlay(turf_file, GreenWindow(hue=(300, 301)))
    plain = np.asarray(Image.open(turf_file)).repeat(3, axis=0).repeat(3, axis=1)
    assert np.array_equal(np.asarray(nothing.image), plain)
    assert (nothing.green, nothing.borderline) == (0, 0)


def test_large_photos_are_not_enlarged(tmp_path, sharp_turf):
    path = tmp_path / "large.png"
    sharp_turf.resize((1600, 1200)).save(path)
    assert overlay(path).image.size == (1600, 1200)


def test_a_part_is_shown_larger_and_counted_by_itself(turf_file, sharp_turf):
    made = overlay(turf_file, part=(0.25, 0.5, 0.5, 1))
    assert made.image.size == (160 * 7, 240 * 7)
    part = np.asarray(sharp_turf)[240:, 160:320]
    assert made.green == pytest.approx(100 * green_mask(part).mean())
    with pytest.raises(WinterswardError, match="the region is"):
        overlay(turf_file, part=(0.5, 0, 0.25, 1))


def test_an_overlay_is_the_same_every_time(turf_file):
    assert overlay(turf_file).image.tobytes() == overlay(turf_file).image.tobytes()
