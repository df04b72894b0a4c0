from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintersward.climate.horizon import Horizon, Stand, WithinBearings, compass, plot_horizons
from wintersward.errors import WinterswardError


def table(ground: str | None = None) -> pd.DataFrame:
    """Give three plots in a row, 10 m by 10 m, and three above them."""
    rows = [
        {"plot": f"{row}{column}", "x_m": 10.0 * column, "y_m": 10.0 * row}
        for row in (0, 1)
        for column in (0, 1, 2)
    ]
    frame = pd.DataFrame(rows).assign(width_m=10.0, length_m=10.0)
    return frame if ground is None else frame.assign(ground=ground)


class TestWithinBearings:
    def test_it_stands_between_its_bearings_alone(self) -> None:
        trees = Horizon((WithinBearings(100, 140, 12),))
        assert trees.height([99, 100, 120, 140, 141]).tolist() == [0, 12, 12, 12, 0]

    def test_it_may_lie_across_north(self) -> None:
        trees = Horizon((WithinBearings(350, 10, 12),))
        assert trees.height([340, 355, 0, 360, 5, 20]).tolist() == [0, 12, 12, 12, 12, 0]

    def test_it_is_the_same_from_every_plot(self) -> None:
        found = plot_horizons(table(), None, [WithinBearings(0, 90, 5)])
        assert {float(h.height(45)) for h in found.values()} == {5.0}

    @pytest.mark.parametrize(
        ("wrong", "said"),
        [
            ((-1, 10, 5), "found a bearing of -1; allowed: 0 to 360"),
            ((0, 10, 91), "found a height angle of 91; allowed: 0 to 90"),
            ((10, 10, 5), "found 10 as first and last bearing"),
        ],
    )
    def test_what_it_cannot_be(self, wrong: tuple[float, float, float], said: str) -> None:
        with pytest.raises(WinterswardError, match=said):
            WithinBearings(*wrong, name="oak")


class TestStand:
    @settings(deadline=None)
    @given(st.floats(0, 360), st.floats(1, 40), st.floats(5, 200))
    def test_its_middle_stands_as_high_as_its_height_says(
        self, bearing: float, height: float, distance: float
    ) -> None:
        stand = Horizon((Stand(height, distance, bearing, 50),))
        expected = np.degrees(np.arctan(height / distance))
        assert float(stand.height(bearing)) == pytest.approx(expected)
        assert float(stand.height((bearing + 180) % 360)) == 0

    @settings(deadline=None)
    @given(st.floats(0, 360), st.floats(2, 100))
    def test_its_ends_are_where_its_length_says(self, bearing: float, half: float) -> None:
        stand = Horizon((Stand(10, 30, bearing, 2 * half),))
        end = np.degrees(np.arctan(half / 30))
        inside, outside = stand.height([bearing + end - 0.01, bearing + end + 0.01])
        # The end is further away than the middle, and lower for it.
        assert inside == pytest.approx(np.degrees(np.arctan(10 / np.hypot(30, half))), abs=0.02)
        assert outside == 0

    @given(st.floats(0, 360), st.floats(-89, 89), st.floats(-20, 20), st.floats(-20, 20))
    def test_without_a_length_it_has_no_end(
        self, bearing: float, aside: float, east: float, north: float
    ) -> None:
        way = bearing + aside
        endless, long = Stand(10, 60, bearing), Stand(10, 60, bearing, 1e7)
        height = Horizon((endless,), east, north).height([way, way + 180])
        assert height.tolist() == pytest.approx(
            Horizon((long,), east, north).height([way, way + 180])
        )
        assert height[0] > 0 == height[1]
        assert Horizon((endless,)).height(bearing + 90) == pytest.approx(0, abs=1e-6)

    def test_from_each_plot_it_is_another_sight(self) -> None:
        # North is up the page: the plots of the upper row are nearer to a stand in the north.
        found = plot_horizons(table(), 0, [Stand(10, 25, 0, 60)])
        assert float(found["11"].height(0)) == pytest.approx(np.degrees(np.arctan(10 / 20)))
        assert float(found["01"].height(0)) == pytest.approx(np.degrees(np.arctan(10 / 30)))

    @pytest.mark.parametrize(("north", "nearest"), [(0, "east"), (90, "down"), (270, "up")])
    def test_the_map_is_turned_as_north_says(self, north: float, nearest: str) -> None:
        # A stand in the east. Where north is to the right of the page, east is down.
        found = plot_horizons(table(), north, [Stand(10, 40, 90, 80)])
        height = {plot: float(h.height(90)) for plot, h in found.items()}
        most = {"east": {"02", "12"}, "down": {"00", "01", "02"}, "up": {"10", "11", "12"}}
        top = max(height.values())
        assert {plot for plot, h in height.items() if h > top - 1e-9} == most[nearest]

    def test_the_higher_of_two_counts(self) -> None:
        both = Horizon((Stand(10, 40, 90, 80), WithinBearings(80, 100, 40)))
        assert both.height([90, 110]).tolist() == pytest.approx([40, 13.22], abs=0.01)

    @pytest.mark.parametrize(
        ("wrong", "said"),
        [
            ((0, 10, 0, 5), "found a height of 0 m; allowed: more than 0 m"),
            ((5, -1, 0, 5), "found a distance of -1 m"),
            ((5, 10, 0, 0), "found a length of 0 m"),
            ((5, 10, 400, 5), "found a bearing of 400"),
        ],
    )
    def test_what_it_cannot_be(self, wrong: tuple[float, ...], said: str) -> None:
        with pytest.raises(WinterswardError, match=said):
            Stand(*wrong, name="west stand")


class TestSkyView:
    @settings(deadline=None)
    @given(st.floats(0, 90))
    def test_a_level_rim_leaves_the_square_of_its_cosine(self, height: float) -> None:
        rim = Horizon((WithinBearings(0, 360, height),))
        assert rim.sky_view == pytest.approx(np.cos(np.radians(height)) ** 2)

    def test_an_endless_wall_at_the_foot_takes_half(self) -> None:
        assert Horizon((Stand(1000, 0.01, 0, 1e6),)).sky_view == pytest.approx(0.5, abs=1e-3)

    def test_an_endless_wall_by_its_formula(self) -> None:
        # A wall without end that stands h degrees high across takes (1 - cos h) / 2 of the sky.
        wall = Horizon((Stand(10, 10, 200, 1e6),))
        assert 1 - wall.sky_view == pytest.approx((1 - np.cos(np.pi / 4)) / 2, abs=1e-4)

    def test_nothing_around_leaves_all(self) -> None:
        assert Horizon().sky_view == 1.0


class TestPlotHorizons:
    def test_one_for_each_plot_in_order(self) -> None:
        found = plot_horizons(table(), 0, [])
        assert list(found) == ["00", "01", "02", "10", "11", "12"]
        assert (found["12"].east, found["12"].north) == (10.0, 5.0)

    @settings(deadline=None)
    @given(st.floats(0, 360), st.floats(-50, 50), st.floats(-50, 50))
    def test_turning_keeps_distances(self, north: float, right: float, up: float) -> None:
        east, upward = compass(right, up, north)
        assert np.hypot(east, upward) == pytest.approx(np.hypot(right, up))

    def test_what_is_wrong_is_said(self) -> None:
        with pytest.raises(WinterswardError, match="needs the direction of north"):
            plot_horizons(table(), None, [Stand(10, 40, 90, 80)])
        with pytest.raises(WinterswardError, match="columns width_m are missing"):
            plot_horizons(table().drop(columns="width_m"), 0, [])
        grounds = pd.concat([table("upper"), table("lower")])
        with pytest.raises(WinterswardError, match="one ground at a time"):
            plot_horizons(grounds, 0, [])
        assert len(plot_horizons(table("upper"), 0, [])) == 6
