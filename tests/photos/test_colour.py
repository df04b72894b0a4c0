import colorsys
from fractions import Fraction

import numpy as np
import pytest
from skimage.color import rgb2hsv

from wintersward.errors import WinterswardError
from wintersward.photos.colour import GREEN, GreenWindow, colour_index, green_mask, hsb

NARROW = GreenWindow(hue=(60.5, 119.9), saturation=(0.123, 0.87), value=(0.15, 0.955))


def exact_hsb(red: int, green: int, blue: int) -> tuple[Fraction | None, Fraction, Fraction]:
    """The definition as colorsys states it, in fractions; hue in degrees."""
    most, least = max(red, green, blue), min(red, green, blue)
    value = Fraction(most, 255)
    if most == least:
        return None, Fraction(0), value
    spread = most - least
    rc, gc, bc = (Fraction(most - channel, spread) for channel in (red, green, blue))
    if red == most:
        sixth = bc - gc
    elif green == most:
        sixth = 2 + rc - bc
    else:
        sixth = 4 + gc - rc
    return sixth % 6 * 60, Fraction(spread, most), value


def exact_is_green(colour: tuple[int, int, int], window: GreenWindow) -> bool:
    hue, saturation, value = exact_hsb(*colour)
    if hue is None:
        return False
    return all(
        window.exact(name)[0] <= part <= window.exact(name)[1]
        for name, part in (("hue", hue), ("saturation", saturation), ("value", value))
    )


def sector_is_green(rgb: np.ndarray, window: GreenWindow) -> np.ndarray:
    """Another way to the same rule: the order of the channels gives the sector of 60 degrees.

    Within a sector the middle channel rises (even sectors) or falls (odd ones), so hue is
    60 (sector + f) or 60 (sector + 1 - f), with f the place of the middle between the others.
    """
    ordered = np.sort(rgb, axis=-1).astype(np.int64)
    least, middle, most = ordered[..., 0], ordered[..., 1], ordered[..., 2]
    red, green, blue = (rgb[..., channel].astype(np.int64) for channel in range(3))
    spread = most - least
    sector = np.select(
        [
            (red >= green) & (green >= blue),
            (green >= red) & (red >= blue),
            (green >= blue) & (blue >= red),
            (blue >= green) & (green >= red),
            (blue >= red) & (red >= green),
        ],
        [0, 1, 2, 3, 4],
        5,
    )
    within = np.where(sector % 2 == 0, middle - least, most - middle)
    sixths = sector * spread + within  # hue = 60 sixths / spread
    inside = spread > 0
    for over, under, name, scale in (
        (sixths, spread, "hue", 60),
        (spread, most, "saturation", 1),
        (most, np.full_like(most, 255), "value", 1),
    ):
        low, high = window.exact(name)
        inside &= scale * over * low.denominator >= low.numerator * under
        inside &= scale * over * high.denominator <= high.numerator * under
    return inside


@pytest.mark.parametrize("window", [GREEN, NARROW], ids=["default", "decimals"])
def test_every_colour_follows_the_rational_definition(window):
    second, third = np.meshgrid(np.arange(256), np.arange(256), indexing="ij")
    colours = np.empty((256, 256, 3), dtype=np.uint8)
    colours[..., 1], colours[..., 2] = second, third
    counted = 0
    for red in range(256):
        colours[..., 0] = red
        mask = green_mask(colours, window)
        assert np.array_equal(mask, sector_is_green(colours, window)), f"red {red}"
        counted += int(mask.sum())
    assert 0 < counted < 256**3


@pytest.mark.parametrize("window", [GREEN, NARROW, GreenWindow(hue=(0, 360))])
def test_random_and_edge_colours_follow_fractions(window):
    rng = np.random.default_rng(5)
    edges = [0, 1, 2, 127, 128, 254, 255]
    colours = [(r, g, b) for r in edges for g in edges for b in edges]
    colours += [tuple(int(part) for part in colour) for colour in rng.integers(0, 256, (3000, 3))]
    mask = green_mask(np.array(colours, dtype=np.uint8), window)
    assert mask.tolist() == [exact_is_green(colour, window) for colour in colours]


def test_limits_are_inside_and_the_next_colour_is_out():
    # Hue 50 is (G - B) / (R - B) = 5 / 6; hue 170 is (B - R) / (G - R) = 5 / 6.
    colours = [(106, 105, 100), (250, 242, 200), (107, 105, 100), (100, 106, 105), (100, 107, 106)]
    hues = [exact_hsb(*colour)[0] for colour in colours]
    mask = green_mask(np.array(colours, dtype=np.uint8))
    assert hues[0] == 50
    assert hues[3] == 170
    assert mask.tolist() == [True, True, False, True, False]


def test_grey_black_and_white_are_never_green():
    grey = np.repeat(np.arange(256, dtype=np.uint8)[:, None], 3, axis=1)
    assert not green_mask(grey, GreenWindow(hue=(0, 360))).any()


# Formula: Karcher and Richardson 2003, Crop Science 43:943-951 (confirmed in a text quoting it);
# the colours are constructed and worked by hand: H [degrees], S, B, index.
HAND_WORKED = [
    ((34, 85, 34), 120, 0.6, 0.3333, 0.6889),
    ((60, 90, 40), 96, 0.5556, 0.3529, 0.5638),
    ((85, 110, 60), 90, 0.4545, 0.4314, 0.5380),
    ((120, 160, 60), 84, 0.625, 0.6275, 0.3825),
    ((150, 140, 90), 50, 0.4, 0.5882, 0.2817),
]


@pytest.mark.parametrize(("colour", "hue", "saturation", "brightness", "index"), HAND_WORKED)
def test_hand_worked_colours(colour, hue, saturation, brightness, index):
    parts = hsb(np.array(colour, dtype=np.uint8))
    assert parts.round(4).tolist() == [hue, saturation, brightness]
    assert round(colour_index(*parts), 4) == index


def test_index_is_not_cut_off_outside_60_to_120_degrees():
    assert colour_index(50, 0.4, 0.5) == pytest.approx((-1 / 6 + 0.6 + 0.5) / 3)
    assert colour_index(150, 0.4, 0.5) == pytest.approx((1.5 + 0.6 + 0.5) / 3)


def test_hsb_agrees_with_scikit_image_and_colorsys():
    colours = np.random.default_rng(8).integers(0, 256, (4000, 3)).astype(np.uint8)
    coloured = np.ptp(colours, axis=1) > 0
    ours = hsb(colours) / [360, 1, 1]
    np.testing.assert_allclose(ours[coloured], rgb2hsv(colours[None])[0][coloured], atol=1e-12)
    theirs = np.array([colorsys.rgb_to_hsv(*(colour / 255)) for colour in colours])
    np.testing.assert_allclose(ours[coloured], theirs[coloured], atol=1e-12)
    assert np.isnan(ours[~coloured, 0]).all()


def test_floating_point_errs_only_on_the_limits_themselves():
    """scikit-image rounds the hue, and so loses colours that lie exactly on a limit."""
    steps = np.arange(0, 256, 3, dtype=np.uint8)
    colours = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    hue = 360 * rgb2hsv(colours[None])[0][:, 0]
    coloured = np.ptp(colours, axis=1) > 0
    differs = green_mask(colours) != ((hue >= 50) & (hue <= 170) & coloured)
    on_limit = [exact_hsb(*(int(c) for c in colour))[0] in (50, 170) for colour in colours[differs]]
    assert differs.any()
    assert all(on_limit)


def test_shapes_are_kept():
    assert green_mask(np.zeros((2, 3, 4, 3), dtype=np.uint8)).shape == (2, 3, 4)
    assert green_mask(np.array([60, 90, 40], dtype=np.uint8)).shape == ()


@pytest.mark.parametrize(
    "colours",
    [np.zeros((2, 3)), np.zeros((2, 4), dtype=np.uint8), np.uint8(3), np.zeros(3, dtype=np.int64)],
    ids=["float", "four channels", "scalar", "int64"],
)
def test_other_arrays_are_refused(colours):
    with pytest.raises(WinterswardError, match=r"allowed: uint8 of shape \(\.\.\., 3\)"):
        green_mask(colours)


def test_limits_mean_the_decimal_as_written():
    # 0.1 in binary is a little more than one tenth: saturation 10 / 100 must still be inside.
    assert green_mask(np.array([90, 100, 90], dtype=np.uint8), GreenWindow(saturation=(0.1, 1)))
    assert GreenWindow(hue=(50.1, 170)).exact("hue")[0] == Fraction(501, 10)
    fine = GreenWindow(hue=(95.999999999, 96.000000001))
    assert green_mask(np.array([60, 90, 40], dtype=np.uint8), fine)
    assert not green_mask(np.array([60, 91, 40], dtype=np.uint8), fine)


@pytest.mark.parametrize(
    ("ranges", "said"),
    [
        ({"hue": (350, 20)}, "the lower limit first"),
        ({"hue": (50, 361)}, "from 0 to 360"),
        ({"saturation": (-0.1, 1)}, "from 0 to 1"),
        ({"value": (0, float("nan"))}, "from 0 to 1"),
        ({"value": (0, True)}, "from 0 to 1"),
        ({"value": (0, "bright")}, "from 0 to 1"),
        ({"hue": (50, 170.0000000001)}, "at most 9 decimals"),
        ({"hue": 50}, "two numbers"),
        ({"hue": (50, 60, 70)}, "two numbers"),
    ],
)
def test_window_refuses(ranges, said):
    with pytest.raises(WinterswardError, match=said) as caught:
        GreenWindow(**ranges)
    assert next(iter(ranges)) in str(caught.value)


def test_window_says_everything_wrong_at_once():
    with pytest.raises(WinterswardError) as caught:
        GreenWindow(hue=(170, 50), saturation=(0, 2))
    assert len(caught.value.problems) == 2


def test_hash_follows_the_numbers_not_their_spelling():
    assert GreenWindow(hue=[50, 170]) == GREEN
    assert GreenWindow(hue=(50.0, 170.0)).hash() == GREEN.hash()
    assert GreenWindow(hue=(50.5, 170)).hash() != GREEN.hash()
    assert GreenWindow(saturation=(0, 0.5)).hash() != GreenWindow(value=(0, 0.5)).hash()
    assert len(GREEN.hash()) == 12
