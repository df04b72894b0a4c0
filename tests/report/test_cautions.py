from __future__ import annotations

import pytest

from wintersward.report.cautions import UNCHECKED, UNSOURCED, cautions


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize(
    "matter",
    ["injury", "decided by the person", "sails", "non-metal", "magnet", "irrigation heads"]
    + ["label", "fertiliser", "snow mould", "sunny days", "frozen or saturated", "tears covers"],
)
def test_every_caution_stands_in_every_report(units: str, matter: str) -> None:
    assert sum(matter.lower() in caution.text.lower() for caution in cautions(units)) >= 1


def test_every_caution_says_where_it_comes_from() -> None:
    sources = [caution.source for caution in cautions("us")]
    assert all(sources)
    assert UNSOURCED in sources
    assert any("ASTM F1936" in source for source in sources)


def test_winter_fertiliser_names_a_law_that_forbids_it() -> None:
    # New York, Environmental Conservation Law 17-2103, 3 (a): no fertiliser on lawn or
    # non-agricultural turf "between December first and April first, annually".
    (fed,) = (c for c in cautions("us") if c.text.startswith("Fertiliser"))
    assert "local law" in fed.text
    assert "from 1 December to 1 April" in fed.source
    assert "17-2103" in fed.source


def test_a_magnet_is_said_to_find_steel_only() -> None:
    pins = [c for c in cautions("us") if "magnet finds steel only" in c.text]
    assert len(pins) == 1
    assert "by eye and by hand along every edge" in pins[0].text
    assert pins[0].source == UNSOURCED
    assert [c.source for c in cautions("us") if "high-visibility" in c.text] == [UNCHECKED]


def test_one_crews_wind_is_no_permission() -> None:
    sails = next(c for c in cautions("us") if "sails" in c.text)
    assert "no limit to rely on" in sails.text
    assert "cover's maker" in sails.text
    assert sails.source == UNCHECKED


def test_readers_units() -> None:
    us, metric = (" ".join(c.text for c in cautions(units)) for units in ("us", "metric"))
    # 2 and 13 degrees Celsius are 35.6 and 55.4 Fahrenheit; 10 and 15 mph are 16.1 and 24.1 km/h.
    assert "36 to 55 °F" in us
    assert "°F" not in metric
    assert "16 to 24 km/h" in metric
