"""How sure one photo is: against repeated draws of turf whose structure is known."""

import numpy as np
import pytest
from PIL import Image
from scipy.stats import norm

from wintersward.photos.cell_spread import BLOCKS_ALONG, FEWEST_CELLS, SPREAD_CELLS, cover_se
from wintersward.photos.patches import pooled
from wintersward.photos.scoring import score_photo

FRAME = (120, 160)
SIDE = 512


def frames(rng, spread, cover, fields, each):
    """Cut frames out of wide fields of patches: cells are green below a normal field's quantile.

    The field's correlation at distance d is exp(-(d / 2 s)^2), s the spread in shares of the
    frame's longer side; at 0 every cell is for itself. `cover` is the share of green to expect.
    """
    squared = np.fft.fftfreq(SIDE)[:, None] ** 2 + np.fft.rfftfreq(SIDE)[None] ** 2
    smooth = np.exp(-2 * np.pi**2 * (spread * FRAME[1]) ** 2 * squared)
    size = np.sqrt((np.fft.irfft2(smooth, (SIDE, SIDE)) ** 2).sum())
    for _ in range(fields):
        field = np.fft.irfft2(np.fft.rfft2(rng.standard_normal((SIDE, SIDE))) * smooth, (SIDE,) * 2)
        green = (field < size * norm.ppf(cover)).astype(float)
        for _ in range(each):
            top, left = rng.integers(0, SIDE - FRAME[0]), rng.integers(0, SIDE - FRAME[1])
            yield green[top : top + FRAME[0], left : left + FRAME[1]]


def plain_se(share):
    """Standard error as if cells were drawn one by one."""
    cells = pooled(share, SPREAD_CELLS)
    return 100 * np.sqrt(cells.var(ddof=1) / cells.size)


def judged(rng, spread, cover, fields=60, each=8):
    """Root mean square error, and for both ways of drawing the typical error and the coverage."""
    drawn = list(frames(rng, spread, cover, fields, each))
    off = np.array([100 * (one.mean() - cover) for one in drawn])
    told = [np.array([way(one) for one in drawn]) for way in (cover_se, plain_se)]
    made = [(np.sqrt((one**2).mean()), (abs(off) <= 2 * one).mean()) for one in told]
    return np.sqrt((off**2).mean()), *made


class TestKnownStructure:
    def test_cells_that_lie_by_chance(self):
        true, blocks, plain = judged(np.random.default_rng(1), 0, 0.4, fields=10, each=40)
        assert blocks[0] == pytest.approx(100 * (0.4 * 0.6 / 19200) ** 0.5, rel=0.05)
        assert plain[0] == pytest.approx(blocks[0], rel=0.05)
        # 400 frames: the share of 0.95 has a standard error of 0.011.
        assert blocks[1] > 0.90
        assert true == pytest.approx(blocks[0], rel=0.12)

    @pytest.mark.parametrize(("cover", "least"), [(0.5, 0.88), (0.8, 0.86)])
    def test_patches_make_single_cells_far_too_sure(self, cover, least):
        """Patches of some 3 % of the frame: blocks cover, single cells do not."""
        true, blocks, plain = judged(np.random.default_rng(2), 0.03, cover)
        # 480 frames, 8 of one field: a spread known to about 5 %.
        assert blocks[0] == pytest.approx(true, rel=0.15)
        assert blocks[1] > least
        assert plain[0] < 0.5 * true
        assert plain[1] < 0.6

    def test_patches_as_large_as_a_quarter_of_the_frame_are_seen_in_part(self):
        """It errs to one side only, as its words say: two frames differ by this much or more."""
        true, blocks, plain = judged(np.random.default_rng(3), 0.12, 0.5)
        assert 0.4 * true < blocks[0] < 0.8 * true
        assert plain[0] < 0.15 * true


def test_is_what_drawing_blocks_at_random_comes_to():
    rng = np.random.default_rng(4)
    share = next(frames(rng, 0.03, 0.5, 1, 1))
    cells = pooled(share, SPREAD_CELLS)
    assert cells.shape == (18, 24)
    high, wide = (side // BLOCKS_ALONG for side in cells.shape)
    draws, blocks = 4000, BLOCKS_ALONG**2
    tops = rng.integers(0, cells.shape[0] - high + 1, (draws, blocks))
    lefts = rng.integers(0, cells.shape[1] - wide + 1, (draws, blocks))
    windows = np.lib.stride_tricks.sliding_window_view(cells, (high, wide)).mean(axis=(2, 3))
    means = windows[tops, lefts].mean(axis=1)
    # Around the photo's own cover; 1 - 1/9 for blocks that lie in the photo itself. 4000 draws
    # know a spread to 1.1 %; the middle of the blocks' means lies a little off the photo's.
    drawn = 100 * np.sqrt(((means - windows.mean()) ** 2).mean() / (1 - 1 / blocks))
    off = 100 * (windows.mean() - cells.mean())
    by_draws = np.sqrt(drawn**2 + off**2 / (blocks - 1))
    assert cover_se(share) == pytest.approx(by_draws, rel=0.04)


class TestPhoto:
    def test_even_turf_is_sure(self):
        assert cover_se(np.full(FRAME, 0.5)) == pytest.approx(0, abs=1e-9)
        assert cover_se(np.ones(FRAME)) == 0

    def test_too_few_cells_tell_nothing(self):
        share = np.full(FRAME, np.nan)
        share[:20, :40] = np.eye(20, 40)
        assert np.isfinite(pooled(share, SPREAD_CELLS)).sum() < FEWEST_CELLS
        assert cover_se(share) is None
        assert cover_se(np.ones((1, 30))) is None

    def test_how_the_camera_was_held_changes_nothing(self):
        share = next(frames(np.random.default_rng(5), 0.03, 0.5, 1, 1))
        told = cover_se(share)
        for held in (share.T, share[::-1], np.rot90(share)):
            assert cover_se(held) == pytest.approx(told, rel=1e-9)

    def test_only_the_region_counts(self):
        rng = np.random.default_rng(6)
        whole = [cover_se(one) for one in frames(rng, 0.015, 0.5, 6, 10)]
        rng = np.random.default_rng(6)
        half = []
        for one in frames(rng, 0.015, 0.5, 6, 10):
            one[:, 80:] = np.nan
            half.append(cover_se(one))
        # Half of the turf: the error of a mean grows by the root of 2.
        assert np.mean(half) == pytest.approx(2**0.5 * np.mean(whole), rel=0.12)

    @pytest.mark.parametrize("factor", [2, 3])
    def test_does_not_follow_the_resolution(self, tmp_path, sharp_turf, factor):
        sharp_turf.save(tmp_path / "small.png")
        size = [side * factor for side in sharp_turf.size]
        sharp_turf.resize(size, Image.Resampling.NEAREST).save(tmp_path / "large.png")
        small, large = (score_photo(tmp_path / f"{name}.png") for name in ("small", "large"))
        assert large.cover_se == pytest.approx(small.cover_se, rel=1e-9)
        assert 0.5 < small.cover_se < 10
