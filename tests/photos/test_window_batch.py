import numpy as np
import pytest

from photos.test_batch import striped
from wintersward.errors import WinterswardError
from wintersward.photos import window_batch
from wintersward.photos.colour import GREEN, GreenWindow
from wintersward.photos.window_batch import KeptCovers, pile_covers
from wintersward.photos.window_grid import covers_over, tally_over, window_grid

GRID = window_grid(GREEN)


@pytest.fixture
def pile(tmp_path):
    """Three photos and two files that are none, in no order."""
    good = [striped(tmp_path / f"plot_{rows}.png", rows) for rows in (70, 20, 0)]
    (tmp_path / "notes.jpg").write_text("plot 101 was wet")
    return [good[0], tmp_path / "notes.jpg", good[1], tmp_path / "lost.jpg", good[2]]


@pytest.fixture
def read(monkeypatch):
    """Paths that were really counted, not found."""
    paths = []

    def told(path, *rest):
        paths.append(path)
        return tally_over(path, *rest)

    monkeypatch.setattr(window_batch, "tally_over", told)
    return paths


def test_a_row_a_photo_in_the_given_order(pile):
    covers, problems = pile_covers(pile, GRID)
    assert covers.shape == (5, 100)
    assert np.isnan(covers).all(axis=1).tolist() == [False, True, False, True, False]
    for at in (0, 2, 4):
        assert covers[at].tolist() == covers_over(pile[at], GRID).tolist()
    assert [problem.path for problem in problems] == [pile[3].as_posix(), pile[1].as_posix()]
    assert [problem.found for problem in problems] == ["no such file", "a file that is no photo"]


def test_no_photos():
    covers, problems = pile_covers([], GRID)
    assert covers.shape == (0, 100)
    assert problems == []


def test_several_processes_count_the_same(pile, tmp_path):
    alone, _ = pile_covers(pile, GRID, workers=1)
    together, problems = pile_covers(pile, GRID, tmp_path / "kept", workers=2)
    np.testing.assert_array_equal(alone, together)
    assert len(problems) == 2


def test_the_second_time_nothing_is_read(pile, tmp_path, read):
    cold, _ = pile_covers(pile, GRID, tmp_path / "kept")
    read.clear()
    warm, problems = pile_covers(pile, GRID, tmp_path / "kept")
    assert read == [pile[1]]
    np.testing.assert_array_equal(cold, warm)
    assert len(problems) == 2


def test_content_grid_and_region_decide(pile, tmp_path, read):
    kept, photo = tmp_path / "kept", pile[:1]
    pile_covers(photo, GRID, kept)
    moved = pile[0].rename(tmp_path / "renamed.png")
    pile_covers([moved], GRID, kept)
    assert len(read) == 1
    pile_covers([moved], window_grid(GreenWindow((60, 170))), kept)
    top, _ = pile_covers([moved], GRID, kept, region=(0, 0, 1, 0.5))
    assert len(read) == 3
    assert top[0, 50] == 100
    striped(moved, 55)
    covers, _ = pile_covers([moved], GRID, kept)
    assert covers[0, 50] == 55


@pytest.mark.parametrize("spoil", [lambda text: text[:40], lambda text: text.replace("1", "2")])
def test_a_damaged_entry_is_counted_anew_and_mended(pile, tmp_path, read, spoil):
    kept = tmp_path / "kept"
    good, _ = pile_covers(pile[:1], GRID, kept)
    (entry,) = kept.glob("*.grid.json")
    entry.write_text(spoil(entry.read_text()))
    again, _ = pile_covers(pile[:1], GRID, kept)
    np.testing.assert_array_equal(good, again)
    pile_covers(pile[:1], GRID, kept)
    assert len(read) == 2


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(WinterswardError, match="covers cannot be kept here"):
        KeptCovers(tmp_path / "file", GRID)


def test_a_bad_region_stops_at_once(pile):
    with pytest.raises(WinterswardError, match="the region is"):
        pile_covers(pile[:1], GRID, region=(1, 0, 0, 1))
