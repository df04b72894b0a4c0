"""The point count: which photos, where the crosses lie, what the pictures and the sheet hold."""

from __future__ import annotations

import io
from collections import Counter

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from papers.trial_papers import opened
from wintersward.papers.point_counts import (
    PHOTOS,
    Chosen,
    choose,
    count_book,
    crossed,
    crosses,
    key_table,
)
from wintersward.papers.workbooks import REMARKS
from wintersward.trial import Definition

SEEDS = st.integers(0, 2**31)


def photos(dates: int = 6, plots: int = 36) -> pd.DataFrame:
    days = pd.date_range("2026-01-15", periods=dates, freq="14D")
    rows = [
        (day, f"{101 + at}", 1, f"photos/{day.date()}/{101 + at}_1.jpg")
        for day in days
        for at in range(plots)
    ]
    return pd.DataFrame(rows, columns=["date", "plot", "sample", "path"])


class TestChoosing:
    def test_every_date_has_its_share(self) -> None:
        chosen = choose(photos(), 42)
        assert [one.number for one in chosen] == list(range(1, PHOTOS + 1))
        assert len({one.photo for one in chosen}) == PHOTOS
        assert len({one.seed for one in chosen}) == PHOTOS
        dates = Counter(one.photo.split("/")[1] for one in chosen)
        assert set(dates.values()) == {PHOTOS // 6}

    def test_numbers_tell_no_date(self) -> None:
        first = [choose(photos(), seed)[0].photo.split("/")[1] for seed in range(60)]
        assert len(set(first)) == 6

    def test_the_same_seed_draws_the_same(self) -> None:
        assert choose(photos(), 7) == choose(photos().iloc[::-1], 7)
        assert choose(photos(), 7) != choose(photos(), 8)

    def test_each_photo_has_the_same_chance(self) -> None:
        index, draws = photos(dates=3, plots=5), 3000
        seen = Counter(one.photo for seed in range(draws) for one in choose(index, seed, many=4))
        expected = draws * 4 / 15
        assert len(seen) == 15
        chi2 = sum((count - expected) ** 2 / expected for count in seen.values())
        assert chi2 < 36.1  # 99.9 % of chi-square with 14 degrees of freedom (from memory)

    @pytest.mark.parametrize("many", [0, 3, 4])
    def test_fewer_than_wanted(self, many: int) -> None:
        index = photos().iloc[:many]
        assert {one.photo for one in choose(index, 1)} == set(index["path"])


class TestCrosses:
    @given(seed=SEEDS)
    def test_one_in_each_cell_row_by_row(self, seed: int) -> None:
        at = crosses(seed)
        assert at.shape == (100, 2)
        assert ((at >= 0) & (at < 1)).all()
        cells = np.floor(at * 10).astype(int)
        assert cells.tolist() == [[across, down] for down in range(10) for across in range(10)]

    def test_they_fall_anywhere_in_their_cell(self) -> None:
        within = np.concatenate([crosses(seed) * 10 % 1 for seed in range(200)])
        for axis in (0, 1):
            share = np.histogram(within[:, axis], bins=10, range=(0, 1))[0] / len(within)
            assert share == pytest.approx(np.full(10, 0.1), abs=0.01)
        assert abs(np.corrcoef(within.T)[0, 1]) < 0.03

    def test_the_share_on_green_is_the_cover_within_the_binomial_spread(self) -> None:
        """Cover in clumps and as a slope, of known truth: no bias, at most binomial variance."""
        rows, columns = np.mgrid[0:300, 0:400]
        rng = np.random.default_rng(3)
        clumps = np.sin(columns / 23) + np.cos(rows / 17) + rng.normal(0, 0.6, rows.shape) > 0.2
        slope = rng.random(rows.shape) < columns / 400
        for mask in (clumps, slope):
            truth, shares = mask.mean(), []
            for seed in range(1500):
                x, y = (crosses(seed) * (400, 300)).astype(int).T
                shares.append(mask[y, x].mean())
            binomial = truth * (1 - truth) / 100
            assert np.mean(shares) == pytest.approx(truth, abs=4 * np.sqrt(binomial / 1500))
            assert np.var(shares) < 1.05 * binomial
        # Where one side is green and the other bare, the grid helps much.
        assert np.var(shares) < 0.75 * binomial


class TestPictures:
    @settings(max_examples=10, deadline=None)
    @given(
        seed=SEEDS,
        size=st.tuples(st.integers(60, 900), st.integers(60, 900)),
        grey=st.sampled_from([0, 90, 255]),
    )
    def test_crosses_are_seen_on_any_ground_and_leave_their_point_free(
        self, seed: int, size: tuple[int, int], grey: int
    ) -> None:
        made = np.asarray(crossed(Image.new("RGB", size, (grey,) * 3), seed), dtype=int)
        factor = -(-1600 // max(size))
        assert made.shape == (size[1] * factor + 88, size[0] * factor + 88, 3)
        at = np.rint((np.floor(crosses(seed) * size) + 0.5) * factor + 44).astype(int)
        # Another cross may reach there; the frame never does.
        free = [made[y, x].tolist() == [grey] * 3 for x, y in at]
        assert np.mean(free) > 0.9
        for x, y in at:
            arm = made[y - 1 : y + 2, x + 6 : x + 16]
            assert (arm.max() - arm.min()) == 255

    def test_a_large_photo_is_shrunk_to_a_screen(self) -> None:
        made = crossed(Image.new("RGB", (4000, 3000), (60, 90, 50)), 5)
        assert made.size == (2400 + 88, 1800 + 88)

    def test_the_photo_itself_stays(self) -> None:
        image = Image.new("RGB", (640, 480), (60, 90, 50))
        crossed(image, 5)
        assert image.getcolors() == [(640 * 480, (60, 90, 50))]

    def test_nothing_of_what_a_camera_wrote_goes_along(self) -> None:
        stream = io.BytesIO()
        exif = Image.Exif()
        exif[306] = "2026:03-24 10:02:00"
        Image.new("RGB", (200, 100)).save(stream, "JPEG", exif=exif)
        made = crossed(Image.open(stream).convert("RGB"), 5)
        assert not made.info
        assert not made.getexif()


class TestSheet:
    def test_one_row_a_photo(self, definition: Definition) -> None:
        tab = opened(count_book(definition, 24, "letter")).worksheets[0]
        rows = list(tab.iter_rows(values_only=True))
        assert rows[0] == ("photo", "rater", "points", "green", "unsure", "note")
        assert [row[0] for row in rows[1:]] == list(range(1, 25))
        assert {row[2] for row in rows[1:]} == {100}
        assert {row[at] for row in rows[1:] for at in (1, 3, 4, 5)} == {None}
        assert tab["A2"].protection.locked
        assert not tab["D2"].protection.locked
        (green,) = (r for r in tab.data_validations.dataValidation if "D2" in str(r.sqref))
        assert (green.type, green.formula1, green.formula2) == ("whole", "0", "100")

    def test_it_names_no_treatment_plot_or_date(self, definition: Definition) -> None:
        book = opened(count_book(definition, 24, "letter"))
        text = " ".join(
            str(cell) for tab in book for row in tab.iter_rows(values_only=True) for cell in row
        )
        levels = [one.label for f in definition.treatments.values() for one in f.levels.values()]
        assert not any(label in text for label in levels)
        assert "2026-" not in text
        assert not any(word in text for word in ("101", "block"))

    def test_it_says_that_the_key_is_for_later(self, definition: Definition) -> None:
        book = opened(count_book(definition, 24, "letter"))
        told = [str(row[1]) for row in book[REMARKS].iter_rows(values_only=True)]
        assert any("Do not look into plan/papers/point_count/key.csv before" in one for one in told)
        assert any("photos/point_count.xlsx" in one for one in told)

    def test_the_same_sheet_is_the_same_file(self, definition: Definition) -> None:
        assert count_book(definition, 3, "a4") == count_book(definition, 3, "a4")


def test_the_key_is_a_plain_table() -> None:
    chosen = [Chosen(1, "photos/2026-03-24/101_1.jpg", 77), Chosen(2, "photos/a, b.jpg", 5)]
    assert key_table(chosen, ["ab" * 32, "cd" * 32]).decode() == (
        "number,photo,sha256,seed\n"
        f"1,photos/2026-03-24/101_1.jpg,{'ab' * 32},77\n"
        f'2,"photos/a, b.jpg",{"cd" * 32},5\n'
    )
