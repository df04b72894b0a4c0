import io

import numpy as np
import pytest
from PIL import Image

from wintersward.photos.quality import (
    BLUR_LIMIT,
    FLAT_LIMIT,
    SHADOW_LIMIT,
    Exposure,
    flat_share,
    lit_ratio,
    quality_flags,
    sharpness,
    snow_share,
)
from wintersward.photos.quality import grey_of as luma


def planes_of(image):
    """The copy of about 640 pixels in which a photo is looked at."""
    small = image.reduce(max(1, round(max(image.size) / 640)))
    return np.moveaxis(np.asarray(small, dtype=np.float32), -1, 0)


def grey_of(image):
    return np.asarray(image, dtype=np.float32) @ np.array([0.299, 0.587, 0.114], dtype=np.float32)


def flags_of(image):
    largest = np.asarray(image).max(axis=-1)
    size = largest.size
    counts = Exposure(size, size, int((largest >= 254).sum()), int((largest <= 15).sum()))
    planes = planes_of(image)
    return quality_flags(planes, luma(planes), counts)


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


def shaded(image, left):
    """A hard shadow over the right half: skylight alone, so darker and a little bluer."""
    pixels = np.asarray(image, dtype=np.float32).copy()
    width = pixels.shape[1]
    depth = np.clip((np.arange(width) - 0.45 * width) / 12, 0, 1)[None, :, None]
    pixels *= 1 - (1 - left) * depth
    pixels[..., 2] += 8 * depth[..., 0]
    return Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8))


@pytest.mark.parametrize("cover", [10, 40, 100])
@pytest.mark.parametrize("left", [0.28, 0.55])
def test_a_hard_shadow_is_flagged_with_number_and_limit(painter, cover, left):
    image = turf(painter, cover)
    lit, half_lit = (lit_ratio(planes_of(one)[:, ::2, ::2]) for one in (image, shaded(image, left)))
    assert lit < 1.3 < SHADOW_LIMIT < half_lit
    (flag,) = [flag for flag in flags_of(shaded(image, left)) if flag.startswith("shadow: ")]
    assert flag.endswith(f" {half_lit:.1f} times as bright as in the other, limit 1.5")


def test_dark_soil_beside_turf_is_no_shadow(painter):
    """Left bare, right green: only what is green is compared."""
    pixels = np.asarray(turf(painter, 95)).copy()
    pixels[:, :300] = np.asarray(turf(painter, 0))[:, :300] // 2
    assert not any(flag.startswith("shadow") for flag in flags_of(Image.fromarray(pixels)))


@pytest.mark.parametrize("shape", [(3, 1, 1), (3, 8, 300), (3, 300, 8)])
def test_too_small_to_compare_light(shape):
    assert lit_ratio(np.full(shape, 90, dtype=np.float32)) is None


def test_light_is_not_compared_without_green_or_in_plain_colour():
    soil = np.full((3, 100, 100), 60, dtype=np.float32)
    assert lit_ratio(soil) is None
    leaf = np.ones((3, 100, 100), dtype=np.float32) * np.array([60, 90, 40])[:, None, None]
    assert lit_ratio(leaf.astype(np.float32)) is None


def test_snow_is_told_from_straw_and_stones(painter):
    image = turf(painter, 60)
    assert snow_share(planes_of(image)) < 0.5
    pixels = np.asarray(image).copy()
    pixels[:48] = (228, 232, 240)
    assert snow_share(planes_of(Image.fromarray(pixels))) == pytest.approx(10, abs=0.5)
    flags = [flag for flag in flags_of(Image.fromarray(pixels)) if flag.startswith("snow: ")]
    assert flags == ["snow: 10 % white, limit 5 %; snow, frost or paint?"]


@pytest.mark.parametrize("size", [(100, 500), (500, 100), (90, 70)])
def test_looking_at_a_narrow_picture_leaves_it_as_it_is(size):
    grey = np.random.default_rng(6).uniform(0, 255, size).astype(np.float32)
    before = grey.copy()
    assert sharpness(grey) is not None
    assert np.array_equal(grey, before)
