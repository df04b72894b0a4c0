import numpy as np
import pytest
from PIL import Image

from photos.held import as_held
from wintersward.errors import WinterswardError
from wintersward.photos.colour import GREEN, GreenWindow, green_mask
from wintersward.photos.scoring import score_photo
from wintersward.photos.strips import Strip
from wintersward.photos.window_grid import GridTally, covers_over, window_grid

WINDOWS = {
    "default": GREEN,
    "narrow in all": GreenWindow((61, 140), (0.1, 0.9), (0.2, 0.8)),
    "thousandths": GreenWindow((61.237, 148.619), (0.123, 1)),
    "nine decimals": GreenWindow((61.237123457, 298.619000001), (0.123456789, 0.987654321)),
    "nearly all": GreenWindow((5, 358)),
    "the whole circle": GreenWindow((0, 360)),
    "narrower than the steps": GreenWindow((80, 90), (0.07, 0.12)),
    "blue": GreenWindow((200, 280), (0.25, 0.8)),
}


def planes(rgb):
    return [np.ascontiguousarray(rgb[:, channel])[None] for channel in range(3)]


def counted(rgb, grid, strip=50_000):
    tally = GridTally(grid, strip)
    for first in range(0, len(rgb), strip):
        tally.add(Strip(first, *planes(rgb[first : first + strip])))
    assert tally.pixels == len(rgb)
    return tally


def by_masks(rgb, grid):
    return [int(green_mask(rgb, window).sum()) for window in grid.windows]


@pytest.mark.parametrize("name", WINDOWS)
def test_every_window_counts_what_the_mask_counts(name):
    rgb = np.random.default_rng(24).integers(0, 256, (40_000, 3), dtype=np.uint8)
    # Colours on the edges: greys, the corners of the cube, and steps whose ratios are round.
    steps = np.array([0, 1, 51, 60, 85, 102, 120, 170, 200, 204, 254, 255], dtype=np.uint8)
    round_ones = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    rgb = np.concatenate([rgb, round_ones])
    grid = window_grid(WINDOWS[name])
    found = counted(rgb, grid, 7_001).green.tolist()
    assert found == by_masks(rgb, grid)
    assert len(set(found)) > 10


def test_all_reds_and_greens_with_some_blues():
    red, green = np.meshgrid(np.arange(256), np.arange(256))
    grid = window_grid(GREEN)
    for blue in (0, 1, 64, 127, 128, 200, 255):
        rgb = np.stack([red, green, np.full_like(red, blue)], -1).reshape(-1, 3).astype(np.uint8)
        assert counted(rgb, grid, 65_536).green.tolist() == by_masks(rgb, grid)


class TestTheGrid:
    def test_the_window_itself_is_one_of_them(self):
        for window in WINDOWS.values():
            grid = window_grid(window)
            hashes = [one.hash() for one in grid.windows]
            assert hashes.count(window.hash()) == 1
            assert len(set(hashes)) == len(hashes)
            assert {one.value for one in grid.windows} == {window.value}
            assert {one.saturation[1] for one in grid.windows} == {window.saturation[1]}

    def test_edges_stay_within_the_circle(self):
        grid = window_grid(GreenWindow((5, 358)))
        assert (grid.lower[0], grid.upper[-1]) == (0, 360)
        assert len(grid.windows) == 4 * 4 * 4

    def test_a_window_that_holds_no_hue_is_left_out(self):
        grid = window_grid(GreenWindow((80, 90)))
        assert all(one.hue[0] <= one.hue[1] for one in grid.windows)
        assert len(grid.windows) < 5 * 5 * 4

    def test_floors_of_a_saturated_window(self):
        grid = window_grid(GreenWindow(saturation=(0.2, 0.22)))
        assert grid.floors == (0, 0.05, 0.1, 0.15, 0.2)
        assert window_grid(GreenWindow(saturation=(0.2, 1))).floors[-1] == 0.25

    def test_decimals_are_moved_exactly(self):
        grid = window_grid(GreenWindow((61.237123457, 148.6)))
        assert grid.lower[0] == 51.237123457
        assert grid.upper[-1] == 158.6

    def test_another_grid_has_another_hash(self):
        assert window_grid(GREEN).hash() == window_grid(GreenWindow((50.0, 170.0))).hash()
        assert window_grid(GREEN).hash() != window_grid(GREEN, floors=(0, 0.1)).hash()
        assert window_grid(GREEN).hash() != window_grid(GreenWindow((50, 171))).hash()


class TestAPhoto:
    @pytest.fixture
    def photo(self, tmp_path, sharp_turf):
        path = tmp_path / "turf.png"
        sharp_turf.save(path)
        return path

    def test_covers_are_the_scores_to_the_last_digit(self, photo):
        grid = window_grid(GREEN)
        covers = covers_over(photo, grid)
        assert covers.shape == (100,)
        for at in (0, 37, 50, 99):
            assert covers[at] == score_photo(photo, grid.windows[at]).cover
        assert covers.max() > covers.min() > 0

    @pytest.mark.parametrize("region", [(0.1, 0.2, 0.7, 0.9), [(0.1, 0.1), (0.9, 0.3), (0.4, 0.8)]])
    def test_a_region_counts_its_own_pixels(self, photo, region):
        grid = window_grid(GREEN)
        covers = covers_over(photo, grid, region)
        assert covers[50] == score_photo(photo, grid.windows[50], region).cover
        assert covers[50] != covers_over(photo, grid)[50]

    def test_how_the_camera_was_held_changes_nothing(self, photo, tmp_path, sharp_turf):
        grid = window_grid(GREEN)
        stored, exif = as_held(sharp_turf, 6)
        stored.save(tmp_path / "held.png", exif=exif)
        region = (0.1, 0.2, 0.7, 0.9)
        held = covers_over(tmp_path / "held.png", grid, region)
        assert held.tolist() == covers_over(photo, grid, region).tolist()

    def test_a_photo_without_green_has_none_by_any_window(self, tmp_path):
        Image.new("RGB", (40, 30), (98, 78, 58)).save(tmp_path / "soil.png")
        assert not covers_over(tmp_path / "soil.png", window_grid(GREEN)).any()

    def test_an_empty_region_is_told(self, photo):
        corner = [(0, 0), (0.0001, 0), (0, 0.0001)]
        with pytest.raises(WinterswardError, match="holds no pixel"):
            covers_over(photo, window_grid(GREEN), corner)
