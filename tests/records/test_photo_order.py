"""Photos of a day go to plots by time and walking order, and doubt is told, not guessed away."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import pytest

from wintersward.records.photo_order import SURE, Shot, Stop, placed_in_order

START = dt.datetime(2026, 3, 24, 11, 0)
TEN = [Stop(f"{number}", (1,)) for number in range(101, 111)]
PAIRS = [Stop(f"{number}", (1, 2)) for number in range(101, 106)]


def shots(gaps: Sequence[float], first: int = 2034, name: str = "IMG_{:04}.jpg") -> list[Shot]:
    """Take photos with the given gaps [s] between them, numbered as a camera does."""
    at = [START]
    for gap in gaps:
        at.append(at[-1] + dt.timedelta(seconds=gap))
    return [Shot(name.format(first + number), moment) for number, moment in enumerate(at)]


def plots(gaps: Sequence[float], walk: Sequence[Stop] = TEN) -> list[str]:
    return [place.plot for place in placed_in_order(shots(gaps), walk)]


def sure(gaps: Sequence[float], walk: Sequence[Stop] = TEN) -> list[str]:
    return [place.sure for place in placed_in_order(shots(gaps), walk)]


def names(first: int, last: int) -> list[str]:
    return [str(number) for number in range(first, last + 1)]


def test_as_many_photos_as_plots_follow_the_walk() -> None:
    gaps = [20, 18, 25, 31, 19, 22, 20, 28, 20]
    assert plots(gaps) == names(101, 110)
    assert set(sure(gaps)) == {SURE}
    assert {place.sample for place in placed_in_order(shots(gaps), TEN)} == {1}


def test_nothing_is_placed_where_nothing_was_taken_or_wanted() -> None:
    assert placed_in_order([], TEN) == []
    places = placed_in_order(shots([20]), [])
    assert [(place.plot, place.sample) for place in places] == [("", 0)] * 2
    assert places[0].sure == "no: every photo that is wanted of this day is there already"


def test_one_plot_is_a_walk_too() -> None:
    assert plots([], TEN[:1]) == ["101"]
    assert plots([6], PAIRS[:1]) == ["101", "101"]


def test_a_double_shot_counts_once_and_the_others_keep_their_plots() -> None:
    gaps = [20, 20, 2, 20, 20, 20, 20, 20, 20, 20]
    assert plots(gaps) == [*names(101, 103), "", *names(104, 110)]
    said = sure(gaps)
    assert said[2].startswith("look: 2 photos within moments, 1 wanted")
    assert said[3].startswith("no: one more of plot 103, taken within moments")
    assert set(said[:2] + said[4:]) == {SURE}


def test_a_quick_walker_takes_no_double_shots() -> None:
    gaps = [4, 5, 4, 4, 6, 5, 4, 5, 4]
    assert plots(gaps) == names(101, 110)
    assert set(sure(gaps)) == {SURE}


def test_a_missing_photo_leaves_plots_empty_from_the_long_gap_on() -> None:
    gaps = [20, 20, 20, 45, 20, 20, 20, 20]
    assert plots(gaps) == [*names(101, 104), *[""] * 5]
    said = sure(gaps)
    assert all(
        text == "look: 9 photos where 10 belong; is this one still right?" for text in said[:4]
    )
    assert said[4] == (
        "no: 9 photos where 10 belong; before this one went 45 s, where 20 s are usual"
    )
    assert set(said[5:]) == {"no: it comes after a doubtful place"}


def test_no_plot_is_guessed_where_no_gap_tells_what_is_missing() -> None:
    gaps = [20] * 8
    assert plots(gaps) == [""] * 9
    assert sure(gaps)[0] == "no: 9 photos where 10 belong; the times do not show where"


def test_a_photo_too_many_leaves_plots_empty_from_the_short_gap_on() -> None:
    gaps = [20, 20, 20, 20, 8, 20, 20, 20, 20, 20]
    assert plots(gaps) == [*names(101, 105), *[""] * 6]
    assert "before this one went 8 s" in sure(gaps)[5]


def test_a_double_shot_hides_no_plot_that_was_passed_by() -> None:
    gaps = [20, 20, 2, 20, 20, 20, 40, 20, 20]
    assert plots(gaps) == [*names(101, 102), *[""] * 8]
    assert sure(gaps)[2] == (
        "no: the number, 10, is right, but one seems too many and one lacking; here are 2 within "
        "moments, 1 wanted"
    )


def test_odd_gaps_are_told_though_the_number_is_right() -> None:
    gaps = [20, 20, 300, 20, 20, 9, 20, 20, 20]
    assert plots(gaps) == names(101, 110)
    said = sure(gaps)
    assert said[3] == (
        "look: 5 min after the photo before it, where 20 s are usual; was a plot passed by?"
    )
    assert said[6] == (
        "look: 9 s after the photo before it, where 20 s are usual; is it the same plot once more?"
    )
    assert [text for text in said if text != SURE] == [said[3], said[6]]


@pytest.mark.parametrize("number", [20, 30])
def test_photos_of_labels_or_a_second_walk_are_thought_of(number: int) -> None:
    walk = TEN if number == 20 else [Stop(stop.plot, (1, 2)) for stop in TEN]
    gaps = [20.0] * (number - 1)
    assert set(plots(gaps, walk)) == {""}
    assert "are photos of the labels, or of a second walk, among them?" in sure(gaps, walk)[0]


def test_photos_of_one_time_tell_no_plot() -> None:
    assert set(plots([0] * 9)) == {""}


def test_several_photos_of_a_plot_are_told_by_the_walk_between() -> None:
    gaps = [4, 20, 5, 25, 3, 22, 6, 19, 5]
    places = placed_in_order(shots(gaps), PAIRS)
    assert [(p.plot, p.sample) for p in places] == [
        (stop.plot, sample) for stop in PAIRS for sample in stop.samples
    ]
    assert {place.sure for place in places} == {SURE}


def test_a_plot_with_too_few_or_too_many_is_told_and_the_others_stand() -> None:
    gaps = [4, 20, 25, 3, 22, 6, 4, 19, 5]
    places = placed_in_order(shots(gaps), PAIRS)
    assert [p.plot for p in places] == [
        *["101"] * 2,
        "102",
        *["103"] * 2,
        *["104"] * 2,
        "",
        *["105"] * 2,
    ]
    assert places[2].sure == "look: 1 of 2 photos of this plot"
    assert places[7].sure.startswith("no: one more of plot 104")


def test_a_plot_torn_by_a_pause_stops_the_count() -> None:
    """Plot 104 lacks both photos, and a pause tears 102 in two: five stops all the same."""
    gaps = [4, 20, 16, 22, 6, 19, 5]
    assert [p.plot for p in placed_in_order(shots(gaps), PAIRS)] == ["101", "101", *[""] * 6]


def test_a_plot_without_photos_stops_the_count_at_the_long_gap() -> None:
    gaps = [4, 20, 5, 45, 6, 19, 5]
    places = placed_in_order(shots(gaps), PAIRS)
    assert [p.plot for p in places] == [*["101"] * 2, *["102"] * 2, *[""] * 4]
    assert "before this one went 45 s" in places[4].sure


def test_an_even_pace_is_trusted_by_number_and_told() -> None:
    gaps = [15.0] * 9
    places = placed_in_order(shots(gaps), PAIRS)
    assert [p.plot for p in places][:4] == ["101", "101", "102", "102"]
    assert {p.sure for p in places} == {
        "look: the number is right, but the times do not show where one plot ends"
    }
    assert set(plots(gaps[1:], PAIRS)) == {""}


def test_a_clock_set_back_on_the_way_is_seen_in_the_numbers() -> None:
    taken = shots([20] * 9)
    mixed = [Shot(shot.file, other.taken) for shot, other in zip(taken[5:], taken, strict=False)]
    mixed += [Shot(shot.file, other.taken) for shot, other in zip(taken, taken[5:], strict=False)]
    places = placed_in_order(mixed, TEN)
    assert {place.plot for place in places} == {""}
    assert places[0].sure.startswith("no: from here on the numbers of the files contradict")


def test_numbers_begin_again_after_9999() -> None:
    taken = shots([20] * 9)
    files = [f"IMG_{number:04}.jpg" for number in [9997, 9998, 9999, *range(1, 8)]]
    again = [Shot(file, shot.taken) for file, shot in zip(files, taken, strict=True)]
    assert {place.sure for place in placed_in_order(again, TEN)} == {SURE}


def test_two_cameras_at_a_time_are_not_put_in_one_order() -> None:
    taken = shots([20] * 9)
    files = [f"{'DSC' if number % 2 else 'IMG_'}{number + 100:04}.jpg" for number in range(10)]
    mixed = [Shot(file, shot.taken) for file, shot in zip(files, taken, strict=True)]
    places = placed_in_order(mixed, TEN)
    assert [place.plot for place in places] == ["101", *[""] * 9]
    assert places[1].sure == "no: photos of two cameras or folders are mixed from here on"


def test_a_second_camera_may_take_over() -> None:
    taken = shots([20] * 9)
    files = [f"{'IMG_' if number < 6 else 'DSC'}{number:04}.jpg" for number in range(10)]
    handed = [Shot(file, shot.taken) for file, shot in zip(files, taken, strict=True)]
    assert [place.plot for place in placed_in_order(handed, TEN)] == names(101, 110)


def test_names_that_are_times_are_one_series() -> None:
    files = [f"PXL_20260324_11{minute:02}00123.jpg" for minute in range(10)]
    taken = [Shot(file, shot.taken) for file, shot in zip(files, shots([20] * 9), strict=True)]
    assert {place.sure for place in placed_in_order(taken, TEN)} == {SURE}
