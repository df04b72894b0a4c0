import numpy as np
import pytest
from PIL import Image

from wintersward.photos.patches import (
    CELLS,
    SPECK_CELLS,
    cell_shares,
    largest_bare_patch,
    patchiness,
)
from wintersward.photos.scoring import score_photo

LEAF, SOIL = (60, 90, 40), (98, 78, 58)


def saved(mask, path):
    """A photo of leaf where the mask is true and soil elsewhere, with a little grain."""
    grain = np.random.default_rng(3).integers(-3, 4, (*mask.shape, 1))
    pixels = np.where(mask[..., None], LEAF, SOIL) + grain
    Image.fromarray(pixels.astype(np.uint8)).save(path, compress_level=1)
    return path


def disk(shape, radius):
    """Bare inside a circle whose radius is a share of the longer side."""
    rows, columns = (np.arange(side) + 0.5 for side in shape)
    away = np.hypot(rows[:, None] - shape[0] / 2, columns[None, :] - shape[1] / 2)
    return away > radius * max(shape)


class TestLargestBarePatch:
    @pytest.mark.parametrize("shape", [(480, 640), (960, 1280), (1501, 2003), (640, 480)])
    def test_share_of_a_circle_at_any_resolution(self, tmp_path, shape):
        score = score_photo(saved(disk(shape, 0.2), tmp_path / "bare.png"))
        true = 100 * np.pi * 0.2**2 / 0.75
        assert score.largest_bare_patch == pytest.approx(true, abs=0.5)
        assert score.cover == pytest.approx(100 - true, abs=0.2)

    def test_two_patches_count_by_the_larger(self):
        share = np.ones((120, 160))
        share[10:30, 10:50] = 0
        share[60:100, 60:70] = 0.05
        assert largest_bare_patch(share) == pytest.approx(100 * 800 / 19200)

    def test_a_speck_of_green_does_not_break_a_patch_but_a_tuft_does(self):
        share = np.ones((120, 160))
        share[10:30, 10:50] = 0
        share[12:14, 20:22] = 1
        assert SPECK_CELLS == 4
        assert largest_bare_patch(share) == pytest.approx(100 * 800 / 19200)
        share[12:15, 20:22] = 1
        assert largest_bare_patch(share) == pytest.approx(100 * 794 / 19200)

    def test_corners_do_not_join(self):
        share = np.ones((40, 40))
        share[:10, :10] = share[10:20, 10:20] = 0
        assert largest_bare_patch(share) == pytest.approx(100 * 100 / 1600)

    def test_all_green_all_bare_and_outside(self):
        assert largest_bare_patch(np.ones((9, 9))) == 0
        assert largest_bare_patch(np.zeros((9, 9))) == 100
        assert largest_bare_patch(np.full((9, 9), np.nan)) == 0
        half = np.zeros((10, 10))
        half[:, 5:] = np.nan
        half[:5] = np.where(np.isnan(half[:5]), np.nan, 1.0)
        assert largest_bare_patch(half) == 50


class TestPatchiness:
    def test_chance_alone_gives_next_to_none(self):
        rng = np.random.default_rng(5)
        found = [patchiness((rng.random((120, 160)) < 0.4).astype(float)) for _ in range(20)]
        # By chance the squares' cover has a variance of 0.4 0.6 / 400, 6.0 squared points. Its
        # estimate from 48 squares errs by 6.0 sqrt(2 / 47) = 1.2; the mean of what lies above 0
        # is 0.4 times that, and 3.3 times that is 2 squared.
        assert np.mean(np.square(found)) < 0.8
        assert max(found) < 2

    def test_formula_by_hand(self):
        """Half of the squares 20 % and half 60 %: s^2 = 0.04 48 / 47, p = 0.4, n = 400."""
        share = np.full((120, 160), 0.2)
        share[:, 80:] = 0.6
        by_hand = 100 * (0.04 * 48 / 47 - 0.4 * 0.6 / 400) ** 0.5
        assert patchiness(share) == pytest.approx(by_hand, rel=1e-12)

    @pytest.mark.parametrize("factor", [2, 3])
    def test_does_not_follow_the_resolution(self, tmp_path, sharp_turf, factor):
        sharp_turf.save(tmp_path / "small.png")
        size = [side * factor for side in sharp_turf.size]
        sharp_turf.resize(size, Image.Resampling.NEAREST).save(tmp_path / "large.png")
        small, large = (score_photo(tmp_path / f"{name}.png") for name in ("small", "large"))
        assert large.cover == small.cover
        assert large.patchiness == pytest.approx(small.patchiness, rel=1e-9)
        assert large.largest_bare_patch == pytest.approx(small.largest_bare_patch, abs=0.1)

    def test_clumped_turf_is_patchier(self, painter, tmp_path):
        found = []
        for clumped in (0.0, 1.0):
            image, _ = painter.paint_turf(50, np.random.default_rng(9), patchiness=clumped)
            image.save(tmp_path / "turf.png")
            found.append(score_photo(tmp_path / "turf.png").patchiness)
        assert found[1] > found[0] + 5

    def test_even_cover_gives_none_at_all(self):
        assert patchiness(np.full((120, 160), 0.5)) == 0
        assert patchiness(np.ones((120, 160))) == 0

    def test_too_few_squares_to_tell(self):
        share = np.full((120, 160), np.nan)
        share[:20, :60] = 0.5
        assert patchiness(share) is None
        assert patchiness(np.ones((1, 3))) is None


class TestCells:
    def test_count_follows_the_shape(self):
        ones = np.ones((480, 640), dtype=np.int64)
        assert cell_shares(ones, None, 1).shape == (120, CELLS)
        assert cell_shares(ones.T, None, 1).shape == (CELLS, 120)
        assert cell_shares(ones[:50, :80], None, 1).shape == (50, 80)

    def test_every_pixel_counts_once(self):
        counts = np.random.default_rng(2).integers(0, 10, (487, 651))
        shares = cell_shares(counts, None, 9)
        assert shares.shape == (120, 160)
        rows = np.diff(np.rint(np.linspace(0, 487, 121)))
        columns = np.diff(np.rint(np.linspace(0, 651, 161)))
        assert (shares * np.multiply.outer(rows, columns) * 9).sum() == pytest.approx(counts.sum())

    def test_cells_mostly_outside_are_unknown(self):
        looked = np.ones((480, 640), dtype=np.int64)
        looked[:, 322:] = 0
        shares = cell_shares(looked, looked, 1)
        assert np.isfinite(shares[:, :81]).all()
        assert np.isnan(shares[:, 81:]).all()
        assert (shares[:, :81] == 1).all()
