import numpy as np
import pandas as pd
import pytest
from PIL import Image

from wintersward.errors import Problem, WinterswardError
from wintersward.photos import work
from wintersward.photos.batch import COLUMNS, score_photos
from wintersward.photos.colour import GreenWindow
from wintersward.photos.scoring import score_file, score_photo


def striped(path, green_rows):
    pixels = np.full((100, 120, 3), (98, 78, 58), dtype=np.uint8)
    pixels[:green_rows] = (60, 90, 40)
    pixels += np.random.default_rng(green_rows).integers(0, 6, (100, 120, 1), dtype=np.uint8)
    Image.fromarray(pixels).save(path)
    return path


@pytest.fixture
def pile(tmp_path):
    """Three photos and two files that are none, in no order."""
    good = [striped(tmp_path / f"plot_{rows}.png", rows) for rows in (70, 20, 0)]
    (tmp_path / "notes.jpg").write_text("plot 101 was wet")
    return [good[0], tmp_path / "notes.jpg", good[1], tmp_path / "lost.jpg", good[2]]


def test_one_row_a_photo_in_the_given_order(pile):
    scores, problems = score_photos(pile)
    assert list(scores.columns) == list(COLUMNS)
    assert scores["path"].tolist() == [path.as_posix() for path in pile]
    np.testing.assert_array_equal(scores["cover"], [70, np.nan, 20, np.nan, 0])
    assert scores["pixels"].tolist() == [12000, pd.NA, 12000, pd.NA, 12000]
    assert scores["error"].eq("").tolist() == [True, False, True, False, True]
    assert scores["sha256"].isna().tolist() == [False, True, False, True, False]
    assert pd.isna(scores["colour_index"].iloc[4])
    assert "colour not given: 0 green pixels" in scores["flags"].iloc[4]
    assert all(isinstance(problem, Problem) for problem in problems)
    assert [problem.path for problem in problems] == [pile[3].as_posix(), pile[1].as_posix()]
    assert [problem.found for problem in problems] == ["no such file", "a file that is no photo"]
    assert scores["error"].iloc[1] == str(problems[1])


def test_rows_are_what_one_photo_scores(pile):
    scores, _ = score_photos(pile[:1], GreenWindow(hue=(60, 170)))
    alone = score_photo(pile[0], GreenWindow(hue=(60, 170)))
    row = scores.iloc[0]
    numbers = [name for name in COLUMNS if name not in ("path", "taken", "flags", "error")]
    assert len(numbers) == 14
    for name in numbers:
        assert row[name] == getattr(alone, name)
    assert row["flags"] == "; ".join(alone.flags)


def test_progress_is_told_of_every_file(pile, tmp_path):
    told = []
    score_photos(pile, progress=lambda *numbers: told.append(numbers))
    assert [numbers[:2] for numbers in told] == [(done, 5) for done in (1, 2, 3, 4, 5)]
    left = [numbers[2] for numbers in told]
    assert all(seconds > 0 for seconds in left[:-1])
    assert left[-1] == 0
    score_photos(pile, cache=tmp_path / "kept")
    told.clear()
    score_photos(pile[:1], cache=tmp_path / "kept", progress=lambda *numbers: told.append(numbers))
    assert told == [(1, 1, 0.0)]


def test_no_files_tell_no_progress():
    score_photos([], progress=lambda *_: pytest.fail("told of nothing"))


def test_no_photos_give_an_empty_table():
    scores, problems = score_photos([])
    assert list(scores.columns) == list(COLUMNS)
    assert scores.empty
    assert problems == []


def test_same_picture_twice_is_flagged_on_both_rows(tmp_path):
    first = striped(tmp_path / "101.png", 40)
    other = striped(tmp_path / "102.png", 41)
    copy = tmp_path / "103.png"
    copy.write_bytes(first.read_bytes())
    scores, problems = score_photos([first, other, copy])
    flags = scores["flags"].tolist()
    assert f"same picture as {copy.as_posix()}" in flags[0]
    assert "same picture" not in flags[1]
    assert f"same picture as {first.as_posix()}" in flags[2]
    assert problems == []


class TestCache:
    @pytest.fixture
    def scored(self, monkeypatch):
        """Paths that were really scored, not found."""
        paths = []

        def counted(path, *rest):
            score = score_file(path, *rest)
            paths.append(path)
            return score

        monkeypatch.setattr(work, "score_file", counted)
        return paths

    def test_second_time_is_found_and_the_same(self, pile, tmp_path, scored):
        cold, problems = score_photos(pile, cache=tmp_path / "kept")
        assert len(scored) == 3
        warm, again = score_photos(pile, cache=tmp_path / "kept")
        assert len(scored) == 3
        pd.testing.assert_frame_equal(cold, warm, check_exact=True)
        assert problems == again
        bare, _ = score_photos(pile)
        pd.testing.assert_frame_equal(cold, bare, check_exact=True)

    def test_content_counts_not_the_name(self, pile, tmp_path, scored):
        score_photos(pile[:1], cache=tmp_path / "kept")
        moved = tmp_path / "renamed.png"
        pile[0].rename(moved)
        scores, _ = score_photos([moved], cache=tmp_path / "kept")
        assert len(scored) == 1
        assert scores["path"].tolist() == [moved.as_posix()]
        striped(moved, 55)
        scores, _ = score_photos([moved], cache=tmp_path / "kept")
        assert scores["cover"].tolist() == [55]

    def test_other_window_or_region_is_scored_anew(self, pile, tmp_path, scored):
        score_photos(pile[:1], cache=tmp_path / "kept")
        score_photos(pile[:1], GreenWindow(hue=(60, 170)), cache=tmp_path / "kept")
        top, _ = score_photos(pile[:1], cache=tmp_path / "kept", region=(0, 0, 1, 0.5))
        assert len(scored) == 3
        assert top["cover"].tolist() == [100]

    def test_damaged_entry_is_scored_anew_and_mended(self, pile, tmp_path, scored):
        kept = tmp_path / "kept"
        good, _ = score_photos(pile, cache=kept)
        for entry in kept.iterdir():
            assert len(entry.read_bytes()) > 40
            entry.write_bytes(entry.read_bytes()[:40])
        again, _ = score_photos(pile, cache=kept)
        assert len(scored) == 6
        pd.testing.assert_frame_equal(good, again, check_exact=True)
        score_photos(pile, cache=kept)
        assert len(scored) == 6


def test_bad_region_stops_at_once(pile):
    with pytest.raises(WinterswardError, match="the region is"):
        score_photos(pile[:1], region=(1, 0, 0, 1))
