import numpy as np
import pytest
from PIL import Image

from photos.held import TURNS
from wintersward.photos.reduced import Reduced
from wintersward.photos.strips import strips, upright_size

NOISE = Image.fromarray(np.random.default_rng(3).integers(0, 256, (48, 64, 3), dtype=np.uint8))


@pytest.mark.parametrize("turn", [None, *(Image.Transpose[name] for name in TURNS.split())])
@pytest.mark.parametrize("rows", [1, 7, 100])
def test_bands_are_those_of_the_upright_picture(turn, rows):
    upright = NOISE if turn is None else NOISE.transpose(turn)
    assert upright_size(NOISE, turn) == upright.size
    box = (5, 3, 41, 45)
    bands = list(strips(NOISE, turn, box, rows))
    joined = [np.concatenate([band[channel] for band in bands]) for channel in (1, 2, 3)]
    assert np.array_equal(np.stack(joined, axis=-1), np.asarray(upright.crop(box)))
    assert [band.top for band in bands] == list(range(0, 42, rows))
    assert all(plane.flags.c_contiguous for band in bands for plane in band[1:])


@pytest.mark.parametrize("size", [(1920, 1281), (64, 48), (2561, 7), (5, 4000), (20_480, 40)])
def test_the_small_copy_is_the_mean_of_squares(size):
    width, height = size
    pixels = np.random.default_rng(1).integers(0, 256, (height, width, 3), dtype=np.uint8)
    image, copy = Image.fromarray(pixels), Reduced(size)
    green = pixels[..., 1] > 100
    step = 2 * copy.factor
    for strip in strips(image, None, (0, 0, *size), step):
        copy.add(strip, green[strip.top : strip.top + step], green[strip.top : strip.top + step])
    side = copy.factor
    rows, columns = height // side, width // side
    squares = pixels[: rows * side, : columns * side].reshape(rows, side, columns, side, 3)
    means = np.moveaxis(squares.mean(axis=(1, 3)), -1, 0)
    np.testing.assert_allclose(copy.planes, means, rtol=1e-6)
    counts = green[: rows * side, : columns * side].reshape(rows, side, columns, side)
    assert np.array_equal(copy.green, counts.sum(axis=(1, 3)))
    assert np.array_equal(copy.looked, copy.green)
