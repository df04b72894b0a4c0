from fractions import Fraction

import numpy as np
import pytest

from photos.test_colour import sector_is_green
from wintersward.photos.colour import GreenWindow, green_mask
from wintersward.photos.green_rule import GreenRule

WINDOWS = {
    "through yellow and green": GreenWindow(hue=(50, 170)),
    "half a circle": GreenWindow(hue=(30, 210)),
    "half a circle to red": GreenWindow(hue=(180, 360)),
    "more than half": GreenWindow(hue=(10, 300)),
    "all but red": GreenWindow(hue=(0.5, 360)),
    "up to red": GreenWindow(hue=(300, 360)),
    "one hue": GreenWindow(hue=(120, 120)),
    "one hue at the start": GreenWindow(hue=(0, 0)),
    "one hue at the end": GreenWindow(hue=(360, 360)),
    "one hue between": GreenWindow(hue=(90, 90)),
    "thousandths": GreenWindow(hue=(61.237, 148.619)),
    "nine decimals": GreenWindow(hue=(61.237123457, 298.619000001)),
    "blue": GreenWindow(hue=(200, 280), saturation=(0.25, 0.8)),
    "narrow in all": GreenWindow((61, 140), (0.1, 0.9), (0.2, 0.8)),
    "fine saturation": GreenWindow(saturation=(0.123456789, 0.987654321)),
    "pale and dark only": GreenWindow(hue=(0, 360), saturation=(0, 0.3), value=(0, 0.5)),
}


def colours():
    """Steps of 5 and both ends, every three of them, and colours beside the limits."""
    steps = np.array([*range(0, 256, 5), 1, 2, 254], dtype=np.uint8)
    grid = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    near = np.random.default_rng(8).integers(0, 256, (20_000, 3), dtype=np.uint8)
    return np.concatenate([grid, near])


@pytest.mark.parametrize("name", WINDOWS)
def test_half_planes_are_the_rule_of_ranges(name):
    window, rgb = WINDOWS[name], colours()
    mask = green_mask(rgb, window)
    assert np.array_equal(mask, sector_is_green(rgb, window))
    # Nothing has the hue of 360 degrees itself: red is at 0.
    assert mask.any() is np.bool_(window.hue != (360, 360))
    assert not mask.all()


def test_one_rule_serves_strips_of_any_length():
    rgb = colours()
    rule = GreenRule(GreenWindow((61, 140), (0.1, 0.9), (0.2, 0.8)), 5000)
    whole = green_mask(rgb, GreenWindow((61, 140), (0.1, 0.9), (0.2, 0.8)))
    for size in (5000, 1, 4999, 17):
        planes = [np.ascontiguousarray(rgb[:size, channel]) for channel in range(3)]
        assert np.array_equal(rule.mask(*planes), whole[:size])


def test_no_colours_give_no_mask():
    assert green_mask(np.zeros((0, 3), dtype=np.uint8)).shape == (0,)


def test_sums_of_a_hue_of_many_digits_do_not_run_over():
    """255 times the denominator must fit: a limit of nine decimals has one of 6e10."""
    limit = Fraction("61.237123457") / 60
    assert 255 * limit.denominator > np.iinfo(np.int32).max
    ends = np.array([[r, g, b] for r in (0, 255) for g in (0, 255) for b in (0, 255)], np.uint8)
    window = GreenWindow(hue=(61.237123457, 148.619000001))
    assert np.array_equal(green_mask(ends, window), sector_is_green(ends, window))
