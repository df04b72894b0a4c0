"""Piles as they come from the field: damaged files among good ones, workers, interruptions."""

import io

import numpy as np
import pandas as pd
import pytest
from PIL import Image

from photos.test_decoding import NOT_PHOTOS, bomb, stored
from wintersward.errors import WinterswardError
from wintersward.photos import work
from wintersward.photos.batch import score_photos
from wintersward.photos.scoring import score_file

KINDS = {"JPEG": "jpg", "PNG": "png", "TIFF": "tif"}


def turf(seed, size=(64, 48)):
    """A little picture of leaf and soil."""
    rng = np.random.default_rng(seed)
    pixels = np.where(rng.random((size[1], size[0], 1)) < 0.5, (60, 90, 40), (98, 78, 58))
    return Image.fromarray((pixels + rng.integers(0, 9, pixels.shape)).astype(np.uint8))


def damaged_files(folder):
    """Write some two hundred files that are damaged, no photos, or strange but whole."""
    rng = np.random.default_rng(12)
    contents = {name.replace(" ", "_"): content for name, (content, _) in NOT_PHOTOS.items()}
    for kind in KINDS:
        whole = stored(turf(1), kind)
        for number, share in enumerate(np.linspace(0, 0.97, 20)):
            contents[f"{kind}_cut_{number}"] = whole[: int(share * len(whole))]
        for number in range(20):
            changed = bytearray(whole)
            for place in rng.integers(0, len(changed), 5):
                changed[place] = rng.integers(0, 256)
            contents[f"{kind}_scrambled_{number}"] = bytes(changed)
        for number in range(5):
            start = int(len(whole) * (number + 1) / 6)
            contents[f"{kind}_zeros_{number}"] = whole[:start] + bytes(len(whole) - start)
        contents[f"{kind}_behind_text"] = b"photo:\n" + whole
        contents[f"{kind}_twice"] = whole + whole
        for other in KINDS:
            contents[f"{kind}_named_{other}.{KINDS[other]}"] = whole
    for number in range(25):
        contents[f"random_{number}"] = rng.bytes(int(rng.integers(1, 3000)))
    for side in (1, 2, 3, 7):
        contents[f"tiny_{side}.png"] = stored(turf(side, (side, side)), "PNG")
    contents["line.png"] = stored(turf(1, (300, 1)), "PNG")
    contents["huge.png"] = bomb(60_000, 60_000)
    paths = []
    for name, content in contents.items():
        paths.append(folder / (name if "." in name else f"{name}.jpg"))
        paths[-1].write_bytes(content)
    return paths


def test_two_hundred_damaged_files_get_one_line_each_and_the_rest_goes_on(tmp_path):
    bad = damaged_files(tmp_path)
    assert len(bad) >= 200
    good = []
    for number in range(3):
        good.append(tmp_path / f"good_{number}.jpg")
        turf(100 + number, (640, 480)).save(good[-1], quality=90)
    pile = [good[0], *bad[:100], good[1], *bad[100:], good[2]]
    scores, problems = score_photos(pile)
    assert scores["path"].tolist() == [path.as_posix() for path in pile]
    refused = scores[scores["error"] != ""]
    assert len(refused) >= 100
    assert sorted(problem.path for problem in problems) == sorted(refused["path"])
    lines = [str(problem) for problem in problems]
    assert sorted(lines) == sorted(refused["error"])
    for problem, line in zip(problems, lines, strict=True):
        assert line.count("\n") == 0
        assert problem.found
        assert problem.allowed
        assert problem.hint
    assert refused["cover"].isna().all()
    scored = scores[scores["error"] == ""]
    assert scored["cover"].between(0, 100).all()
    alone, _ = score_photos(good)
    numbers = ["cover", "colour_index", "colour_index_sd", "patchiness", "pixels"]
    among = scores[scores["path"].isin(path.as_posix() for path in good)]
    pd.testing.assert_frame_equal(among[numbers].reset_index(drop=True), alone[numbers])


@pytest.fixture
def photos(tmp_path):
    paths = []
    for number in range(6):
        paths.append(tmp_path / f"{number}.jpg")
        turf(number, (640, 480)).save(paths[-1], quality=90)
    (tmp_path / "notes.jpg").write_text("no photo")
    return [*paths[:4], tmp_path / "notes.jpg", *paths[4:]]


def test_workers_give_what_one_process_gives(photos, tmp_path):
    alone, problems = score_photos(photos, workers=1)
    told = []
    shared, same_problems = score_photos(
        photos, cache=tmp_path / "kept", workers=2, progress=lambda *numbers: told.append(numbers)
    )
    pd.testing.assert_frame_equal(alone, shared, check_exact=True)
    assert problems == same_problems
    assert [numbers[:2] for numbers in told] == [(done + 1, 7) for done in range(7)]
    assert len(list((tmp_path / "kept").glob("*-*.json"))) == 6


def test_workers_tell_a_region_that_holds_nothing(photos):
    with pytest.raises(WinterswardError, match="holds no pixel") as caught:
        score_photos(photos, region=((0, 0), (0.0001, 0), (0, 0.0001)), workers=2)
    assert len(caught.value.problems) == 1


def test_an_interruption_loses_only_the_photo_in_hand(photos, tmp_path, monkeypatch):
    scored = []

    def stopped(path, *rest):
        if len(scored) == 3:
            raise KeyboardInterrupt
        scored.append(path)
        return score_file(path, *rest)

    monkeypatch.setattr(work, "score_file", stopped)
    with pytest.raises(KeyboardInterrupt):
        score_photos(photos, cache=tmp_path / "kept")
    monkeypatch.undo()
    again = []

    def counted(path, *rest):
        again.append(path)
        return score_file(path, *rest)

    monkeypatch.setattr(work, "score_file", counted)
    scores, _ = score_photos(photos, cache=tmp_path / "kept")
    assert scored == photos[:3]
    assert again == [photos[3], *photos[4:]]
    assert scores["cover"].notna().sum() == 6


def test_a_photo_is_hashed_once(photos, tmp_path, monkeypatch):
    hashed = []
    real = work.file_hash

    def counted(path):
        hashed.append(path)
        return real(path)

    monkeypatch.setattr(work, "file_hash", counted)
    monkeypatch.setattr("wintersward.photos.hashes._SETTLED_NS", -(10**18))
    score_photos(photos, cache=tmp_path / "kept")
    assert hashed == photos
    # A file that is no photo is looked at anew; the others are known by what the system tells.
    score_photos(photos, cache=tmp_path / "kept")
    assert hashed[len(photos) :] == [photos[4]]


def test_days_of_visits_are_given_or_read_from_folders(tmp_path):
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2026:03:10 09:00:00"
    path = tmp_path / "2026-03-10" / "101.jpg"
    path.parent.mkdir()
    memory = io.BytesIO()
    turf(1, (640, 480)).save(memory, "JPEG", exif=exif)
    path.write_bytes(memory.getvalue())
    told, _ = score_photos([path])
    assert "day:" not in told["flags"].iloc[0]
    day = pd.Timestamp("2026-03-24").date()
    given, _ = score_photos([path], dates=[day])
    assert "day: taken on 2026-03-10, the visit was on 2026-03-24" in given["flags"].iloc[0]
