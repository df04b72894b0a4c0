"""Measures that loggers take, on the papers for the field."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest

from wintersward.papers.calendars import calendar_days
from wintersward.papers.field_methods import readings
from wintersward.papers.protocol import protocol
from wintersward.trial import Definition
from wintersward.trial.logger_measure import LOGGED
from wintersward.trial.schema import LoggerMeasure

UNDER_COVER = dt.date(2026, 2, 20)


@pytest.fixture
def logged(definition: Definition) -> Definition:
    measure = LoggerMeasure.model_validate(
        {"from": "logger", "what": "canopy temperature", "daily": "maximum", "dates": [UNDER_COVER]}
    )
    return definition.model_copy(update={"measures": {**definition.measures, "warmth": measure}})


def test_nobody_visits_for_it(
    definition: Definition, logged: Definition, plots: pd.DataFrame
) -> None:
    assert calendar_days(logged, plots) == calendar_days(definition, plots)


def test_the_methods_say_how_it_is_taken(logged: Definition) -> None:
    last = readings(logged)[-1]
    taken = LOGGED["canopy temperature"]
    assert (last.label, last.how, last.source) == ("Warmth", taken.protocol, taken.source)


def test_the_protocol_lists_it(logged: Definition, plots: pd.DataFrame) -> None:
    page = protocol(logged, plots, b"<svg></svg>", "0123456789abcdef")
    assert "maximum of the day of canopy temperature, by loggers [°F]" in page
