"""Limits of risks that a definition sets in the place of the usual ones."""

from __future__ import annotations

import pytest

from wintersward.climate.own_limits import OWN_LIMITS, limit_problems, own_risks
from wintersward.climate.risk import RISKS
from wintersward.errors import WinterswardError
from wintersward.trial.climate import Climate


def asked(**risks: dict[str, object]) -> Climate:
    return Climate.model_validate({"risks": risks})


def test_without_a_definition_they_are_the_usual_ones() -> None:
    for given in (None, Climate()):
        found = own_risks(given, ["crown"])
        assert list(found) == list(RISKS)
        assert {risk.measures for risk in found.values()} == {("crown",)}
        assert [risk.source for risk in found.values()] == [r.source for r in RISKS.values()]
        assert limit_problems(given) == []


def test_a_limit_takes_the_place_of_its_own_and_of_its_source() -> None:
    told = asked(
        canopy_heat={"above": "86 degF", "source": "head of the grounds"},
        frost_after_uncovering={"within": 7},
    )
    found = own_risks(told, ["crown"])
    heat, frost = found["canopy_heat"], found["frost_after_uncovering"]
    assert (heat.above, heat.hours, heat.source) == (pytest.approx(30), 4.0, "head of the grounds")
    assert (frost.below, frost.within, frost.source) == (0.0, 7, OWN_LIMITS)
    assert found["dehardening"].source == RISKS["dehardening"].source
    assert RISKS["canopy_heat"].above == 24.0


def test_limits_that_do_not_go_together_are_told_at_their_place() -> None:
    told = asked(pink_snow_mould={"above": "15 degC"}, grey_snow_mould={"below": "-1 degC"})
    assert [str(problem) for problem in limit_problems(told)] == [
        "trial.yaml: climate.risks.pink_snow_mould: found from 15 to 13 degC; allowed: the lower "
        "limit first; set 'above' and 'below' together",
        "trial.yaml: climate.risks.grey_snow_mould: found from 0 to -1 degC; allowed: the lower "
        "limit first; set 'above' and 'below' together",
    ]
    with pytest.raises(WinterswardError, match="15 to 13; the lower one first"):
        own_risks(told, ["crown"])
