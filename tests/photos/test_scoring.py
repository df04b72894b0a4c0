import dataclasses
import hashlib
from datetime import datetime

import numpy as np
import pytest
from PIL import Image

from photos.held import as_held
from wintersward.errors import WinterswardError
from wintersward.photos import scoring
from wintersward.photos.colour import GreenWindow, colour_index, green_mask, hsb
from wintersward.photos.scoring import FEWEST_GREEN_PIXELS, score_photo


def test_known_pixels_give_known_numbers(tmp_path):
    # 30 rows of (34, 85, 34): H 120, S 0.6, B 1/3; 10 of (120, 160, 60): H 84, S 0.625,
    # B 32/51; 60 of straw-free soil. Means over green: (3 first + second) / 4.
    pixels = np.empty((100, 100, 3), dtype=np.uint8)
    pixels[:30], pixels[30:40], pixels[40:] = (34, 85, 34), (120, 160, 60), (98, 78, 58)
    path = tmp_path / "plot.png"
    Image.fromarray(pixels).save(path)
    score = score_photo(path)
    assert score.cover == 40
    assert score.pixels == 10_000
    assert score.green_pixels == 4_000
    assert score.hue == pytest.approx(111, abs=1e-12)
    assert score.saturation == pytest.approx(0.60625, abs=1e-12)
    assert score.brightness == pytest.approx((3 / 3 + 32 / 51) / 4, abs=1e-12)
    assert score.colour_index == colour_index(score.hue, score.saturation, score.brightness)
    # Indices 0.688889 and 0.382516 (see the worked colours), of 3000 and 1000 pixels.
    first, second = (2 - 0.6 - 1 / 3 + 1) / 3, (2 - 0.625 - 32 / 51 + 24 / 60) / 3
    varied = (first - second) ** 2 * 3000 * 1000 / 4000 / 3999
    assert score.colour_index_sd == pytest.approx(varied**0.5, rel=1e-6)
    assert score.clipped == 0
    assert score.largest_bare_patch == 60
    assert score.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert score.taken is None


def test_means_are_over_green_pixels_in_hue_saturation_and_brightness(tmp_path):
    pixels = np.random.default_rng(2).integers(0, 256, (80, 80, 3), dtype=np.uint8)
    path = tmp_path / "noise.png"
    Image.fromarray(pixels).save(path)
    score = score_photo(path)
    mask = green_mask(pixels)
    means = hsb(pixels)[mask].mean(axis=0)
    assert score.hue == pytest.approx(means[0], rel=1e-12)
    assert score.saturation == pytest.approx(means[1], rel=1e-12)
    assert score.brightness == pytest.approx(means[2], rel=1e-12)
    # The index is linear, so it is the mean index too, but not that of the mean red, green, blue.
    each = [colour_index(*colour) for colour in hsb(pixels)[mask]]
    assert score.colour_index_sd == pytest.approx(np.std(each, ddof=1), rel=1e-6)
    assert score.clipped == 100 * np.isin(pixels, (0, 255)).any(axis=-1).mean()
    assert score.colour_index == pytest.approx(np.mean(each), rel=1e-12)
    mean_rgb = pixels[mask].mean(axis=0).round().astype(np.uint8)
    assert abs(score.colour_index - colour_index(*hsb(mean_rgb))) > 0.02


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_eight_orientations_give_the_same_score(tmp_path, sharp_turf, kind):
    path = tmp_path / "turf"
    scores = []
    for orientation in range(1, 9):
        image, exif = as_held(sharp_turf, orientation)
        image.save(path, kind, exif=exif)
        scores.append(dataclasses.replace(score_photo(path), sha256=""))
    assert scores[0].green_pixels > 0
    assert scores == [scores[0]] * 8


@pytest.mark.parametrize("orientation", range(1, 9))
def test_region_is_of_the_upright_picture(tmp_path, half_green, orientation):
    image, exif = as_held(half_green, orientation)
    path = tmp_path / "half.png"
    image.save(path, exif=exif)
    assert score_photo(path).cover == 50
    assert score_photo(path, region=(0, 0, 0.5, 1)).cover == 100
    right = score_photo(path, region=(0.5, 0.25, 1, 1))
    assert right.cover == 0
    assert right.pixels == 80 * 90


@pytest.mark.parametrize(
    "region", [(0.5, 0, 0.5, 1), (0, 0.9, 1, 0.1), (-0.1, 0, 1, 1), (0, 0, 1, 1.1)]
)
def test_region_outside_the_picture_is_refused(tmp_path, half_green, region):
    half_green.save(tmp_path / "half.png")
    with pytest.raises(WinterswardError, match="fractions from 0 to 1"):
        score_photo(tmp_path / "half.png", region=region)


def test_region_without_a_pixel_is_refused(tmp_path, half_green):
    half_green.save(tmp_path / "half.png")
    with pytest.raises(WinterswardError, match="holds no pixel of a picture of 160 by 120"):
        score_photo(tmp_path / "half.png", region=(0, 0, 0.001, 1))


def test_bands_do_not_change_the_score(tmp_path, sharp_turf, monkeypatch):
    path = tmp_path / "turf.png"
    sharp_turf.save(path)
    whole = score_photo(path)
    for pixels in (1, 640 * 7, 640 * 479):
        monkeypatch.setattr(scoring, "_STRIP_PIXELS", pixels)
        assert score_photo(path) == whole


def test_window_decides(tmp_path, half_green):
    path = tmp_path / "half.png"
    half_green.save(path)
    assert score_photo(path, GreenWindow(hue=(100, 170))).cover == 0
    assert score_photo(path, GreenWindow(hue=(0, 170))).cover == 100


@pytest.mark.parametrize("green", [0, FEWEST_GREEN_PIXELS - 1, FEWEST_GREEN_PIXELS])
def test_few_green_pixels_give_no_colour_but_their_count(tmp_path, green):
    pixels = np.full((100, 200, 3), (98, 78, 58), dtype=np.uint8)
    pixels.reshape(-1, 3)[:green] = (60, 90, 40)
    path = tmp_path / "bare.png"
    Image.fromarray(pixels).save(path)
    score = score_photo(path)
    assert score.cover == green / 200
    said = f"colour not given: {green} green pixels, at least {FEWEST_GREEN_PIXELS} needed"
    enough = green >= FEWEST_GREEN_PIXELS
    assert (said in score.flags) is not enough
    colours = (
        *(score.colour_index, score.colour_index_sd),
        *(score.hue, score.saturation, score.brightness),
    )
    assert all((colour is not None) is enough for colour in colours)


@pytest.mark.parametrize("colour", [(0, 0, 0), (255, 255, 255), (90, 90, 90)])
def test_picture_without_colour_is_refused(tmp_path, colour):
    path = tmp_path / "cap_on.jpg"
    Image.new("RGB", (64, 48), colour).save(path)
    with pytest.raises(WinterswardError, match=r"cap_on\.jpg: found a picture without any colour"):
        score_photo(path)


def test_one_pixel_is_scored_and_flagged(tmp_path):
    path = tmp_path / "dot.png"
    Image.new("RGB", (1, 1), (60, 90, 40)).save(path)
    score = score_photo(path)
    assert score.cover == 100
    assert "small: 1 pixels, limit 10000" in score.flags


def test_time_and_turn_come_through_a_cameras_jpeg(tmp_path, painter, sharp_turf):
    upright, held = tmp_path / "upright.jpg", tmp_path / "held.jpg"
    painter.save_photo(sharp_turf, upright, datetime(2026, 3, 10, 9, 12), quality=95)
    painter.save_photo(sharp_turf, held, datetime(2026, 3, 10, 9, 12), 6, quality=95)
    first, second = score_photo(upright), score_photo(held)
    assert first.taken == second.taken == "2026-03-10T09:12:00"
    assert first.pixels == second.pixels
    # JPEG halves the colour along the stored rows, which run the other way in the second.
    assert first.cover == pytest.approx(second.cover, abs=1.0)


@pytest.fixture(scope="module")
def painted_errors(painter, tmp_path_factory):
    """Score less truth [points] of painted photographs saved as a camera saves them, by cover."""
    folder = tmp_path_factory.mktemp("painted")
    errors = {}
    for number, cover in enumerate([0, 5, 15, 25, 35, 45, 55, 65, 75, 85, 95, 100]):
        image, true = painter.paint_turf(cover, np.random.default_rng(900 + number))
        path = folder / f"{cover}.jpg"
        painter.save_photo(image, path, datetime(2026, 3, 10, 9))
        errors[cover] = score_photo(path).cover - true
    return errors


def test_painted_truth_is_met_within_two_points_on_average(painted_errors):
    assert np.mean(np.abs(list(painted_errors.values()))) <= 2


def test_no_painted_photo_is_far_off(painted_errors):
    assert max(abs(error) for error in painted_errors.values()) < 5


def test_all_green_and_bare_are_told(painted_errors):
    assert 100 + painted_errors[100] >= 99
    assert painted_errors[0] <= 1


def test_large_photos_are_read_for_colour_and_light_in_some_rows_only(tmp_path, painter):
    """The cover counts every pixel; colour from every sixth row of six million is the same."""
    small, _ = painter.paint_turf(45, np.random.default_rng(4), size=(460, 345))
    bright = Image.fromarray(np.minimum(255, 1.5 * np.asarray(small)).astype(np.uint8))
    large = bright.resize((2880, 2160), Image.Resampling.BICUBIC)
    path = tmp_path / "large.png"
    large.save(path, compress_level=1)
    score, pixels = score_photo(path), np.asarray(large)
    mask = green_mask(pixels)
    assert score.cover == 100 * mask.mean()
    assert score.green_pixels == mask.sum()
    read = pixels[::6]
    hue, saturation, brightness = hsb(read)[mask[::6]].mean(axis=0)
    assert score.hue == pytest.approx(hue, rel=1e-9)
    assert score.saturation == pytest.approx(saturation, rel=1e-9)
    assert score.brightness == pytest.approx(brightness, rel=1e-9)
    at_the_ends = ((pixels == 0) | (pixels == 255)).any(axis=-1)
    assert score.clipped == 100 * at_the_ends[::6].mean()
    every = hsb(pixels)[mask].mean(axis=0)
    assert score.hue == pytest.approx(every[0], abs=0.03)
    assert score.colour_index == pytest.approx(colour_index(*every), abs=2e-4)
    assert score.clipped == pytest.approx(100 * at_the_ends.mean(), rel=0.05)


@pytest.mark.parametrize("size", [(1921, 1281), (1281, 1921), (3000, 803), (2600, 1950)])
def test_a_last_band_lower_than_a_square_of_the_small_copy(tmp_path, size, monkeypatch):
    """Sides that the squares of the small copy do not fill: the pixels left over count too."""
    pixels = np.random.default_rng(3).integers(0, 256, (*size[::-1], 3), dtype=np.uint8)
    path = tmp_path / "noise.png"
    Image.fromarray(pixels).save(path, compress_level=1)
    monkeypatch.setattr(scoring, "_STRIP_PIXELS", 1)
    score = score_photo(path)
    assert score.pixels == size[0] * size[1]
    assert score.green_pixels == green_mask(pixels).sum()


def test_region_so_low_that_no_row_of_it_is_read_for_light(tmp_path, painter):
    pixels = np.full((1500, 1500, 3), (60, 90, 40), dtype=np.uint8)
    path = tmp_path / "even.png"
    Image.fromarray(pixels).save(path)
    score = score_photo(path, region=[(0.2, 0.2004), (0.9, 0.2004), (0.9, 0.2012), (0.2, 0.2012)])
    assert score.cover == 100
    assert score.clipped == 0
