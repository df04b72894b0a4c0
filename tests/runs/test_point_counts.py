"""The point count of a study: written once, whole or not at all, and never written into again."""

from __future__ import annotations

import hashlib
import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from PIL import Image

from e2e.example import EXAMPLE
from wintersward.errors import WinterswardError
from wintersward.papers.point_counts import crossed
from wintersward.photos.decoding import open_photo
from wintersward.runs.point_counts import write_point_count
from wintersward.study import open_study

DATES = ("2026-01-15", "2026-03-10")


@pytest.fixture
def study(tmp_path: Path) -> Path:
    """The example with small photos of its first two dates."""
    folder = tmp_path / "our trial"
    folder.mkdir()
    shutil.copytree(EXAMPLE / "plan", folder / "plan", ignore=lambda *_: ["papers", "frozen"])
    shutil.copy(EXAMPLE / "trial.yaml", folder)
    for day in DATES:
        shoot(folder, day)
    return folder


def shoot(folder: Path, day: str) -> None:
    rng = np.random.default_rng(int(day.replace("-", "")))
    (folder / "photos" / day).mkdir(parents=True)
    exif = Image.Exif()
    exif[306] = f"{day.replace('-', ':')} 10:00:00"
    for plot in pd.read_csv(folder / "plan" / "plots.csv", dtype=str)["plot"]:
        pixels = rng.integers(0, 256, (48, 64, 3), dtype=np.uint8)
        path = folder / "photos" / day / f"{plot}_1.jpg"
        Image.fromarray(pixels).save(path, "JPEG", exif=exif)


def contents(folder: Path) -> dict[str, bytes]:
    place = folder / "plan" / "papers" / "point_count"
    return {path.name: path.read_bytes() for path in sorted(place.iterdir())}


def test_pictures_sheet_and_key_are_written(study: Path) -> None:
    said = write_point_count(study)
    assert said.startswith(
        "plan/papers/point_count: 24 photos with crosses to count on, drawn from 72 photos of two "
        "dates (planned are 216); fill in point_count.xlsx"
    )
    made = contents(study)
    pictures = [f"{number:02}.jpg" for number in range(1, 25)]
    assert list(made) == sorted([*pictures, "key.csv", "point_count.xlsx"])
    key = pd.read_csv(study / "plan/papers/point_count/key.csv")
    assert list(key) == ["number", "photo", "sha256", "seed"]
    for row in key.to_dict("records"):
        content = (study / row["photo"]).read_bytes()
        assert hashlib.sha256(content).hexdigest() == row["sha256"]
    # From the key alone the crosses can be drawn again.
    row = key.iloc[4]
    with Image.open(study / "plan/papers/point_count/05.jpg") as kept:
        assert not kept.getexif()
        assert not {"comment", "exif", "icc_profile"} & set(kept.info)
        shown = np.asarray(kept, dtype=float)
    again = crossed(open_photo(study / row["photo"]).image, int(row["seed"]))
    assert np.abs(shown - np.asarray(again, dtype=float)).mean() < 3
    assert not [path for path in (study / "plan" / "papers").iterdir() if path.name[0] == "."]


def test_names_tell_neither_date_nor_plot(study: Path) -> None:
    write_point_count(study)
    names = {name for name in contents(study) if name.endswith(".jpg")}
    plots = open_study(study).plots["plot"]
    assert not any(plot in name for plot in plots for name in names)


def test_the_same_photos_give_the_same_files(study: Path) -> None:
    write_point_count(study)
    before = contents(study)
    shutil.rmtree(study / "plan" / "papers")
    write_point_count(study)
    assert contents(study) == before


def test_what_is_there_is_never_written_into(study: Path) -> None:
    write_point_count(study)
    place = study / "plan" / "papers" / "point_count"
    (place / "01.jpg").unlink()
    (place / "point_count.xlsx").write_bytes(b"half filled in")
    before = contents(study)
    assert write_point_count(study) == "plan/papers/point_count: stays as it is"
    shoot(study, "2026-03-16")
    said = write_point_count(study)
    assert said.startswith("plan/papers/point_count: stays as it is; it shows 2 of the 3 dates")
    (study / "photos" / "point_count.xlsx").write_bytes(b"filled in")
    said = write_point_count(study)
    assert said.endswith("stays as it is; it is being counted in photos/point_count.xlsx")
    assert contents(study) == before


def test_an_empty_folder_is_no_point_count(study: Path) -> None:
    (study / "plan" / "papers" / "point_count").mkdir(parents=True)
    write_point_count(study)
    assert len(contents(study)) == 26


def test_it_waits_for_photos(study: Path) -> None:
    for path in sorted((study / "photos").rglob("*.jpg"))[23:]:
        path.unlink()
    said = write_point_count(study)
    assert said == (
        "plan/papers/point_count: not made yet; it is drawn from 24 photos or more, and there are "
        "23"
    )
    assert not (study / "plan" / "papers").exists()


def test_photos_that_are_wrong_are_told_by_check(study: Path) -> None:
    (study / "photos" / DATES[0] / "999_1.jpg").write_bytes(b"")
    said = write_point_count(study)
    assert "something is wrong with the photos; see " in said
    assert not (study / "plan" / "papers").exists()


def test_photos_that_cannot_be_opened_are_told_together(study: Path) -> None:
    for path in (study / "photos").rglob("*.jpg"):
        path.write_bytes(b"no photo")
    with pytest.raises(WinterswardError) as caught:
        write_point_count(study)
    assert len(caught.value.problems) == 24
    assert all(str(it).startswith("photos/2026-") for it in caught.value.problems)
    assert not list((study / "plan" / "papers").iterdir())


def test_a_trial_without_photos_has_none(study: Path) -> None:
    path = study / "trial.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("    from: photos\n", "    from: photos\n    score: colour_index\n")
        .replace("matters_from: 8 points", "matters_from: 1")
        .replace("level: 75 %", "level: 1")
        .replace("caught_up_within: 5 points", "caught_up_within: 1")
        .replace("sd: 4 points", "sd: 1"),
        encoding="utf-8",
    )
    assert write_point_count(study) == ""
