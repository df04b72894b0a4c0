import math
from fractions import Fraction

import numpy as np
import pytest

from wintersward.photos.colour import colour_parts
from wintersward.photos.colour_sums import ColourSums

STEPS, COARSE = 2**46, 2**20


def coloured(count, seed=0):
    """Random colours of all hues, none of them grey, with both ends of every channel."""
    rng = np.random.default_rng(seed)
    ends = rng.choice(np.array([0, 1, 254, 255], dtype=np.uint8), (count // 4, 3))
    rgb = np.concatenate([rng.integers(0, 256, (count, 3), dtype=np.uint8), ends])
    return rgb[rgb.min(axis=1) < rgb.max(axis=1)]


def added(rgb, parts=1):
    sums = ColourSums()
    for part in np.array_split(rgb.astype(np.int16), parts):
        sums.add(*part.T.copy())
    return sums


def test_sums_are_those_of_ratios_rounded_one_by_one():
    rgb = coloured(4000)
    hue = saturation = brightness = index = squares = 0
    for numerator, spread, largest in zip(*(p.tolist() for p in colour_parts(rgb)), strict=True):
        sixth, share = numerator / spread, spread / largest
        thrice = largest * (-1 / 255) + sixth - share
        hue += round(sixth * STEPS)
        saturation += round(share * STEPS)
        brightness += largest
        index += (whole := round(thrice * COARSE))
        squares += whole**2
    count = len(rgb)
    colour = added(rgb).colour()
    assert colour.hue == float(Fraction(60 * hue, count * STEPS))
    assert colour.saturation == float(Fraction(saturation, count * STEPS))
    assert colour.brightness == float(Fraction(brightness, count * 255))
    varied = Fraction(count * squares - index**2, count * (count - 1))
    assert colour.index_sd == math.sqrt(varied) / (3 * COARSE)


@pytest.mark.parametrize("parts", [2, 7, 300])
def test_neither_order_nor_parts_change_a_digit(parts):
    rgb = coloured(120_000, seed=parts)
    whole = added(rgb)
    assert whole.count == len(rgb)
    assert added(rgb[::-1], parts).colour() == whole.colour()


@pytest.mark.parametrize("rgb", [(255, 0, 1), (255, 1, 0), (0, 255, 0), (1, 0, 255), (2, 1, 1)])
def test_many_of_one_colour_have_its_own_colour(rgb):
    """Among them the largest hue there is, of which as many as fit are summed at a time."""
    numerator, spread, largest = (float(part) for part in colour_parts(np.uint8(rgb)))
    colour = added(np.full((100_000, 3), rgb, dtype=np.uint8)).colour()
    assert colour.hue == pytest.approx(60 * numerator / spread, rel=1e-12, abs=1e-12)
    assert colour.saturation == pytest.approx(spread / largest, rel=1e-12)
    assert colour.brightness == largest / 255
    assert colour.index_sd == 0
