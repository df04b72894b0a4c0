"""Measures that loggers take, as a reader meets them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from wintersward.records.flag_parts import Wording
from wintersward.report.climate import climate_context
from wintersward.report.frozen import touched_words
from wintersward.report.measuring import taking_words
from wintersward.report.methods import measure_words
from wintersward.report.page import Page
from wintersward.report.views import measure_view
from wintersward.trial import Definition
from wintersward.trial.schema import LoggerMeasure

SOIL = {"what": "soil temperature", "depth": "4 in"}


def logged(**fields: object) -> LoggerMeasure:
    return LoggerMeasure.model_validate({"from": "logger", "dates": ["visits"], **fields})


def trial_with(definition: Definition, measure: LoggerMeasure, system: str = "us") -> Definition:
    measures = {**definition.measures, "warmth": measure}
    return definition.model_copy(update={"measures": measures, "units": system})


@pytest.mark.parametrize(("system", "unit", "shown"), [("us", "°F", 50.0), ("metric", "°C", 10.0)])
def test_a_temperature_follows_the_reader(
    definition: Definition, system: str, unit: str, shown: float
) -> None:
    view = measure_view(trial_with(definition, logged(**SOIL), system), "warmth")
    assert (view.unit, view.rated, view.limits) == (unit, True, (None, None))
    assert view.value(10.0) == pytest.approx(shown)


def test_an_amplitude_converts_without_the_zero_point(definition: Definition) -> None:
    # A difference of 10 degC is one of 18 degF.
    view = measure_view(trial_with(definition, logged(**SOIL, daily="amplitude")), "warmth")
    assert (view.value(10.0), view.difference(10.0)) == pytest.approx((18.0, 18.0))
    assert (view.rated, view.limits) == (False, (0.0, None))


def test_methods_say_what_is_read_and_how(definition: Definition) -> None:
    trial = trial_with(definition, logged(**SOIL, complete="75 %"))
    said = measure_words(trial, "warmth")
    assert said.startswith("Mean of the day of soil temperature at 4 in, read by loggers, in °F. ")
    taken = " ".join(taking_words(trial, "warmth"))
    assert taken.startswith("Bury one sensor in every plot")
    assert "A day counts when at least 75 % of it was seen." in taken


def test_flags_write_its_values_in_the_unit_of_the_files() -> None:
    words = Wording(logged(**SOIL))
    assert (words.value(4.25), words.difference(2.0), words.rated) == ("4.25 degC", "2 degC", False)


def test_it_was_not_read_by_hand(page: Page, definition: Definition) -> None:
    logging = replace(page, definition=trial_with(definition, logged(**SOIL)))
    assert climate_context(logging)["measures"] == []


def test_what_a_change_touches_has_words(definition: Definition) -> None:
    assert touched_words("climate", definition) == "what was made of temperatures"
    assert touched_words("light", definition) == "sun and light on the plots"
