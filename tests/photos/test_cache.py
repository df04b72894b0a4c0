import json

import pytest

from wintersward.errors import WinterswardError
from wintersward.photos import cache as cache_module
from wintersward.photos import keeping
from wintersward.photos.cache import ScoreCache
from wintersward.photos.colour import GREEN, GreenWindow
from wintersward.photos.scoring import PhotoScore

SCORE = PhotoScore(
    cover=62.123456789012345,
    cover_se=2.0123456789012345,
    colour_index=0.4,
    colour_index_sd=0.051234567890123456,
    hue=75.5,
    saturation=0.45,
    brightness=0.37,
    patchiness=23.4,
    largest_bare_patch=17.25,
    clipped=0.0123,
    pixels=307200,
    green_pixels=190843,
    flags=("blurred: 0.07, limit 0.15",),
    sha256="ab" * 32,
    taken="2026-03-10T09:00:00",
    camera="Some Maker Model 3",
    exposure=12.37,
    white_balance="automatic",
    likeness="0f" * 32,
)
BARE = PhotoScore(
    cover=0.0,
    cover_se=None,
    colour_index=None,
    colour_index_sd=None,
    hue=None,
    saturation=None,
    brightness=None,
    patchiness=None,
    largest_bare_patch=100.0,
    clipped=0.0,
    pixels=100,
    green_pixels=0,
    flags=(),
    sha256="cd" * 32,
    taken=None,
    camera="",
    exposure=None,
    white_balance="",
    likeness="",
)


@pytest.mark.parametrize("score", [SCORE, BARE])
def test_comes_back_to_the_last_digit(tmp_path, score):
    kept = ScoreCache(tmp_path / "a" / "b", GREEN)
    assert kept.get(score.sha256) is None
    kept.put(score)
    assert kept.get(score.sha256) == score
    assert [path.name for path in (tmp_path / "a" / "b").iterdir()] == [
        kept.path(score.sha256).name
    ]


def test_every_way_of_scoring_has_its_own_entry(tmp_path, monkeypatch):
    ScoreCache(tmp_path, GREEN).put(SCORE)
    others = [
        ScoreCache(tmp_path, GreenWindow(hue=(55, 170))),
        ScoreCache(tmp_path, GREEN, (0, 0, 1, 0.5)),
        ScoreCache(tmp_path, GREEN, ((0, 0), (1, 0), (1, 0.5))),
    ]
    monkeypatch.setattr(cache_module, "SCORING_VERSION", 999)
    others.append(ScoreCache(tmp_path, GREEN))
    monkeypatch.undo()
    monkeypatch.setattr("PIL.__version__", "0.0")
    others.append(ScoreCache(tmp_path, GREEN))
    assert [other.get(SCORE.sha256) for other in others] == [None] * 5


DAMAGES = {
    "empty": lambda text: "",
    "cut short": lambda text: text[: len(text) // 2],
    "not an object": lambda text: "[1, 2]",
    "other digit": lambda text: text.replace("62.1", "63.1"),
    "field gone": lambda text: json.dumps({**json.loads(text), "score": {"sha256": SCORE.sha256}}),
    "no check": lambda text: json.dumps({"score": json.loads(text)["score"]}),
    "of another photo": lambda text: text.replace("ab" * 32, "ef" * 32),
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_damaged_entry_is_not_used(tmp_path, damage):
    kept = ScoreCache(tmp_path, GREEN)
    kept.put(SCORE)
    path = kept.path(SCORE.sha256)
    text = path.read_text(encoding="utf-8")
    path.write_text(DAMAGES[damage](text), encoding="utf-8")
    assert path.read_text(encoding="utf-8") != text
    assert kept.get(SCORE.sha256) is None


def test_bytes_that_are_no_text_are_not_used(tmp_path):
    kept = ScoreCache(tmp_path, GREEN)
    kept.path(SCORE.sha256).write_bytes(b"\xff\xfe\x00")
    assert kept.get(SCORE.sha256) is None


def test_failed_write_leaves_nothing_behind(tmp_path, monkeypatch):
    kept = ScoreCache(tmp_path, GREEN)

    def no_room(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(keeping.os, "replace", no_room)
    with pytest.raises(WinterswardError, match="scores cannot be kept here"):
        kept.put(SCORE)
    assert list(tmp_path.iterdir()) == []


def test_folder_that_cannot_be_made_is_said(tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(WinterswardError, match="scores cannot be kept here"):
        ScoreCache(tmp_path / "file", GREEN)
