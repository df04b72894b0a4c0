from __future__ import annotations

import pytest

from wintersward.report.cautions import UNCHECKED, UNSOURCED, cautions, measures_hardness
from wintersward.trial import Definition
from wintersward.trial.schema import SheetMeasure


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize(
    "matter",
    ["injury", "decided by the person", "is a sail", "non-metal", "magnet", "irrigation heads"]
    + ["label", "fertiliser", "snow mould", "sunny days", "frozen or saturated", "tears covers"]
    + ["compacted ground is hard", "corner posts", "pipes and cables", "frosted turf", "licences"],
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


@pytest.mark.parametrize("units", ["us", "metric"])
def test_no_number_of_wind_is_read_as_leave_to_work(units: str) -> None:
    sail = next(c for c in cautions(units) if "is a sail" in c.text)
    assert not any(letter.isdigit() for letter in sail.text)
    assert "wind limit of its maker" in sail.text
    assert sail.source == UNSOURCED


def test_hardness_that_nobody_measured_is_told(definition: Definition) -> None:
    first, untold = cautions("us")[0], cautions("us", hardness=False)[0]
    assert "says nothing of its hardness" not in first.text
    assert "hard, green or not; this report says nothing of its hardness." in untold.text
    for one in (first, untold):
        assert "within a limit does not mean that no injury can occur" in one.text
        # Scope, section 1.4, as the standard's publisher prints it (webstore.ansi.org).
        assert one.source == "after ASTM F1936-19, scope, section 1.4"
    assert cautions("us")[1:] == cautions("us", hardness=False)[1:]
    assert not measures_hardness(definition)
    drop = {"missile": "2.25 kg", "drop_height": "18 in", "drops": 1}
    told = {"from": "sheet", "kind": "surface_hardness", "instrument": drop, "dates": ["visits"]}
    hard = SheetMeasure.model_validate(told, context={"units": "us"})
    measures = {**definition.measures, "hardness": hard}
    assert measures_hardness(definition.model_copy(update={"measures": measures}))


def test_readers_units() -> None:
    us, metric = (" ".join(c.text for c in cautions(units)) for units in ("us", "metric"))
    # Rutgers Plant & Pest Advisory (2013), plant-pest-advisory.rutgers.edu/?p=1830: 35 to 55 °F,
    # that are 1.7 and 12.8 °C.
    assert "35 to 55 °F (2 to 13 °C)" in us
    assert "2 to 13 °C (35 to 55 °F)" in metric
    # 10 °C are 50 °F.
    assert "above 50 °F" in us
    assert "above 10 °C" in metric
