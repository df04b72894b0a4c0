"""Every flag that a check can raise is known in words, with the limit that the check itself has."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from wintersward import photos
from wintersward.photos import likeness, quality, scoring, visit
from wintersward.report.photo_flags import PHOTO_CHECKS, flag_kinds

SOURCES = ("quality", "scoring", "visit", "decoding")


def test_every_kind_that_the_checks_write_is_known() -> None:
    place = Path(photos.__file__).parent
    texts = "".join((place / f"{name}.py").read_text(encoding="utf-8") for name in SOURCES)
    written = re.findall(r'f?"((?:[a-z]+ ){0,2}[a-z]+)(?:: | as \{)', texts, re.IGNORECASE)
    assert set(PHOTO_CHECKS) <= set(written)
    appended = re.findall(r'flags(?:\[\w+\])?\.append\(\s*f?"([a-z ]+?)(?:: | as \{)', texts)
    assert len(appended) >= 13
    assert set(appended) <= set(PHOTO_CHECKS)


@pytest.mark.parametrize(
    ("kind", "limit"),
    [
        ("small", quality.FEWEST_PIXELS),
        ("flat", quality.FLAT_LIMIT),
        ("blurred", quality.BLUR_LIMIT),
        ("overexposed", quality.OVER_LIMIT),
        ("underexposed", quality.DARK_LIMIT),
        ("shadow", quality.SHADOW_LIMIT),
        ("snow", quality.SNOW_LIMIT),
        ("colour not given", scoring.FEWEST_GREEN_PIXELS),
        ("like picture", 100 * likeness.LIKE_LIMIT),
        ("exposure", visit.EXPOSURE_LIMIT),
    ],
)
def test_a_limit_in_words_is_the_limit(kind: str, limit: float) -> None:
    assert re.search(rf"\b{limit:g}\b", PHOTO_CHECKS[kind])


FLAGS = {
    "": [],
    "blurred: 0.10, limit 0.15": ["blurred"],
    "flat: 3 % of the rows or columns are one plain colour, limit 2 %; is the file damaged or "
    "framed?; small: 900 pixels, limit 10000": ["flat", "small"],
    "snow: 8 % white, limit 5 %; snow, frost or paint?": ["snow"],
    "white balance: automatic in 3 of 3 photos of the visit, limit 0; fix it on the camera": [
        "white balance"
    ],
    "same picture as photos/a.jpg, photos/b.jpg; camera: B, but A for 2 of 3 photos of the visit": [
        "same picture",
        "camera",
    ],
    "colour not given: 7 green pixels, at least 100 needed": ["colour not given"],
    "colour profile: Display P3, scored as stored": ["colour profile"],
    "an older check: 3": ["an older check"],
}


@pytest.mark.parametrize("flags", FLAGS)
def test_the_kinds_of_flags(flags: str) -> None:
    assert flag_kinds(flags) == FLAGS[flags]
