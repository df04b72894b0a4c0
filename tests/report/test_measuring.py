from __future__ import annotations

import inspect

from wintersward.papers import shots
from wintersward.report.cautions import UNSOURCED
from wintersward.report.measuring import taking_words
from wintersward.report.page import Page
from wintersward.trial import Definition
from wintersward.trial.catalogue import measure_kind
from wintersward.trial.schema import PhotoMeasure, SheetMeasure

DATES = {"dates": ["visits"]}


def with_measure(definition: Definition, **fields: object) -> Definition:
    kind = PhotoMeasure if fields.get("from") == "photos" else SheetMeasure
    made = kind.model_validate({"from": "sheet", **DATES, **fields}, context={"units": "us"})
    return definition.model_copy(update={"measures": {"one": made}})


def said(definition: Definition, **fields: object) -> str:
    return " ".join(taking_words(with_measure(definition, **fields), "one"))


def test_a_photo_tells_its_quadrat(definition: Definition) -> None:
    square = {"from": "photos", "quadrat": ["3 ft", "3 ft"]}
    assert said(definition, **square).startswith("Each photo shows a quadrat of 3 ft by 3 ft. How")
    assert "names no quadrat" in said(definition, **{"from": "photos"})


def test_how_photos_are_taken_is_told_as_the_photo_lists_have_it(definition: Definition) -> None:
    told = said(definition, **{"from": "photos"})
    listed = inspect.getsource(shots)
    assert "between 10 am and 2 pm or" in told
    assert "10 and 14 h" in listed
    for rule in ("even overcast sky", "at the same height", "grey card",
                 "pointing straight down", "exposure and white balance"):  # fmt: skip
        assert rule in told
        assert rule in listed
    assert "the definition does not tell" in told
    assert f"({UNSOURCED})" in told
    assert definition.units == "us"
    metric = definition.model_copy(update={"units": "metric"})
    assert "between 10 and 14 h or" in said(metric, **{"from": "photos"})


def test_what_the_definition_does_not_say_is_told(definition: Definition) -> None:
    marks = said(definition, scale="1-9", raters=["rx"])
    assert "The definition does not say what the marks mean." in marks
    assert "how a reading is taken" not in marks
    assert said(definition, unit="lbf") == "The definition does not say how a reading is taken."


def test_what_it_was_read_with_is_told(definition: Definition) -> None:
    words = said(definition, unit="lbf", settings="gauge to 100 lbf, frame of 6 in.")
    assert words == "Read with: gauge to 100 lbf, frame of 6 in."


def test_a_rating_tells_its_marks_and_second_looks(definition: Definition) -> None:
    words = said(
        definition,
        scale="1-9",
        acceptable=6,
        anchors={9: "dark green", 1: "straw"},
        raters=["rx", "te"],
        repeats="20 %",
    )
    assert "The marks mean: 1 straw, 9 dark green." in words
    assert "6 is the lowest acceptable mark." in words
    assert "does not say" not in words
    assert "about 20 % of the plots a second time" in words
    assert "second" not in said(definition, scale="1-9", raters=["rx"], repeats="0 %")


def test_a_reading_tells_its_instrument_and_what_it_takes_away(definition: Definition) -> None:
    instrument = {"missile": "2.25 kg", "drop_height": "18 in", "drops": 3}
    words = said(definition, unit="lbf", destructive=True, instrument=instrument)
    # 2.25 kg are 79.37 oz: 28.349523125 g an ounce, NIST SP 811, appendix B.8.
    assert "weighs 79.37 oz and falls 1.5 ft, three drops a reading" in words
    assert "no spot is read twice" in words


def test_a_usual_measure_tells_how_it_is_taken_and_who_says_so(definition: Definition) -> None:
    words = said(definition, kind="soil_temperature")
    usual = measure_kind("soil_temperature")
    assert words == f"{usual.protocol.rstrip('.')} ({usual.source})."


def test_the_section_follows_the_definition(page: Page, definition: Definition) -> None:
    html = page.section("measurements").html
    places = [
        html.index(f"<dt>{label}") for label in ("Green cover", "Colour rating", "Pull force")
    ]
    assert places == sorted(places)
    assert "from 50 to 170 degrees" in html
    assert "US customary units" in html
    assert "without the zero point" not in html
    warm = with_measure(definition, unit="degF")
    assert "without the zero point" in Page({}, {}, warm).section("measurements").html
