"""Painted photographs of known cover, from easy to hard, and exposed otherwise."""

from datetime import datetime

import numpy as np
import pytest
from PIL import Image

from wintersward.photos.scoring import score_photo

COVERS = (3, 20, 40, 60, 80, 97)
GRADES = {
    "even light, dark leaves": {"vigour": 0.8, "patchiness": 0.0, "drift": 0.0},
    "as usual": {"vigour": 0.5, "patchiness": 0.5},
    "clumped, yellowish": {"vigour": 0.25, "patchiness": 1.0},
    "soft, with open holes": {"vigour": 0.4, "patchiness": 0.7, "blur": 0.8, "holes": (102, 25)},
}


def exposed(image, stops):
    """Light by so many stops more or less; stored numbers follow it to the power 1 / 2.2."""
    pixels = np.asarray(image, dtype=np.float32) * 2 ** (stops / 2.2)
    return Image.fromarray(np.clip(pixels + 0.5, 0, 255).astype(np.uint8))


@pytest.fixture(scope="module")
def errors(painter, tmp_path_factory):
    """Score less truth [points] by grade, exposure and cover, saved as a camera saves."""
    folder, found = tmp_path_factory.mktemp("painted"), {}
    for number, (grade, options) in enumerate(GRADES.items()):
        for cover in COVERS:
            rng = np.random.default_rng([2026, number, cover])
            image, true = painter.paint_turf(cover, rng, (480, 360), **options)
            for stops in (-0.7, 0.0, 0.7):
                path = folder / "photo.jpg"
                painter.save_photo(exposed(image, stops), path, datetime(2026, 3, 10, 9))
                found[grade, stops, cover] = score_photo(path).cover - true
    return found


@pytest.mark.parametrize("stops", [-0.7, 0.0, 0.7])
def test_cover_is_met_within_two_points_on_average(errors, stops):
    missed = [abs(errors[grade, stops, cover]) for grade in GRADES for cover in COVERS]
    assert np.mean(missed) <= 2


@pytest.mark.parametrize("grade", GRADES)
def test_no_grade_is_much_worse_than_the_others(errors, grade):
    """Dark leaves come out 2.2 points too many: a camera's JPEG spreads their colour a little."""
    missed = [abs(errors[grade, stops, cover]) for stops in (-0.7, 0.0, 0.7) for cover in COVERS]
    assert np.mean(missed) <= 2.5
    assert max(missed) <= 6


def test_exposure_moves_the_cover_little(errors):
    moved = [
        errors[grade, 0.7, cover] - errors[grade, -0.7, cover]
        for grade in GRADES
        for cover in COVERS
    ]
    assert np.mean(np.abs(moved)) <= 2
