import dataclasses

import numpy as np
import pytest
from PIL import Image
from skimage.measure import points_in_poly

from photos.held import as_held
from wintersward.errors import WinterswardError
from wintersward.photos.colour import green_mask
from wintersward.photos.region import outline_of
from wintersward.photos.scoring import score_photo

KITE = ((0.1, 0.5), (0.55, 0.05), (0.9, 0.45), (0.4, 0.97))


def inside_of(corners, size):
    """Which pixel centres lie inside, asked one by one."""
    width, height = size
    columns, rows = np.meshgrid(np.arange(width) + 0.5, np.arange(height) + 0.5)
    places = np.column_stack([columns.ravel(), rows.ravel()])
    return points_in_poly(places, np.array(corners) * size).reshape(height, width)


def test_polygon_holds_the_pixels_whose_centre_lies_inside(tmp_path, sharp_turf):
    sharp_turf.save(tmp_path / "turf.png")
    score = score_photo(tmp_path / "turf.png", region=KITE)
    inside = inside_of(KITE, sharp_turf.size)
    green = green_mask(np.asarray(sharp_turf)) & inside
    assert score.pixels == inside.sum()
    assert score.green_pixels == green.sum()
    assert score.cover == 100 * green.sum() / inside.sum()


def test_area_is_that_of_the_polygon(tmp_path, sharp_turf):
    """Shoelace formula by hand: 0.5 |sum of x y' - x' y|."""
    sharp_turf.save(tmp_path / "turf.png")
    x, y = np.array(KITE).T
    area = 0.5 * abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
    pixels = score_photo(tmp_path / "turf.png", region=KITE).pixels
    assert pixels == pytest.approx(area * 640 * 480, rel=2e-3)


@pytest.mark.parametrize("region", [(0.1, 0.2, 0.7, 0.9), KITE], ids=["box", "polygon"])
@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_eight_orientations_give_the_same_score_of_a_region(tmp_path, sharp_turf, kind, region):
    path = tmp_path / "turf"
    scores = []
    for orientation in range(1, 9):
        image, exif = as_held(sharp_turf, orientation)
        image.save(path, kind, exif=exif)
        scores.append(dataclasses.replace(score_photo(path, region=region), sha256=""))
    assert 0 < scores[0].green_pixels < scores[0].pixels < 640 * 480
    assert scores == [scores[0]] * 8


def test_polygon_around_the_whole_photo_is_the_whole_photo(tmp_path, sharp_turf):
    sharp_turf.save(tmp_path / "turf.png")
    whole = score_photo(tmp_path / "turf.png")
    corners = ((0, 0), (1, 0), (1, 1), (0, 1))
    assert score_photo(tmp_path / "turf.png", region=corners) == whole
    assert score_photo(tmp_path / "turf.png", region=(0, 0, 1, 1)) == whole


def test_what_lies_outside_changes_nothing_that_is_counted(tmp_path, sharp_turf):
    inside = inside_of(KITE, sharp_turf.size)
    other = np.asarray(sharp_turf).copy()
    other[~inside] = (20, 255, 0)
    sharp_turf.save(tmp_path / "one.png")
    Image.fromarray(other).save(tmp_path / "other.png")
    one, two = (score_photo(tmp_path / f"{name}.png", region=KITE) for name in ("one", "other"))
    for name in ("cover", "hue", "saturation", "brightness", "colour_index_sd", "clipped"):
        assert getattr(one, name) == getattr(two, name)


@pytest.mark.parametrize(
    "region",
    [
        (0.5, 0, 0.5, 1),
        (0, 0, 1, float("nan")),
        ((0, 0), (1, 1)),
        ((0, 0), (1, 0), (1, 1.2)),
        ((0, 0), (1, 0), (1, float("nan"))),
        ((0, 0), (1, 0), 1),
        ((0, 0), (1, 0), (1, 1, 1)),
        "left",
        7,
        (),
    ],
)
def test_what_is_no_region_is_refused(region):
    with pytest.raises(WinterswardError, match="at least three corners"):
        outline_of(region, (160, 120))


@pytest.mark.parametrize(
    "region",
    [
        ((0.1, 0.1), (0.1001, 0.1), (0.1, 0.1001)),
        ((0.2, 0.2), (0.2, 0.2), (0.2, 0.2)),
        (0, 0, 0.0001, 1),
    ],
)
def test_region_without_a_pixel_is_refused(tmp_path, sharp_turf, region):
    sharp_turf.save(tmp_path / "turf.png")
    with pytest.raises(WinterswardError, match="holds no pixel of a picture of 640 by 480"):
        score_photo(tmp_path / "turf.png", region=region)
