import datetime as dt
from itertools import combinations
from math import hypot

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintersward.design import draw, place_concerns, sampling_places
from wintersward.design.places import PLACE_COLUMNS, sampled
from wintersward.design.spots import SPACING_M

PHOTO = {"from": "photos", "dates": ["visits"], "quadrat": ["3 ft", "2 ft"]}
PULL = {"from": "sheet", "unit": "lbf", "per_plot": 3, "destructive": True, "dates": ["visits"]}
CORE = {"from": "sheet", "unit": "%", "destructive": True, "dates": ["2026-03-24"]}
# A millimetre is what positions are rounded to.
ROUNDED = 0.0011


@settings(max_examples=60, deadline=None)
@given(
    size=st.tuples(st.floats(0.8, 6.0), st.floats(0.8, 6.0)),
    quadrat=st.tuples(st.floats(0.1, 1.2), st.floats(0.1, 1.2)),
    photos=st.integers(1, 3),
    pulls=st.integers(1, 12),
    edge=st.floats(0.0, 0.35),
)
def test_every_place_keeps_its_distance(make_blocks, size, quadrat, photos, pulls, edge):
    measures = {
        "green_cover": {
            **PHOTO, "per_plot": photos, "quadrat": [f"{side:.3f} m" for side in quadrat],
        },
        "pull": {**PULL, "per_plot": pulls},
        "core": CORE,
    }  # fmt: skip
    sides = [f"{side:.3f} m" for side in size]
    definition = make_blocks(measures=measures, plot_size=sides, edge_left_out=f"{edge:.3f} m")
    plots = draw(definition)
    places = sampling_places(plots, definition)
    assert places.equals(sampling_places(plots, definition))
    one = places[places["plot"] == "101"]
    shown = one[one["kind"] == "photo"]
    spots = one[one["kind"] == "spot"]
    assert len(shown) == 2 * photos
    assert len(spots) <= 2 * pulls + 1
    edge = definition.layout.edge_left_out
    width, length = definition.layout.plot_size
    for x, y in zip(spots["x_m"], spots["y_m"], strict=True):
        assert edge + SPACING_M / 2 <= x + ROUNDED <= width - edge - SPACING_M / 2 + 2 * ROUNDED
        assert edge + SPACING_M / 2 <= y + ROUNDED <= length - edge - SPACING_M / 2 + 2 * ROUNDED
        for photo in shown.to_dict("records"):
            aside = max(abs(x - photo["x_m"]) - photo["width_m"] / 2, 0)
            along = max(abs(y - photo["y_m"]) - photo["length_m"] / 2, 0)
            assert hypot(aside, along) >= SPACING_M / 2 - ROUNDED
    middles = list(zip(spots["x_m"], spots["y_m"], strict=True))
    for a, b in combinations(middles, 2):
        assert hypot(a[0] - b[0], a[1] - b[1]) >= SPACING_M
    full = len(spots) == 2 * pulls + 1
    assert full != any(
        "spots of pull, core fit" in said for said in place_concerns(plots, definition)
    )


def test_one_plot_by_hand(make):
    definition = make(measures={"green_cover": PHOTO, "pull": PULL})
    places = sampling_places(draw(definition), definition)
    assert tuple(places.columns) == PLACE_COLUMNS
    assert len(places) == 12 * (2 + 6)
    first = places.iloc[0]
    # The middle of 10 ft by 6 ft.
    assert (first["kind"], first["measure"], first["date"]) == (
        "photo",
        "green_cover",
        dt.date(2026, 3, 10),
    )
    assert (first["x_m"], first["y_m"]) == (1.524, 0.914)
    assert first["width_m"] == pytest.approx(3 * 0.3048)
    assert first["length_m"] == pytest.approx(2 * 0.3048)
    spots = places[(places["plot"] == "203") & (places["kind"] == "spot")]
    assert spots["sample"].tolist() == [1, 2, 3] * 2
    # Edge 1 ft and half a spot of 0.152 m: the outermost spots.
    assert spots["x_m"].min() == pytest.approx(0.3048 + 0.076, abs=1e-3)
    # The middle of the strip between the photo and the edge: 4 ft + 0.076 m and 5 ft - 0.076 m.
    assert spots["y_m"].max() == pytest.approx(4.5 * 0.3048, abs=1e-3)


def test_readings_of_one_date_lie_apart(make):
    definition = make(measures={"green_cover": PHOTO, "pull": PULL})
    places = sampling_places(draw(definition), definition)
    spots = places[(places["plot"] == "101") & (places["kind"] == "spot")]
    for _, visit in spots.groupby("date"):
        middles = list(zip(visit["x_m"], visit["y_m"], strict=True))
        assert min(hypot(a[0] - b[0], a[1] - b[1]) for a, b in combinations(middles, 2)) > 1.0


def test_photos_of_one_measure_stand_side_by_side(make):
    definition = make(measures={"green_cover": {**PHOTO, "per_plot": 2}})
    places = sampling_places(draw(definition), definition)
    first = places[places["plot"] == "101"].iloc[:2]
    assert first["x_m"].diff().iloc[1] == pytest.approx(0.914, abs=2e-3)
    assert first["y_m"].nunique() == 1
    assert first["x_m"].mean() == pytest.approx(1.524, abs=1e-3)


def test_measures_without_a_place_are_left_out(make):
    assert sampling_places(draw(make()), make()).empty
    assert not sampled(make())
    assert sampled(make(measures={"pull": PULL}))


class TestConcerns:
    def test_none(self, make):
        definition = make(measures={"green_cover": PHOTO, "pull": PULL})
        assert place_concerns(draw(definition), definition) == []

    def test_a_quadrat_that_nobody_gave(self, make):
        definition = make(measures={"pull": PULL})
        assert place_concerns(draw(definition), definition) == [
            "Nothing says what a photo of green_cover shows, so the spots of pull may lie in it; "
            "add 'quadrat: ...' to green_cover with width and length."
        ]

    def test_too_many_spots(self, make):
        small = {"plot_size": ["4 ft", "3 ft"], "edge_left_out": "6 in"}
        measures = {"green_cover": {**PHOTO, "quadrat": ["1 ft", "1 ft"]},
                    "pull": {**PULL, "per_plot": 20}}  # fmt: skip
        definition = make(measures=measures, **small)
        plots = draw(definition)
        places = sampling_places(plots, definition)
        fit = len(places[(places["plot"] == "101") & (places["kind"] == "spot")])
        assert 10 < fit < 40
        # What fits is the earliest: all of the first date before any of the second.
        spots = places[(places["plot"] == "101") & (places["kind"] == "spot")]
        assert (spots["date"] == dt.date(2026, 3, 10)).sum() == min(20, fit)
        assert place_concerns(plots, definition) == [
            f"In each of the plots 101, 102, 103 and 9 more: {fit} of the 40 spots of pull fit, "
            "6 in apart, inside the edge that is left out and clear of the photos; take fewer "
            "readings, choose fewer dates, or make the plots larger."
        ]

    def test_a_photo_of_more_than_is_sampled(self, make):
        definition = make(
            measures={"green_cover": {**PHOTO, "quadrat": ["3 m", "1 m"]}}, units="metric"
        )
        assert place_concerns(draw(definition), definition) == [
            "In each of the plots 101, 102, 103 and 9 more: 0 of 1 photo of green_cover fit, "
            "since one shows 3 m by 1 m and 2.44 m by 1.22 m are sampled; show less in a photo, "
            "take fewer, or make the plots larger."
        ]

    def test_plots_of_several_sizes_are_told_apart(self, make_blocks):
        hand = {"how": "slips from a hat", "signed": "rx", "date": "2026-01-10"}
        definition = make_blocks(measures={"green_cover": PHOTO, "pull": PULL}, laid_by_hand=hand)
        plots = draw(definition)
        plots.loc[plots["plot"] == "202", ["width_m", "length_m"]] = 1.3, 1.3
        photo, spots = place_concerns(plots, definition)
        # 1.3 m less an edge of 1 ft on either side are 2.27 ft.
        assert photo.startswith("In plot 202: 0 of 1 photo of green_cover fit, since one shows")
        assert "2.27 ft by 2.27 ft are sampled" in photo
        assert spots.startswith("In plot 202: ")
        assert "of the 6 spots of pull fit" in spots
