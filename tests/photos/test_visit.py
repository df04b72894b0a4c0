import dataclasses
import datetime as dt

import pytest

from photos.test_cache import SCORE
from wintersward.photos.visit import Shown, day_of, visit_flags

DAY = dt.date(2026, 3, 10)


def shown(place, day=DAY, **known):
    """A photo that is like no other but for what is given."""
    bits = {0: "00ff", 1: "0f0f", 2: "3333", 3: "5555", 4: "6996"}[place]
    plain = {
        "sha256": format(place, "02x") * 32,
        "likeness": bits * 16,
        "taken": "2026-03-10T09:00:00",
        "camera": "",
        "exposure": None,
        "white_balance": "",
    }
    path = f"photos/{day}/{101 + place}_1.jpg"
    return Shown(path, day, dataclasses.replace(SCORE, **(plain | known)))


def test_a_good_visit_has_no_flags():
    photos = [shown(place, camera="A", exposure=12.0 + place / 2) for place in range(5)]
    assert visit_flags(photos) == [[]] * 5
    assert visit_flags([]) == []


def test_the_same_bytes_are_flagged_on_both_also_on_another_day():
    other = dt.date(2026, 3, 24)
    twin = shown(0, other, taken=None)
    flags = visit_flags([shown(0), shown(1), twin])
    assert flags == [
        [f"same picture as {twin.path}"],
        [],
        ["same picture as photos/2026-03-10/101_1.jpg"],
    ]


def test_a_picture_saved_anew_is_flagged_with_number_and_limit():
    copy = "01" + shown(0).score.likeness[2:]
    flags = visit_flags([shown(0), shown(1, likeness=copy), shown(2)])
    said = "like picture: 0 % of its outline differs from photos/2026-03-10/{}_1.jpg, limit 15 %"
    assert flags == [[said.format(102)], [said.format(101)], []]


def test_plain_pictures_are_not_compared():
    assert visit_flags([shown(0, likeness=""), shown(1, likeness="")]) == [[], []]


@pytest.mark.parametrize(
    ("taken", "flagged"),
    [
        ("2026-03-10T00:00:01", False),
        ("2026-03-10T23:59:59-05:00", False),
        ("2026-03-09T09:00:00", True),
        (None, False),
    ],
)
def test_day_of_the_camera_against_the_visit(taken, flagged):
    (flags,) = visit_flags([shown(0, taken=taken)])
    said = [f"day: taken on {taken[:10]}, the visit was on 2026-03-10"] if flagged else []
    assert flags == said
    assert visit_flags([shown(0, None, taken=taken)]) == [[]]


def test_another_camera_than_the_rest():
    photos = [shown(place, camera="B" if place == 2 else "A") for place in range(4)]
    assert visit_flags(photos)[2] == ["camera: B, but A for 3 of 4 photos of the visit"]
    assert sum(len(flags) for flags in visit_flags(photos)) == 1


@pytest.mark.parametrize("cameras", ["AB", "AABB", "ABC"])
def test_without_a_majority_no_camera_is_unlike(cameras):
    photos = [shown(place, camera=camera) for place, camera in enumerate(cameras)]
    assert visit_flags(photos) == [[]] * len(cameras)


def test_exposure_unlike_the_rest_of_its_own_visit():
    later = dt.date(2026, 3, 24)
    photos = [shown(place, exposure=12.0) for place in range(3)]
    photos += [shown(3, exposure=9.7), shown(4, later, exposure=5.0, taken=None)]
    flags = visit_flags(photos)
    assert flags[3] == ["exposure: 2.3 EV from the median of the visit, limit 2 EV"]
    assert [len(found) for found in flags] == [0, 0, 0, 1, 0]


def test_automatic_white_balance_is_told_once_a_visit():
    photos = [shown(place, white_balance="automatic") for place in (2, 0, 1)]
    photos.append(shown(3, white_balance="fixed"))
    said = "white balance: automatic in 3 of 4 photos of the visit, limit 0; fix it on the camera"
    assert visit_flags(photos) == [[], [said], [], []]


def test_folders_hold_visits_together_where_no_day_is_known():
    photos = [
        dataclasses.replace(shown(place, None, camera=camera), path=f"{folder}/{place}.jpg")
        for place, (folder, camera) in enumerate(["aA", "aA", "aB", "bB", "bB"])
    ]
    flags = visit_flags(photos)
    assert [len(found) for found in flags] == [0, 0, 1, 0, 0]


@pytest.mark.parametrize(
    ("path", "day"),
    [
        ("photos/2026-03-10/101_1.jpg", DAY),
        ("/x/2026-01-01/photos/2026-03-10/left/101_1.jpg", DAY),
        ("2026-03-10.jpg", None),
        ("photos/101_1.jpg", None),
        ("photos/10 March/101_1.jpg", None),
    ],
)
def test_day_is_read_from_the_nearest_folder(path, day):
    assert day_of(path) == day
