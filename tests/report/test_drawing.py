from __future__ import annotations

import datetime as dt
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintersward.design import Mark
from wintersward.report.drawing import (
    EndLabel,
    axes_at,
    date_axis,
    days_apart,
    end_labels,
    mark_days,
    new_figure,
    spread,
    value_axis,
)
from wintersward.report.views import Event, measure_view
from wintersward.trial import Definition


@given(
    st.lists(
        st.tuples(st.floats(0, 100, allow_nan=False), st.floats(0.5, 12, allow_nan=False)),
        max_size=7,
    )
)
def test_labels_never_overlap_and_keep_their_order(items: list[tuple[float, float]]) -> None:
    items = sorted(items)
    places, heights = [p for p, _ in items], [h for _, h in items]
    moved = spread(places, heights, 0.0, 100.0)
    for (low, below), (high, above) in pairwise(zip(moved, heights, strict=True)):
        assert high - low >= (below + above) / 2 - 1e-9
    if items and sum(heights) <= 100:
        assert moved[0] - heights[0] / 2 >= -1e-9
        assert moved[-1] + heights[-1] / 2 <= 100 + 1e-9


def test_labels_with_room_stay_where_they_belong() -> None:
    assert spread([10.0, 50.0, 90.0], [5.0] * 3, 0.0, 100.0) == [10.0, 50.0, 90.0]


def test_dates_are_real_and_months_are_named_once() -> None:
    axes = axes_at(new_figure(6, 3), 0.5, 0.5, 4.5, 2)
    days = [dt.date(2026, 1, 15), dt.date(2026, 3, 10), dt.date(2026, 3, 24)]
    date_axis(axes, days, dt.date(2026, 1, 10), dt.date(2026, 4, 1))
    assert list(axes.get_xticks()) == days_apart(days)
    labels = [label.get_text() for label in axes.get_xticklabels()]
    assert labels == ["15\nJan\n2026", "10\nMar", "24"]


def test_days_too_close_to_name_keep_their_tick() -> None:
    axes = axes_at(new_figure(6, 3), 0.5, 0.5, 2.0, 2)
    days = [dt.date(2026, 3, 1) + dt.timedelta(days=at) for at in range(60)]
    date_axis(axes, days, days[0], days[-1])
    labels = [label.get_text() for label in axes.get_xticklabels()]
    assert len(labels) == 60
    assert 2 < sum(bool(label) for label in labels) < 30


def test_percent_goes_from_0_to_100(definition: Definition) -> None:
    axes = axes_at(new_figure(6, 3), 0.5, 0.5, 4, 2)
    value_axis(axes, measure_view(definition, "green_cover"), [40.0, 60.0])
    assert axes.get_ylim() == (0.0, 100.0)
    value_axis(axes, measure_view(definition, "colour_rating"), [4.0])
    assert axes.get_ylim() == (1.0, 9.0)
    value_axis(axes, measure_view(definition, "pull_force"), [40.0, 60.0])
    assert axes.get_ylim()[0] == 0.0
    assert axes.get_ylim()[1] > 60.0


def test_names_of_days_step_out_of_each_others_way() -> None:
    axes = axes_at(new_figure(6, 3), 0.5, 0.5, 4, 2)
    date_axis(axes, [dt.date(2026, 3, 1)], dt.date(2026, 1, 1), dt.date(2026, 5, 1))
    near = [Event(dt.date(2026, 4, 10), "first event"), Event(dt.date(2026, 4, 12), "aeration")]
    mark_days(axes, [(dt.date(2026, 1, 19), dt.date(2026, 3, 9))], near)
    heights = {t.get_text(): t.get_position()[1] for t in axes.texts}
    assert heights["covered"] == heights["first event"]
    assert heights["aeration"] > heights["first event"]


@pytest.mark.parametrize("count", [1, 3, 6])
def test_written_labels_keep_clear_of_one_another(count: int) -> None:
    axes = axes_at(new_figure(6.8, 4), 0.5, 0.5, 4.5, 2.8)
    axes.set_ylim(0, 100)
    mark = Mark("#0072B2", "s", "")
    labels = [
        EndLabel(1.0, 50 + at, "Woven permeable cover, twice laid", mark) for at in range(count)
    ]
    end_labels(axes, labels)
    figure = axes.figure
    figure.canvas.draw()
    boxes = [t.get_window_extent() for t in axes.texts]
    assert len(boxes) == count
    for at, one in enumerate(boxes):
        assert not any(one.overlaps(other) for other in boxes[at + 1 :])
