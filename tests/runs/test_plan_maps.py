from __future__ import annotations

import warnings
import xml.etree.ElementTree as ET
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from wintersward.design import draw, map_alt
from wintersward.runs.plan_maps import map_concerns, plan_maps
from wintersward.trial import Definition, read_definition

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def definition(study: Path) -> Definition:
    path = study / "trial.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("name: Alder Road", "name: Alder & Birch Road", 1), "utf-8")
    made, problems = read_definition(study)
    assert made is not None, problems
    return made


def test_words_for_those_who_cannot_see_stand_in_every_map(definition: Definition) -> None:
    plots = draw(definition)
    maps = plan_maps(plots, definition)
    assert list(maps) == [
        "plot_map.svg", "plot_map.png", "plot_map_rater.svg", "plot_map_rater.png"
    ]  # fmt: skip
    for copy, treatments in (("plot_map", True), ("plot_map_rater", False)):
        alt = map_alt(plots, definition, treatments)
        root = ET.fromstring(maps[f"{copy}.svg"][0])
        title, words = list(root)[:2]
        assert (title.tag, words.tag) == (f"{SVG}title", f"{SVG}desc")
        assert str(title.text).startswith("Alder & Birch Road ground: map with")
        assert words.text == alt
        assert root.get("role") == "img"
        assert root.get("aria-labelledby") == f"{title.get('id')} {words.get('id')}"
        with Image.open(BytesIO(maps[f"{copy}.png"][0])) as picture:
            assert picture.info["Description"] == alt
            assert picture.width == 1400
            assert "Software" not in picture.info


def test_the_map_for_raters_names_no_treatment_anywhere(definition: Definition) -> None:
    maps = plan_maps(draw(definition), definition)
    for name in ("plot_map_rater.svg", "plot_map_rater.png"):
        content = maps[name][0].lower()
        for word in (b"fleece", b"no cover", b"solid tine", b"aeration"):
            assert word not in content


def test_the_same_plan_gives_the_same_bytes(definition: Definition) -> None:
    plots = draw(definition)
    assert plan_maps(plots, definition) == plan_maps(plots, definition)


def test_characters_that_the_font_lacks_are_told_and_warn_nobody(study: Path) -> None:
    path = study / "trial.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("Solid tine", "Solid \u51ac tine \u96ea", 1), "utf-8")
    definition, problems = read_definition(study)
    assert definition is not None, problems
    plots = draw(definition)
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        assert len(plan_maps(plots, definition)) == 4
        (said,) = map_concerns(plots, definition)
    assert caught == []
    assert said.startswith(
        "The maps cannot show these characters and have a box instead: "
        "\u51ac (U+51AC), \u96ea (U+96EA); "
    )


def test_maps_that_show_every_character_have_no_concern(definition: Definition) -> None:
    assert map_concerns(draw(definition), definition) == []
