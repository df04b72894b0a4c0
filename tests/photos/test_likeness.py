import numpy as np
import pytest
from PIL import Image, ImageEnhance

from wintersward.photos.likeness import LIKE_LIMIT, differing, likeness


def described(image):
    return likeness(np.asarray(image.convert("L"), dtype=np.float32))


def test_copies_are_told_from_other_turf(painter, tmp_path):
    pictures = [painter.paint_turf(50, np.random.default_rng(seed))[0] for seed in range(6)]
    told = [described(picture) for picture in pictures]
    assert all(len(text) == 64 for text in told)
    others = [differing(a, b) for i, a in enumerate(told) for b in told[:i]]
    assert min(others) > 2 * LIKE_LIMIT
    assert np.mean(others) == pytest.approx(0.5, abs=0.05)
    pictures[0].save(tmp_path / "again.jpg", quality=40)
    copies = [
        Image.open(tmp_path / "again.jpg"),
        pictures[0].resize((320, 240)),
        ImageEnhance.Brightness(pictures[0]).enhance(0.8),
    ]
    assert max(differing(told[0], described(copy)) for copy in copies) < LIKE_LIMIT / 2


def test_share_of_bits():
    assert differing("0f", "0f") == 0
    assert differing("0f", "0e") == 1 / 8
    assert differing("00", "ff") == 1
    assert differing("", "") == 1
    assert differing("0f", "") == 1


def test_plain_picture_is_like_no_other():
    assert likeness(np.full((48, 64), 7, dtype=np.float32)) == ""
