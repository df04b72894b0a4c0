"""Ways to aerate side by side: which there are, what their days rest on, what is left over."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pandas as pd
import pytest

from wintersward.analysis.decision_columns_aeration import AERATION
from wintersward.decisions.planner import BASES, aerating_days, aeration_options, options
from wintersward.study import Trial
from wintersward.trial import Definition, read_definition
from wintersward.trial.climate import Climate
from wintersward.trial.decided import Decisions
from wintersward.trial.schema import LoggerMeasure, SheetMeasure

SOUND = Path(__file__).parents[1] / "trial" / "sound.yaml"
HALF = {"kind": "hollow", "outside": "0.5 in", "inside": "0.375 in", "depth": "3 in"}
HALF |= {"spacing": ["2 in", "2.5 in"]}
PLANNED: dict[str, Any] = {"options": {"half_inch": {"label": "Half inch", "tine": HALF}}}
NOTHING: dict[str, pd.DataFrame] = {}


@pytest.fixture
def definition(tmp_path: Path) -> Definition:
    (tmp_path / "trial.yaml").write_text(SOUND.read_text(encoding="utf-8"), encoding="utf-8")
    made, problems = read_definition(tmp_path)
    assert made is not None, problems
    return made


def planned(definition: Definition, **more: object) -> Definition:
    decisions = Decisions.model_validate({"aeration": PLANNED | more})
    return definition.model_copy(update={"decisions": decisions})


def warmed(definition: Definition, what: str = "soil temperature") -> Definition:
    """Let loggers take a temperature, and degree days above 0 degC be made of it."""
    told: dict[str, object] = {"from": "logger", "what": what, "dates": [dt.date(2026, 3, 24)]}
    told |= {"depth": "4 in"} if what == "soil temperature" else {}
    sums = {"measure": "warmth", "base": "0 degC", "method": "integrated", "from": "covers_on"}
    measures = {**definition.measures, "warmth": LoggerMeasure.model_validate(told)}
    climate = Climate.model_validate({"degree_days": sums})
    return definition.model_copy(update={"measures": measures, "climate": climate})


def closing(definition: Definition) -> Definition:
    told = {"from": "sheet", "kind": "hole_closure", "dates": [dt.date(2026, 4, 17)]}
    measures = {**definition.measures, "holes": SheetMeasure.model_validate(told)}
    return definition.model_copy(update={"measures": measures})


def trial(definition: Definition, ready: bool = True) -> Trial:
    return cast("Trial", SimpleNamespace(definition=definition, ready=ready))


def sums(a_day: float) -> dict[str, pd.DataFrame]:
    days = pd.date_range("2026-03-25", periods=24)
    frame = pd.DataFrame({"date": days, "plot": "1A", "degree_days": a_day, "sum": 0.0})
    return {"degree_day_sums": frame}


def times(rows: list[tuple[str, str, float, str]]) -> dict[str, pd.DataFrame]:
    names = ["measure", "aeration", "days", "censored"]
    frame = pd.DataFrame(rows, columns=names)
    return {"closure_times": frame.assign(unit_name=[f"{at}" for at in range(len(rows))])}


def row(found: pd.DataFrame, option: str) -> pd.Series:
    return found.set_index("option").loc[option]


def test_treatments_with_a_tine_come_first_in_the_order_of_the_definition(
    definition: Definition,
) -> None:
    found = options(planned(definition))
    assert [(one.name, one.source) for one in found] == [
        ("solid", "treatment"),
        ("hollow", "treatment"),
        ("half_inch", "planned"),
    ]
    assert [one.name for one in options(definition)] == ["solid", "hollow"]


def test_covers_alone_have_no_ways_to_aerate(definition: Definition) -> None:
    covers = {"cover": definition.treatments["cover"]}
    bare = definition.model_copy(update={"treatments": covers})
    assert options(bare) == []
    assert aeration_options(trial(bare), NOTHING).empty


def test_the_table_is_as_its_columns_say(definition: Definition) -> None:
    columns = [column.name for column in AERATION["aeration_options"].columns]
    for found in (
        aeration_options(trial(planned(definition)), NOTHING),
        aeration_options(trial(definition, ready=False), NOTHING),
    ):
        assert list(found.columns) == columns
        assert found["passes"].dtype == "int64"
        assert found["warmth_from"].dtype == "datetime64[us]"
    assert list(aeration_options(trial(planned(definition)), NOTHING)["option"]) == [
        "half_inch",
        "hollow",
        "solid",
    ]


def test_before_the_question_has_its_data_nothing_stands_side_by_side(
    definition: Definition,
) -> None:
    assert aeration_options(trial(planned(definition), ready=False), sums(8.0)).empty


def test_ground_soil_and_sand_of_a_hollow_tine(definition: Definition) -> None:
    # 3/4 in outside, 0.6 in inside, 2 by 2 in, 4 in deep; shares of pi / 4 d2 / (s1 s2).
    found = row(aeration_options(trial(definition), NOTHING), "hollow")
    assert found["affected"] == pytest.approx(11.04, abs=0.005)
    assert found["removed"] == pytest.approx(7.07, abs=0.005)
    assert found["holes"] == pytest.approx(36 / 0.3048**2)
    assert found["soil_removed"] == pytest.approx(0.0706858 * 0.1016, rel=1e-6)
    assert found["sand"] == pytest.approx(0.1104466 * 0.1016, rel=1e-6)
    assert found["sand_mass"] == pytest.approx(1600 * found["sand"])


def test_solid_tines_take_nothing_out_and_have_no_figure_of_days(definition: Definition) -> None:
    found = row(aeration_options(trial(definition), NOTHING), "solid")
    assert (found["removed"], found["soil_removed"]) == (0.0, 0.0)
    assert found[["inside", "days_low", "days_high", "spare_low", "spare_high"]].isna().all()
    assert found["days_basis"] == BASES["solid"]
    assert found["sand"] > 0


def test_passes_topdressing_and_the_aims_of_a_year(definition: Definition) -> None:
    more = {"area_each_year": "15 %", "topdressing": "0.125 in", "sand_each_year": "0.25 in"}
    found = aeration_options(trial(planned(definition, **more)), NOTHING)
    half, hollow = row(found, "half_inch"), row(found, "hollow")
    # 3.93 % a pass: 15 / 3.93 = 3.82; ln 0.85 / ln 0.9607 = 4.06.
    assert (half["passes_to_target"], half["passes_to_target_union"]) == (4, 5)
    assert half["topdressings_to_target"] == 2
    assert half["topdressing_mass"] == pytest.approx(1600 * 0.003175)
    # 3.175 mm of sand into holes that take 11.22 mm, and into holes that take 2.99 mm.
    assert hollow["filled"] == pytest.approx(28.3, abs=0.05)
    assert half["filled"] == 100


def test_without_aims_their_columns_are_empty(definition: Definition) -> None:
    found = row(aeration_options(trial(definition), NOTHING), "hollow")
    names = ["topdressing", "topdressing_mass", "filled", "topdressings_to_target"]
    assert found[[*names, "passes_to_target", "passes_to_target_union"]].isna().all()


def test_published_days_go_by_diameter(definition: Definition) -> None:
    found = aeration_options(trial(planned(definition)), NOTHING)
    half, wide = row(found, "half_inch"), row(found, "hollow")
    assert (half["days_low"], half["days_high"]) == pytest.approx((10, 14))
    assert (wide["days_low"], wide["days_high"]) == pytest.approx((15, 21))
    assert half["days_basis"] == BASES["published"]
    # 25 March to 18 April: 24 days.
    assert (half["spare_low"], half["spare_high"]) == pytest.approx((10, 14))
    assert (wide["spare_low"], wide["spare_high"]) == pytest.approx((3, 9))


def test_cold_soil_lengthens_what_is_published(definition: Definition) -> None:
    found = row(aeration_options(trial(warmed(planned(definition))), sums(7.75)), "half_inch")
    assert (found["warmth"], found["good_warmth"], found["lengthening"]) == (7.75, 15.5, 2.0)
    assert (found["days_low"], found["days_high"]) == pytest.approx((20, 28))
    assert (found["spare_low"], found["spare_high"]) == pytest.approx((-4, 4))
    assert found["days_basis"] == BASES["lengthened"]
    assert str(found["warmth_to"])[:10] == "2026-04-17"


def test_warm_soil_changes_nothing_and_is_told(definition: Definition) -> None:
    found = row(aeration_options(trial(warmed(planned(definition))), sums(17.0)), "half_inch")
    assert (found["days_low"], found["lengthening"]) == (pytest.approx(10), 1.0)
    assert found["days_basis"] == BASES["published"]


def test_soil_without_warmth_gives_no_days(definition: Definition) -> None:
    found = row(aeration_options(trial(warmed(planned(definition))), sums(0.5)), "half_inch")
    assert found[["days_low", "days_high", "spare_low", "lengthening"]].isna().all()
    assert found["days_basis"] == BASES["cold"]


def test_warmth_of_the_air_and_grasses_of_warm_seasons_lengthen_nothing(
    definition: Definition,
) -> None:
    air = warmed(planned(definition), "air temperature")
    grass = definition.site.turf.model_copy(update={"species": ["Cynodon dactylon"]})
    site = definition.site.model_copy(update={"turf": grass})
    bermuda = warmed(planned(definition)).model_copy(update={"site": site})
    for one in (air, bermuda, planned(definition)):
        found = row(aeration_options(trial(one), sums(7.75)), "half_inch")
        assert found["days_low"] == pytest.approx(10)
        assert math.isnan(found["warmth"])


def test_what_the_definition_states_stands_whatever_the_warmth(definition: Definition) -> None:
    stated = {"diameter": "1 in", "days": [20, 30], "source": "last spring"}
    made = warmed(planned(definition, recovery=stated))
    found = row(aeration_options(trial(made), sums(7.75)), "half_inch")
    assert (found["days_low"], found["days_high"]) == pytest.approx((10, 15))
    assert (found["days_basis"], found["days_source"]) == (BASES["stated"], "last spring")


def test_what_was_seen_on_the_plots_goes_before_all_else(definition: Definition) -> None:
    seen = times(
        [
            ("holes", "hollow", 18.0, ""),
            ("holes", "hollow", 27.0, ""),
            ("holes", "solid", 6.0, ""),
            ("holes", "solid", math.nan, "not known"),
            ("green_cover", "hollow", 99.0, ""),
        ]
    )
    found = aeration_options(trial(closing(warmed(planned(definition)))), sums(7.75) | seen)
    hollow, solid, half = (row(found, name) for name in ("hollow", "solid", "half_inch"))
    assert (hollow["days_low"], hollow["days_high"]) == (18, 27)
    assert (hollow["days_basis"], hollow["days_source"]) == (
        BASES["observed"],
        "2 units of this trial",
    )
    assert (solid["days_low"], solid["days_source"]) == (6, "one unit of this trial")
    # The planned tine is hollow, and two thirds as wide as the hollow one.
    assert (half["days_low"], half["days_high"]) == pytest.approx((12, 18))
    assert half["days_basis"] == BASES["observed, scaled"]
    assert math.isnan(half["warmth"])


def test_holes_that_were_still_open_leave_the_end_open(definition: Definition) -> None:
    rows = [("holes", "hollow", 18.0, "on or before"), ("holes", "hollow", 23.0, "after")]
    found = aeration_options(trial(closing(planned(definition))), times(rows))
    hollow = row(found, "hollow")
    assert hollow["days_low"] == 18
    assert math.isnan(hollow["days_high"])
    assert math.isnan(hollow["spare_low"])
    assert hollow["spare_high"] == 6
    assert hollow["days_source"] == (
        "2 units of this trial, one closed already when first seen, one not closed when last seen"
    )
    assert math.isnan(row(found, "half_inch")["days_high"])


def test_days_of_the_aeration_and_of_the_event(definition: Definition) -> None:
    assert aerating_days(definition) == (dt.date(2026, 3, 25), dt.date(2026, 4, 18))
    other = planned(definition, on=dt.date(2026, 9, 1), event=dt.date(2026, 9, 20))
    assert aerating_days(other) == (dt.date(2026, 9, 1), dt.date(2026, 9, 20))
    covers = {"cover": definition.treatments["cover"]}
    bare = definition.model_copy(update={"treatments": covers})
    assert aerating_days(bare) == (None, None)


def test_without_a_day_of_first_use_nothing_is_left_over(definition: Definition) -> None:
    dates = {name: day for name, day in definition.dates.items() if name != "first_event"}
    found = aeration_options(trial(definition.model_copy(update={"dates": dates})), NOTHING)
    hollow = row(found, "hollow")
    assert hollow["days_low"] == pytest.approx(15)
    assert hollow[["days_available", "spare_low", "spare_high"]].isna().all()
