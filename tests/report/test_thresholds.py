"""Other windows of green on the page: hangs or does not, the table, the picture, nothing early."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product

import numpy as np
import pandas as pd
import pytest
from bs4 import BeautifulSoup
from matplotlib.colors import to_rgba

from wintersward.report.drawing import INK
from wintersward.report.page import Page
from wintersward.report.threshold_answers import hangings
from wintersward.report.threshold_figures import (
    answers_by_window,
    answers_by_window_alt,
    covers_by_window,
    covers_by_window_alt,
    threshold_pictures,
)
from wintersward.report.thresholds import (
    cover_words,
    grid_words,
    threshold_words,
    thresholds_context,
    windows_table,
)
from wintersward.trial import Definition

LOWER, UPPER, FLOORS = (40.0, 45.0, 50.0, 55.0, 60.0), (165.0, 170.0, 175.0), (0.0, 0.1)
DAY = pd.Timestamp("2026-03-24")


def windows() -> pd.DataFrame:
    columns = ["hue_low", "hue_high", "saturation_low"]
    frame = pd.DataFrame(list(product(LOWER, UPPER, FLOORS)), columns=columns)
    own = (frame == [50.0, 170.0, 0.0]).all(axis=1)
    names = [f"hash{at:02d}" for at in range(len(frame))]
    told = {"measure": "green_cover", "date": DAY, "window": names}
    return frame.assign(**told, declared=np.where(own, "yes", ""))


@pytest.fixture
def covers() -> pd.DataFrame:
    """Thirty windows: 62 % by the declared one; narrower ones see less."""
    frame = windows()
    mean = 62 - 0.8 * (frame["hue_low"] - 50) + 0.1 * (frame["hue_high"] - 170)
    mean -= 10 * frame["saturation_low"]
    return frame.assign(plots=35, mean=mean, lowest=mean - 20, highest=mean + 17)


@pytest.fixture
def answers() -> pd.DataFrame:
    """Differences of 9.5 to 12.5 points, each with an interval of 5 points either way."""
    frame = windows()
    apart = 11 + 0.15 * (frame["hue_low"] - 50)
    ends = {"lower": apart - 5, "upper": apart + 5}
    told = {"left": "fleece", "right": "open", "se": 2.2, "df": 10.0, "verdict": "size open"}
    return frame.assign(difference=apart, **ends, **told)


def moved(answers: pd.DataFrame, chosen: pd.Series, **values: object) -> pd.DataFrame:
    made = answers.copy()
    for name, value in values.items():
        made.loc[chosen, name] = value
    return made


def said(answers: pd.DataFrame, definition: Definition) -> str:
    (one,) = threshold_words(answers, definition)
    return str(one)


class TestWords:
    def test_it_does_not_hang(self, answers: pd.DataFrame, definition: Definition) -> None:
        assert said(answers, definition) == (
            "The conclusion did not change by any of the 30 windows tried. By the declared window "
            "spun-bond fleece minus no cover is +11.0 points, and the interval leaves out zero; by "
            "30 windows it lies between +9.5 and +12.5 points, every interval leaves out zero on "
            "that side, and the verdict on 8 points, the smallest difference that matters, is the "
            "same by all of them."
        )

    def test_it_hangs(self, answers: pd.DataFrame, definition: Definition) -> None:
        hanging = moved(answers, answers["hue_low"] == 40, lower=-0.5, verdict="cannot tell")
        assert said(hanging, definition) == (
            "The conclusion depends on the threshold of green. By the declared window spun-bond "
            "fleece minus no cover is +11.0 points, and the interval leaves out zero; by 30 "
            "windows it lies between +9.5 and +12.5 points, and by 6 of them the interval does not "
            "leave out zero on that side."
        )

    def test_the_other_side_of_zero_is_another_conclusion(
        self, answers: pd.DataFrame, definition: Definition
    ) -> None:
        turned = moved(answers, answers["hue_low"] == 40, lower=-16.0, upper=-6.0, difference=-11.0)
        assert said(turned, definition).startswith("The conclusion depends on the threshold")
        assert "lies between −11.0 and +12.5 points, and by 6 of them" in said(turned, definition)

    def test_only_the_size_hangs(self, answers: pd.DataFrame, definition: Definition) -> None:
        sized = moved(answers, answers["hue_low"] == 60, lower=8.5, verdict="beyond")
        assert said(sized, definition) == (
            "That there is a difference held by all of the 30 windows of green tried, but what "
            "can be said of its size did not. By the declared window spun-bond fleece minus no "
            "cover is +11.0 points, and the interval leaves out zero; by 30 windows it lies "
            "between +9.5 and +12.5 points, every interval leaves out zero on that side, but by 6 "
            "of them the verdict on 8 points, the smallest difference that matters, is another."
        )

    def test_the_verdict_of_the_page_counts_as_well(
        self, answers: pd.DataFrame, definition: Definition
    ) -> None:
        """The code of the table may stay while the interval comes to lie below what matters."""
        below = moved(answers, answers["hue_low"] == 40, upper=7.9)
        assert hangings(below, definition)[0].hangs == "size"

    def test_zero_is_held(self, answers: pd.DataFrame, definition: Definition) -> None:
        held = answers.assign(lower=-1.0, verdict="cannot tell")
        assert "the interval holds zero; by 30 windows" in said(held, definition)
        assert "every interval holds zero, and the verdict" in said(held, definition)
        left = moved(held, held["hue_low"] == 60, lower=0.5, verdict="size open")
        assert said(left, definition).startswith("The conclusion depends")
        assert said(left, definition).endswith("by 6 of them the interval leaves out zero.")
        alike = moved(held, held["hue_low"] == 40, upper=6.0, verdict="equivalent")
        assert said(alike, definition).startswith(
            "That these data cannot tell the treatments apart held by all of the 30 windows of "
            "green tried, but what can be said of the size did not."
        )

    def test_windows_that_cannot_answer_are_counted(
        self, answers: pd.DataFrame, definition: Definition
    ) -> None:
        lost = moved(
            answers, answers["hue_low"] == 60, difference=np.nan, lower=np.nan, upper=np.nan
        )
        assert "by 24 windows it lies between +9.5 and +11.8 points" in said(lost, definition)
        assert said(lost, definition).endswith(
            "By 6 further windows the comparison cannot be made."
        )

    def test_without_the_answer_itself_nothing_is_said(
        self, answers: pd.DataFrame, definition: Definition
    ) -> None:
        own = answers["declared"] == "yes"
        lost = moved(answers, own, difference=np.nan, lower=np.nan, upper=np.nan)
        assert threshold_words(lost, definition) == []
        assert threshold_words(answers.iloc[:0], definition) == []

    def test_a_family_is_told_pair_by_pair(
        self, answers: pd.DataFrame, declared: Definition
    ) -> None:
        woven = moved(
            answers.assign(left="woven"),
            answers["hue_low"] == 60,
            lower=-1.0,
            verdict="cannot tell",
        )
        both = pd.concat([answers, woven], ignore_index=True)
        first, second = map(str, threshold_words(both, declared))
        assert first.startswith("Spun-bond fleece minus no cover: the conclusion did not change")
        assert second.startswith("Woven permeable cover minus no cover: the conclusion depends")

    def test_numbers_know_their_places(self, answers: pd.DataFrame, definition: Definition) -> None:
        (one,) = threshold_words(answers, definition)
        tied = BeautifulSoup(str(one.__html__()), "html.parser").find_all("data")
        own = int(answers.index[answers["declared"] == "yes"][0])
        assert tied[0]["title"] == f"window_answers.csv:{own + 2}"
        assert [part["value"] for part in tied] == ["11", "9.5", "12.5"]

    def test_grid_and_covers(self, covers: pd.DataFrame) -> None:
        assert str(grid_words(covers)) == (
            "30 windows were tried: a lower edge of hue from 40 to 60 degrees, an upper edge from "
            "165 to 175 degrees, and a lowest saturation from 0 to 0.1."
        )
        assert [str(one) for one in cover_words(covers)] == [
            "On 24 March 2026 the mean cover of all plots is 62.0 % by the declared window, and "
            "from 52.5 to 70.5 % by all that were tried: where green begins moves the level itself."
        ]


def cells(table: str) -> list[list[str]]:
    rows = BeautifulSoup(table, "html.parser").find_all("tr")
    return [[cell.get_text() for cell in row.find_all(["th", "td"])] for row in rows]


class TestTable:
    def test_the_windows_that_lie_furthest(
        self, covers: pd.DataFrame, answers: pd.DataFrame, definition: Definition
    ) -> None:
        heads, own, *others = cells(windows_table(covers, answers, definition))
        assert heads[-3:] == ["difference [points]", "95 % interval [points]", "against 8 points"]
        assert own == ["as declared", "50 to 170", "0", "62.0", "+11.0", "+6.0 to +16.0"] + [
            "not settled"
        ]
        assert [row[:4] for row in others] == [
            ["least green", "60 to 165", "0.1", "52.5"],
            ["most green", "40 to 175", "0", "70.5"],
            ["smallest difference", "40 to 165", "0", "69.5"],
            ["largest difference", "60 to 165", "0", "53.5"],
        ]

    def test_covers_alone(
        self, covers: pd.DataFrame, answers: pd.DataFrame, definition: Definition
    ) -> None:
        none = answers.iloc[:0]
        heads, own, *others = cells(windows_table(covers, none, definition))
        assert heads[-3:] == ["mean cover [%]", "lowest plot [%]", "highest plot [%]"]
        assert own == ["as declared", "50 to 170", "0", "62.0", "42.0", "79.0"]
        assert len(others) == 2
        assert windows_table(covers.iloc[:0], none, definition) == ""


class TestPicture:
    def test_bands_hold_every_window(self, answers: pd.DataFrame, definition: Definition) -> None:
        wider = moved(answers, answers["hue_high"] == 175, upper=20.0)
        figure = answers_by_window(wider, definition)
        assert len(figure.axes) == len(FLOORS)
        for axes in figure.axes:
            pale = axes.collections[0].get_paths()[0].vertices
            assert (pale[:, 0].min(), pale[:, 0].max()) == (40, 60)
            assert (pale[:, 1].min(), pale[:, 1].max()) == (4.5, 20.0)
            low, high = axes.get_ylim()
            assert low < -8 < 20 < high
        marked = [
            line
            for axes in figure.axes
            for line in axes.lines
            if line.get_marker() == "o" and to_rgba(line.get_color()) == to_rgba(INK)
        ]
        assert [(*line.get_xdata(), *line.get_ydata()) for line in marked] == [(50.0, 11.0)]

    def test_its_words(
        self, covers: pd.DataFrame, answers: pd.DataFrame, definition: Definition
    ) -> None:
        assert answers_by_window_alt(answers, definition) == (
            "Differences in green cover, in points, by 30 windows of green around the declared "
            "one, against zero and 8 points. Spun-bond fleece minus no cover: declared window "
            "+11.0 (+6.0 to +16.0); all windows +9.5 to +12.5, their intervals within +4.5 to "
            "+17.5; by 30 of 30 the interval leaves out zero on that side."
        )
        (picture,) = threshold_pictures(covers, answers, definition)
        assert picture.name == "thresholds"
        assert "95 % intervals" in picture.caption
        assert picture.caption.endswith("Shaded: below 8 points.")

    def test_covers_tell_no_treatment_and_have_no_bar(
        self, covers: pd.DataFrame, answers: pd.DataFrame, definition: Definition
    ) -> None:
        (picture,) = threshold_pictures(covers, answers.iloc[:0], definition)
        assert picture.alt == (
            "Green cover of all plots on 24 March 2026, in %, by 30 windows of green: mean 62.0 by "
            "the declared window, 52.5 to 70.5 by all; single plots from 32.5 to 87.5."
        )
        for word in ("interval", "fleece", "no cover"):
            assert word not in picture.alt + picture.caption
        figure = covers_by_window(covers, definition)
        assert all(axes.get_ylim() == (0, 100) for axes in figure.axes)
        assert all(len(axes.collections) == 2 for axes in figure.axes)  # bands, no bar

    def test_a_family_has_a_row_a_pair(self, answers: pd.DataFrame, declared: Definition) -> None:
        both = pd.concat([answers, answers.assign(left="woven")], ignore_index=True)
        assert len(answers_by_window(both, declared).axes) == 2 * len(FLOORS)
        assert "Woven permeable cover minus no cover: declared" in answers_by_window_alt(
            both, declared
        )

    def test_nothing_scored_gives_no_picture(
        self, covers: pd.DataFrame, answers: pd.DataFrame, definition: Definition
    ) -> None:
        assert threshold_pictures(covers.iloc[:0], answers.iloc[:0], definition) == []
        assert answers_by_window_alt(answers.iloc[:0], definition).endswith("windows of green.")
        assert covers_by_window_alt(covers.iloc[:0], definition).endswith("windows of green yet.")


class TestSection:
    @pytest.fixture
    def in_use(self) -> pd.DataFrame:
        return pd.DataFrame({"measure": ["green_cover"], "window": ["hash14"]})

    def test_an_answered_trial(
        self,
        make_page: Callable[..., Page],
        tables: dict[str, pd.DataFrame],
        covers: pd.DataFrame,
        answers: pd.DataFrame,
        in_use: pd.DataFrame,
        definition: Definition,
    ) -> None:
        held = {"window_covers": covers, "window_answers": answers, "green_windows": in_use}
        section = BeautifulSoup(
            make_page(tables | held, definition).section("thresholds").html, "html.parser"
        )
        assert section.h2.get_text() == "Where green begins"
        assert section.p.get_text().startswith("The conclusion did not change by any of the 30 ")
        assert section.code is None
        assert section.img["alt"].startswith("Differences in green cover, in points")
        assert len(section.find_all("table")) == 1
        assert "no further evidence" in section.find_all("p")[-1].get_text()

    def test_a_trial_that_waits(
        self,
        make_page: Callable[..., Page],
        early: dict[str, pd.DataFrame],
        covers: pd.DataFrame,
        in_use: pd.DataFrame,
        definition: Definition,
    ) -> None:
        held = {"window_covers": covers, "green_windows": in_use}
        section = make_page(early | held, definition).section("thresholds").html
        plain = BeautifulSoup(section, "html.parser").get_text()
        assert "treatments are not told apart here" in plain
        for word in ("depend", "interval", "fleece", "no cover", "difference"):
            assert word not in plain.lower()

    def test_before_the_photos(
        self,
        make_page: Callable[..., Page],
        early: dict[str, pd.DataFrame],
        definition: Definition,
    ) -> None:
        section = make_page(early, definition).section("thresholds").html
        assert "No photo of the primary date has been scored yet" in section

    def test_another_primary_measure_has_no_section(
        self, make_page: Callable[..., Page], early: dict[str, pd.DataFrame], definition: Definition
    ) -> None:
        primary = definition.analysis.primary.model_copy(update={"measure": "colour_rating"})
        analysis = definition.analysis.model_copy(update={"primary": primary})
        rated = definition.model_copy(update={"analysis": analysis})
        page = Page(early, {}, rated)
        assert thresholds_context(page)["uses"] is False
        assert page.section("thresholds").html.strip() == ""

    def test_a_demonstration(
        self, covers: pd.DataFrame, in_use: pd.DataFrame, laid_out: Callable[..., Definition]
    ) -> None:
        shown = laid_out("demonstration")
        page = Page({"window_covers": covers, "green_windows": in_use}, {}, shown)
        plain = BeautifulSoup(page.section("thresholds").html, "html.parser").get_text()
        assert "the mean cover of all plots is 62.0 %" in plain
        for word in ("conclusion", "interval", "fleece", "verdict"):
            assert word not in plain
