from __future__ import annotations

import re
from typing import Any

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from papers.qr_reading import modules, text_of
from papers.trial_papers import drawn, sound
from wintersward.design import sampling_places
from wintersward.papers.labels import PER_PAGE, code_text, labels_page, plot_labels
from wintersward.papers.pages import short_id
from wintersward.trial import Definition

QUIET_ZONE = 4  # modules; ISO/IEC 18004:2015, 6.3.8


@pytest.fixture(scope="module")
def page(definition: Definition, plots: pd.DataFrame) -> BeautifulSoup:
    return BeautifulSoup(labels_page(definition, plots, "letter"), "html.parser")


def read(svg: Any) -> tuple[str, int]:
    """Read the text of a code out of the page, and its margin."""
    code, margin = modules(svg["viewbox"], svg.find("path")["d"])
    return text_of(code), margin


def layout(definition: Definition, **fields: object) -> Definition:
    return definition.model_copy(update={"layout": definition.layout.model_copy(update=fields)})


def test_every_code_tells_its_plot_and_the_study(
    page: BeautifulSoup, definition: Definition, plots: pd.DataFrame
) -> None:
    labels = page.select(".label")
    assert len(labels) == len(plots) == 36
    for label in labels:
        text, margin = read(label.find("svg"))
        assert text == f"plot {label.select_one('.plot').text}, study {short_id(definition)}"
        assert margin >= QUIET_ZONE


@pytest.mark.parametrize("name", ["7", "203", "Süd-3", "North-12b west"])
def test_other_names_of_plots_can_be_read_as_well(
    definition: Definition, plots: pd.DataFrame, name: str
) -> None:
    one = plots.head(1).assign(plot=name)
    soup = BeautifulSoup(labels_page(definition, one, "a4"), "html.parser")
    assert read(soup.find("svg"))[0] == f"plot {name}, study {short_id(definition)}"


def test_a_name_is_written_as_large_as_it_fits(definition: Definition, plots: pd.DataFrame) -> None:
    few = plots.head(3).assign(plot=["203", "West-12", "North-12b west"], walk=[1, 2, 3])
    assert [one.size for one in plot_labels(definition, few)] == ["large", "middling", "small"]


def test_labels_come_in_walking_order_ten_a_sheet(page: BeautifulSoup, plots: pd.DataFrame) -> None:
    walked = list(plots.sort_values("walk")["plot"])
    assert [one.text for one in page.select(".plot")] == walked
    sheets = [len(sheet.select(".label")) for sheet in page.select(".sheet")]
    assert sheets == [PER_PAGE, PER_PAGE, PER_PAGE, 6]


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_ten_labels_and_their_head_fit_on_the_paper(
    definition: Definition, plots: pd.DataFrame, paper: str
) -> None:
    html = labels_page(definition, plots, paper)
    # ISO 216 and ANSI/ASME Y14.1 [mm].
    width, height = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}[paper]
    top, side, bottom = map(float, re.findall(r"@page \{ margin: (\S+)mm (\S+)mm (\S+)mm", html)[0])
    wide, high = (
        float(one) for one in re.findall(r"(\d+)mm 98mm; grid-auto-rows: (\d+)mm", html)[0]
    )
    head = float(re.findall(r"header \{ height: (\d+)mm", html)[0])
    assert 2 * wide + 2 * side <= width
    assert head + 5 * high + top + bottom <= height


def test_no_label_knows_the_treatments(
    definition: Definition, plots: pd.DataFrame, page: BeautifulSoup
) -> None:
    dealt_otherwise = plots.assign(
        cover=plots["cover"].to_numpy()[::-1], aeration=plots["aeration"].to_numpy()[::-1]
    )
    assert list(dealt_otherwise["cover"]) != list(plots["cover"])
    made = labels_page(definition, plots, "letter")
    assert made == labels_page(definition, dealt_otherwise, "letter")
    words = page.get_text(" ").lower()
    for factor in definition.treatments.values():
        for name, level in factor.levels.items():
            assert re.search(rf"\b{name}\b", words) is None
            assert level.label.lower() not in words
    for whole in plots["whole_plot"].unique():
        assert re.search(rf"\b{whole.lower()}\b", words) is None


class TestWhereALabelStands:
    def test_the_quadrat_is_found_from_the_label(self) -> None:
        # A quadrat of 2 by 3 ft in the middle of 10 by 6 ft: (10 - 2) / 2 and (6 - 3) / 2.
        definition = sound("green_cover", quadrat=["2 ft", "3 ft"])
        notes = {one.note for one in plot_labels(definition, drawn(definition))}
        assert notes == {
            "Stands at the plot's lower left corner on the map. Quadrat of 2 × 3 ft: its nearest "
            "corner is 4 ft right and 1.5 ft up from here."
        }

    def test_each_of_several_quadrats_is_found_where_the_places_are(self) -> None:
        # Three of 2 by 2 ft side by side around the middle of 10 by 6 ft: (10 - 3 * 2) / 2 and
        # (6 - 2) / 2 ft to the corner of the first.
        definition = sound("green_cover", per_plot=3, quadrat=["2 ft", "2 ft"])
        plots = drawn(definition)
        notes = {one.note.partition("map. ")[2] for one in plot_labels(definition, plots)}
        assert notes == {
            "3 quadrats of 2 × 2 ft; nearest corner from here, numbers 1 to 3: 2, 4 and 6 ft right "
            "and 2 ft up."
        }
        places = sampling_places(plots.head(1), definition).drop_duplicates("sample")
        corners = [round((x - 0.3048) / 0.3048, 2) for x in places["x_m"]]
        assert corners == [2, 4, 6]

    def test_quadrats_in_two_rows(self) -> None:
        definition = sound("green_cover", per_plot=4, quadrat=["3 ft", "2 ft"])
        note = plot_labels(definition, drawn(definition))[0].note
        assert note.endswith(
            "4 quadrats of 3 × 2 ft; nearest corner from here, numbers 1 to 2: 2 and 5 ft right "
            "and 1 ft up; numbers 3 to 4: 2 and 5 ft right and 3 ft up."
        )

    def test_quadrats_in_many_rows_have_room_on_a_label(self) -> None:
        definition = sound("green_cover", per_plot=9, quadrat=["2 ft", "1 ft"])
        note = plot_labels(definition, drawn(definition))[0].note
        assert note.endswith(
            "numbers 1 to 3: 2, 4 and 6 ft right and 1.5 ft up; each further row is 1 ft higher."
        )

    def test_a_quadrat_that_does_not_fit_is_said_to(self) -> None:
        one = sound("green_cover", quadrat=["12 ft", "3 ft"])
        assert plot_labels(one, drawn(one))[0].note.endswith(
            "map. Quadrat of 12 × 3 ft does not fit into the 8 × 4 ft sampled."
        )
        three = sound("green_cover", per_plot=3, quadrat=["3 ft", "3 ft"])
        assert plot_labels(three, drawn(three))[0].note.endswith(
            "map. 3 quadrats of 3 × 3 ft do not fit into the 8 × 4 ft sampled."
        )
        whole = sound("green_cover", quadrat=["8 ft", "4 ft"])
        assert "is 1 ft right and 1 ft up" in plot_labels(whole, drawn(whole))[0].note

    def test_without_a_quadrat_the_edge_is_told(
        self, definition: Definition, plots: pd.DataFrame
    ) -> None:
        assert plot_labels(definition, plots)[0].note.endswith(
            "Sample no nearer than 1 ft to any edge."
        )
        bare = plot_labels(layout(definition, edge_left_out=0.0), plots)[0]
        assert bare.note == "Stands at the plot's lower left corner on the map."

    def test_block_or_row_and_column(self, definition: Definition, plots: pd.DataFrame) -> None:
        assert plot_labels(definition, plots)[0].place == "Block 1"
        loose = plot_labels(definition, plots.assign(block=""))[0]
        assert loose.place == "Row 1, column 1"

    def test_the_ground_in_its_own_words(self, definition: Definition, plots: pd.DataFrame) -> None:
        two = layout(definition, grounds={"upper": "Upper field", "lower": "Lower field"})
        halves = plots.assign(ground=["lower"] * 18 + ["upper"] * 18)
        labels = plot_labels(two, halves)
        assert labels[0].place == "Lower field · Block 1"
        assert {one.place.partition(" · ")[0] for one in labels[18:]} == {"Upper field"}


def test_the_code_holds_no_address(definition: Definition) -> None:
    assert re.fullmatch(r"plot 203, study [0-9a-f]{6}", code_text(definition, "203"))
