import hashlib
import importlib.util
import io
import sys
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest
from PIL import ExifTags, Image

from wintersward.photos.colour import green_mask
from wintersward.photos.scoring import score_photo

PAINTER = Path(__file__).parents[2] / "example_study" / "turf_painter.py"
NOON = datetime(2026, 3, 10, 12, 0, 5)


@pytest.fixture(scope="module")
def painter():
    spec = importlib.util.spec_from_file_location("turf_painter", PAINTER)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def paint(painter, cover, seed=1, **options):
    return painter.paint_turf(cover, np.random.default_rng(seed), **options)


@pytest.mark.parametrize("cover", [0, 0.5, 10, 33.3, 50, 80, 95, 99.5, 100])
@pytest.mark.parametrize("patchiness", [0.0, 1.0])
def test_cover_wanted_is_cover_painted(painter, cover, patchiness):
    _, true = paint(painter, cover, size=(320, 240), patchiness=patchiness)
    assert true == pytest.approx(cover, abs=0.5)


def test_true_cover_is_what_was_painted_before_the_light(painter, monkeypatch):
    """Paint with pure colours and no camera: the green that comes out is the cover told."""
    monkeypatch.setattr(painter, "_LEAVES", np.array([[0, 200, 0]] * 6, dtype=np.uint8))
    for name in ("_LEAF_TIP", "_LEAF_BASE"):
        monkeypatch.setattr(painter, name, np.array([0, 200, 0], dtype=np.float32))
    scenes = []

    def no_camera(rng, scene, blur, drift):
        scenes.append(scene)
        return Image.fromarray(np.clip(scene, 0, 255).astype(np.uint8))

    monkeypatch.setattr(painter, "_photograph", no_camera)
    image, true = paint(painter, 55, holes=(100, 38))
    pure = (scenes[0][..., 0] == 0) & (scenes[0][..., 1] > 0)
    assert 100 * pure.mean() == true
    assert 100 * green_mask(np.asarray(image)).mean() == pytest.approx(true, abs=0.1)


def test_same_seed_same_bytes_other_seed_other_picture(painter, tmp_path):
    digests = []
    for seed in (7, 7, 8):
        path = tmp_path / "photo.jpg"
        image, _ = paint(painter, 60, seed)
        painter.save_photo(image, path, NOON)
        digests.append(hashlib.sha256(path.read_bytes()).hexdigest())
    assert digests[0] == digests[1] != digests[2]


def test_vigour_darkens_the_green(painter, tmp_path):
    indices = []
    for vigour in (0.0, 0.5, 1.0):
        path = tmp_path / "photo.png"
        paint(painter, 90, vigour=vigour, drift=0.0)[0].save(path)
        indices.append(score_photo(path).colour_index)
    assert indices == sorted(indices)
    assert indices[2] - indices[0] > 0.1


def test_patchiness_clumps_the_green(painter):
    def spread(patchiness):
        """Deviation of the green between tiles of 80 px."""
        masks = [
            green_mask(np.asarray(paint(painter, 50, seed, patchiness=patchiness)[0]))
            for seed in range(3)
        ]
        return np.mean([m.reshape(6, 80, 8, 80).mean(axis=(1, 3)).std() for m in masks])

    assert spread(1.0) > 1.3 * spread(0.0)


def test_holes_are_dark_and_limit_the_cover(painter):
    image, true = paint(painter, 100, holes=(100, 40), drift=0.0)
    plain, _ = paint(painter, 100, drift=0.0)
    # One hole of 40 px across on every 100 px square: pi / 4 x 0.4 x 0.4 = 12.6 %.
    assert true == pytest.approx(100 - 12.6, abs=2.5)
    dark, usual = (100 * (np.asarray(i).max(axis=-1) < 45).mean() for i in (image, plain))
    assert dark - usual > 8


def test_blur_softens_and_is_flagged(painter, tmp_path):
    path = tmp_path / "photo.jpg"
    painter.save_photo(paint(painter, 60, blur=4.0)[0], path, NOON)
    assert any(flag.startswith("blurred") for flag in score_photo(path).flags)


def test_drift_wanders_and_can_be_locked(painter):
    def brightness(drift):
        means = [np.asarray(paint(painter, 60, seed, drift=drift)[0]).mean() for seed in range(4)]
        return float(np.std(means) / np.mean(means))

    assert brightness(1.0) > 1.3 * brightness(0.0)


def test_other_sizes(painter):
    image, true = paint(painter, 40, size=(200, 150))
    assert image.size == (200, 150)
    assert image.mode == "RGB"
    assert true == pytest.approx(40, abs=0.5)


@pytest.mark.parametrize(
    "wrong",
    [{"cover": -1}, {"cover": 101}, {"vigour": 2}, {"patchiness": -0.1}, {"size": (20, 20)}],
)
def test_numbers_out_of_range_are_refused(painter, wrong):
    with pytest.raises(ValueError, match="0 to 100"):
        paint(painter, **{"cover": 50, **wrong})


@pytest.mark.parametrize("orientation", range(1, 9))
def test_saved_photo_is_upright_when_the_orientation_is_honoured(painter, tmp_path, orientation):
    image, _ = paint(painter, 40, size=(160, 120))
    path = tmp_path / "photo.jpg"
    painter.save_photo(image, path, NOON, orientation, quality=95)
    with Image.open(path) as stored:
        exif = stored.getexif()
        assert exif[ExifTags.Base.Orientation] == orientation
        camera = exif.get_ifd(ExifTags.IFD.Exif)
        assert camera[ExifTags.Base.DateTimeOriginal] == "2026:03:10 12:00:05"
        assert ExifTags.Base.OffsetTimeOriginal not in camera
        assert stored.size == ((120, 160) if orientation >= 5 else (160, 120))
    from PIL import ImageOps

    with Image.open(path) as stored:
        upright = np.asarray(ImageOps.exif_transpose(stored), dtype=float)
    assert np.abs(upright - np.asarray(image, dtype=float)).mean() < 6


@pytest.mark.parametrize(
    ("zone", "offset"), [(UTC, "+00:00"), (timezone(timedelta(hours=-4, minutes=-30)), "-04:30")]
)
def test_offset_from_utc_is_written(painter, tmp_path, zone, offset):
    path = tmp_path / "photo.jpg"
    painter.save_photo(Image.new("RGB", (64, 64), (60, 90, 40)), path, NOON.replace(tzinfo=zone))
    assert score_photo(path).taken == f"2026-03-10T12:00:05{offset}"


def test_impossible_orientation_is_refused(painter):
    with pytest.raises(ValueError, match="1 to 8"):
        painter.save_photo(Image.new("RGB", (64, 64)), io.BytesIO(), NOON, 9)


def test_a_season_of_photos_stays_small(painter, tmp_path):
    """216 photos of 640 by 480 are to stay under 20 MB: 92 kB each at most on average."""
    sizes = []
    for cover in (30, 60, 90):
        path = tmp_path / "photo.jpg"
        painter.save_photo(paint(painter, cover)[0], path, NOON)
        sizes.append(path.stat().st_size)
    assert np.mean(sizes) < 92_000
