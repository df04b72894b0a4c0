import io

import numpy as np
import pytest
from PIL import Image

from wintersward.photos.quality import (
    BLUR_LIMIT,
    FLAT_LIMIT,
    flat_share,
    quality_flags,
    sharpness,
)


def grey_of(image):
    return np.asarray(image, dtype=np.float32) @ np.array([0.299, 0.587, 0.114], dtype=np.float32)


def flags_of(image):
    largest = np.asarray(image).max(axis=-1)
    return quality_flags(image, np.bincount(largest.ravel(), minlength=256).astype(float))


def exposed(image, stops, noise=0.0):
    """Light by stops more or less, with sensor noise of the given deviation."""
    pixels = np.asarray(image, dtype=np.float32) * 2 ** (stops / 2.2)
    pixels = pixels + noise * np.random.default_rng(4).standard_normal(pixels.shape)
    return Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8))


def shaken(image, pixels, axis):
    moved = [np.roll(np.asarray(image, dtype=np.float32), step, axis) for step in range(pixels)]
    return Image.fromarray(np.mean(moved, axis=0).astype(np.uint8))


def turf(painter, cover, blur=0.0):
    return painter.paint_turf(cover, np.random.default_rng(int(cover)), blur=blur)[0]


@pytest.mark.parametrize("cover", [0, 30, 70, 100])
def test_sharp_turf_has_no_flag_and_blurred_turf_has(painter, cover):
    assert flags_of(turf(painter, cover)) == []
    for radius in (3.0, 4.0):
        flags = flags_of(turf(painter, cover, radius))
        assert [flag.split(":")[0] for flag in flags] == ["blurred"]


def test_flag_states_number_and_limit(painter):
    image = turf(painter, 50, 3.0)
    (flag,) = flags_of(image)
    assert flag == f"blurred: {sharpness(grey_of(image)):.2f}, limit {BLUR_LIMIT:.2f}"


def test_sharpness_does_not_follow_the_light(sharp_turf):
    grey = grey_of(sharp_turf)
    assert sharpness(grey / 8) == pytest.approx(sharpness(grey), rel=1e-4)
    assert sharpness(grey + 40) == pytest.approx(sharpness(grey), rel=1e-4)


def test_darkness_and_noise_do_not_fool_it(painter):
    """Three stops too dark, with the noise of a dark sensor."""
    sharp, soft = turf(painter, 70), turf(painter, 70, 3.0)
    assert sharpness(grey_of(exposed(sharp, -3, noise=2))) > BLUR_LIMIT
    assert sharpness(grey_of(exposed(soft, -3, noise=2))) < BLUR_LIMIT


@pytest.mark.parametrize("axis", [0, 1])
def test_shaken_in_one_direction_is_blurred(sharp_turf, axis):
    assert sharpness(grey_of(shaken(sharp_turf, 9, axis))) < BLUR_LIMIT


def test_large_photos_are_judged_as_small_ones_are(painter):
    image = turf(painter, 70)
    large = image.resize((2560, 1920), Image.Resampling.BICUBIC)
    assert flags_of(large) == []
    assert [flag.split(":")[0] for flag in flags_of(turf(painter, 70, 3).resize((2560, 1920)))] == [
        "blurred"
    ]


@pytest.mark.parametrize("shape", [(30, 400), (400, 30), (1, 1)])
def test_too_small_to_tell(shape):
    assert sharpness(np.random.default_rng(1).random(shape, dtype=np.float32)) is None


def test_plain_picture_is_flat_not_blurred():
    assert sharpness(np.full((100, 100), 7, dtype=np.float32)) is None
    flags = flags_of(Image.new("RGB", (200, 200), (60, 90, 40)))
    assert [flag.split(":")[0] for flag in flags] == ["flat"]


def test_white_noise_is_taken_off():
    """Pure noise leaves nothing in the fine band: the leak is 7/64 over 3/8."""
    noise = np.random.default_rng(6).standard_normal((800, 800)).astype(np.float32)
    # Without the correction the ratio would be 0.109 / 0.021, above 5.
    assert sharpness(noise) < 0.1


def test_exposure_flags(sharp_turf):
    bright = [flag for flag in flags_of(exposed(sharp_turf, 2.5))]
    assert bright
    assert bright[0].startswith("overexposed: ")
    assert bright[0].endswith(" % at full brightness, limit 2 %")
    dark = flags_of(exposed(sharp_turf, -7))
    assert dark[-1].startswith("underexposed: ")
    assert dark[-1].endswith(" % nearly black, limit 20 %")
    for stops in (-1, -0.3, 0.3):
        assert flags_of(exposed(sharp_turf, stops)) == []


def test_jpeg_that_lost_its_end_is_flat(sharp_turf):
    """A card that failed: the file has its length, but zeros from the middle on."""
    memory = io.BytesIO()
    sharp_turf.save(memory, "JPEG", quality=80)
    content = memory.getvalue()
    damaged = content[: len(content) // 2] + bytes(len(content) // 2 - 2) + b"\xff\xd9"
    image = Image.open(io.BytesIO(damaged)).convert("RGB")
    assert flat_share(grey_of(image)) > FLAT_LIMIT
    assert any(flag.startswith("flat: ") and "damaged" in flag for flag in flags_of(image))


def test_flat_share_counts_rows_or_columns():
    grey = np.random.default_rng(2).random((50, 80)).astype(np.float32)
    assert flat_share(grey) == 0
    grey[40:] = 0.5
    assert flat_share(grey) == 20
    assert flat_share(grey.T) == 20
