"""Pictures of temperature, light and risk: what is drawn, what they say to who cannot see them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure

from analysis.planned import SPLIT
from report.climate_made import LEVELS, by_hand, definition_for, plots
from wintersward.report.climate_counts import plot_counts, risks, risks_alt
from wintersward.report.climate_diurnal import diurnal, diurnal_alt
from wintersward.report.climate_figures import made_pictures
from wintersward.report.climate_limits import growth_words, limit_lines, sum_lines
from wintersward.report.climate_sun import season_sun, sun_map, sun_map_alt
from wintersward.report.climate_trace import sums, sums_alt, trace, trace_alt
from wintersward.report.climate_views import thinned
from wintersward.report.picture import Picture
from wintersward.report.views import marks_of
from wintersward.runs.pictures import svg
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
Made = tuple[Definition, Tables]
NAMES = ["diurnal_soil", "trace_soil", "degree_days", "sun_hours", "risks"]


@pytest.fixture(scope="module")
def us(tmp_path_factory: pytest.TempPathFactory) -> Made:
    definition = definition_for(tmp_path_factory.mktemp("us"))
    return definition, by_hand(definition)


@pytest.fixture(scope="module")
def metric(tmp_path_factory: pytest.TempPathFactory) -> Made:
    definition = definition_for(tmp_path_factory.mktemp("metric"), "metric")
    return definition, by_hand(definition)


@pytest.fixture(scope="module")
def drawn(us: Made) -> dict[str, Picture]:
    made = made_pictures(us[1], us[0], plots(), LEVELS)
    return {picture.name: picture for picture in made}


def strokes(figure: Figure) -> list[np.ndarray]:
    return [line.get_xydata() for line in figure.axes[0].lines if line.get_linewidth() == 1.9]


def test_every_picture_has_a_name_words_and_a_small_file(drawn: dict[str, Picture]) -> None:
    assert list(drawn) == NAMES
    for picture in drawn.values():
        assert any(letter.isdigit() for letter in picture.alt)
        assert picture.caption.endswith(".")
        assert len(svg(picture.figure)) < 60_000


def test_before_the_primary_date_only_the_sun_is_shown(us: Made) -> None:
    waiting = ("under_cover", "under_cover_means", "diurnal", "degree_days_by_level")
    early = {name: frame for name, frame in us[1].items() if name not in waiting}
    early["risks"] = early["risks"].assign(level="")
    assert [one.name for one in made_pictures(early, us[0], plots(), LEVELS)] == ["sun_hours"]
    assert made_pictures({}, us[0], plots(), LEVELS) == []


def test_a_demonstration_has_means_and_no_bands(tmp_path: Path) -> None:
    whole = ("    applied: aeration\n", ""), (SPLIT, "  kind: demonstration\n")
    definition = definition_for(tmp_path, "us", *whole)
    tables = by_hand(definition)
    assert not {"lower", "upper"} & set(tables["diurnal"])
    made = made_pictures(tables, definition, plots(), LEVELS)
    assert [picture.name for picture in made] == NAMES
    course = made[0]
    assert [len(axes.collections) for axes in course.figure.axes] == [0, 0]
    assert "bands" not in course.caption


class TestDay:
    def test_a_panel_a_cover_with_the_control_in_each(self, us: Made, metric: Made) -> None:
        figure = diurnal(us[1]["diurnal"], us[0], "soil")
        assert [a.get_title("left") for a in figure.axes] == [
            "Spun-bond fleece",
            "Woven permeable cover",
        ]
        marks = marks_of(us[0], "cover")
        for axes, level in zip(figure.axes, ("fleece", "woven"), strict=True):
            colours = [line.get_color() for line in axes.lines]
            assert colours == [marks["open"].colour, marks[level].colour]
            assert len(axes.collections) == 2
        # 1.5 degC at midnight are 34.7 degF.
        assert figure.axes[0].lines[1].get_ydata()[0] == pytest.approx(34.7)
        other = diurnal(metric[1]["diurnal"], metric[0], "soil")
        assert other.axes[0].lines[1].get_ydata()[0] == pytest.approx(1.5)

    def test_it_is_told_in_words(self, us: Made) -> None:
        assert diurnal_alt(us[1]["diurnal"], us[0], "soil") == (
            "Line chart of soil by the hour, in °F, on days under cover. With no cover from 32.0 "
            "at 0:00 to 36.1 at 23:00. Under spun-bond fleece from 34.7 at 0:00 to 38.8 at 23:00. "
            "Under woven permeable cover from 31.1 at 0:00 to 35.2 at 23:00."
        )

    def test_without_days_it_says_so(self, us: Made) -> None:
        figure = diurnal(us[1]["diurnal"].iloc[:0], us[0], "soil")
        assert "no days under cover yet" in figure.texts[0].get_text()


class TestSeason:
    def test_plots_are_faint_and_treatments_strong(self, us: Made) -> None:
        tables = us[1]
        figure = trace(tables["daily_facts"], tables["under_cover"], us[0], "soil", LEVELS)
        faint = [line for line in figure.axes[0].lines if line.get_alpha() == 0.34]
        assert len(faint) == len(LEVELS)
        assert len(strokes(figure)) == 3
        # Straight lines need their ends alone: 0 to 8.7 degC, 32 to 47.66 degF.
        assert strokes(figure)[0][:, 1] == pytest.approx([32.0, 47.66])

    def test_a_day_that_was_not_seen_breaks_the_line(self, us: Made) -> None:
        facts = us[1]["daily_facts"]
        gone = facts[facts["date"] != pd.Timestamp("2026-02-10")]
        low = gone.assign(completeness=gone["completeness"].where(gone["plot"] != "1A", 40.0))
        figure = trace(low, us[1]["under_cover"], us[0], "soil", LEVELS)
        faint = [line for line in figure.axes[0].lines if line.get_alpha() == 0.34]
        assert len(faint) == len(LEVELS) - 1
        assert all(np.isnan(line.get_ydata()).sum() == 1 for line in faint)

    def test_what_the_definition_decides_by_is_marked(self, us: Made, metric: Made) -> None:
        words = ["40 °F: shoots stop", "41 °F: rule for covers off (3 days in a row); 3-day mean"]
        assert [line.words for line in limit_lines(us[0], "soil")] == words
        assert limit_lines(metric[0], "soil")[1].words == words[1].replace("41 °F", "5 °C")
        assert limit_lines(us[0], "canopy") == []
        figure = trace(us[1]["daily_facts"], us[1]["under_cover"], us[0], "soil", LEVELS)
        assert set(words) <= {text.get_text() for text in figure.axes[0].texts}
        assert [line.words for line in sum_lines(us[0])] == ["180 °F d"]

    def test_growth_stops_for_cool_season_grasses_in_soil_at_4_in_alone(self, us: Made) -> None:
        said = growth_words(us[0], "soil")
        assert said.startswith("Below 40 °F shoots of cool-season grasses cease to grow (North")
        turf = us[0].site.turf.model_copy(update={"species": ["Cynodon dactylon"]})
        site = us[0].site.model_copy(update={"turf": turf})
        assert growth_words(us[0].model_copy(update={"site": site}), "soil") == ""
        deep = us[0].measures["soil"].model_copy(update={"depth": 0.3})
        measures = {**us[0].measures, "soil": deep}
        assert growth_words(us[0].model_copy(update={"measures": measures}), "soil") == ""

    def test_means_are_told_on_a_few_days(self, us: Made) -> None:
        said = trace_alt(us[1]["under_cover"], us[0], "soil")
        assert "20 January 2026: no cover 32.0, spun-bond fleece 34.7, woven" in said
        marked = "40 °F: shoots stop, 41 °F: rule for covers off (3 days in a row); 3-day mean"
        assert said.endswith(f"Marked: {marked}.")

    def test_sums_of_degree_days(self, us: Made) -> None:
        tables = us[1]
        by_plot, by_level = tables["degree_day_sums"], tables["degree_days_by_level"]
        figure = sums(by_plot, by_level, us[0], LEVELS)
        # To 17 April: 0.1 x 87 x 88 / 2 = 382.8 degC d are 689 degF d.
        assert strokes(figure)[0][-1, 1] == pytest.approx(689.04)
        assert "17 April 2026: no cover 689," in sums_alt(by_level, us[0])
        without = sums(by_plot.assign(sum=float("nan")), by_level, us[0], LEVELS)
        assert len(strokes(without)) == 3

    def test_points_that_stay_keep_the_line(self) -> None:
        x = np.linspace(0, 400, 200)
        y = np.sin(x / 20) * 30
        kept = thinned(x, y, 1.0)
        assert len(kept) < 60
        # The steepest part rises by 1.5: across it, 1 is 1.8 upright.
        assert np.abs(np.interp(x, x[kept], y[kept]) - y).max() < 1.81
        assert thinned([0.0], [1.0], 1.0) == [0]


class TestSun:
    def test_months_count_by_their_days(self, us: Made) -> None:
        hours = us[1]["sun_hours"].copy()
        hours.loc[hours["month"] == "2026-03-01", "sun_hours"] += 1
        found = season_sun(hours).set_index("plot")
        assert found.loc["101", "sun_hours"] == pytest.approx(8 + 31 / 59)

    def test_each_plot_has_its_hours(self, us: Made) -> None:
        figure = sun_map(us[1]["sun_hours"], plots(), us[0])
        written = [text.get_text() for text in figure.axes[0].texts]
        assert {"101", "8.0", "9.0", "10.0", "8.0 h a day, the least"} <= set(written)
        fills = {patch.get_facecolor() for patch in figure.axes[0].patches}
        assert len(fills) >= 3
        alike = us[1]["sun_hours"].assign(sun_hours=9.0)
        written = [text.get_text() for text in sun_map(alike, plots(), us[0]).axes[0].texts]
        assert written.count("9.0 h a day") == 1

    def test_it_is_told_in_words(self, us: Made) -> None:
        assert sun_map_alt(us[1]["sun_hours"], us[0]) == (
            "Map of 3 plots with their hours of direct sun a day, mean over the trial: 8.0 on plot "
            "101, 10.0 on plot 103; 10.0 with nothing around; what stands around: stand."
        )
        none = us[1]["sun_hours"].iloc[:0]
        assert "No hours of sun" in sun_map(none, plots(), us[0]).texts[0].get_text()
        assert sun_map_alt(none, us[0]) == "No hours of sun were computed."


class TestRisks:
    def test_covered_and_open_days_of_a_plot_are_one_mark(self, us: Made) -> None:
        found = plot_counts(us[1]["risks"]).set_index("plot")["counted"]
        assert found.to_dict() == {"1A": 5.0, "1B": 12.0, "2B": 20.0, "1C": 7.5}
        figure = risks(us[1]["risks"], us[0])
        marks = {line.get_marker(): line for line in figure.axes[0].lines if len(line.get_xdata())}
        fleece = marks[marks_of(us[0], "cover")["fleece"].marker]
        assert list(fleece.get_xdata()) == [12.0, 20.0]
        assert figure.axes[0].get_title("left") == "Pink snow mould band [hours]"

    def test_it_is_told_in_words(self, us: Made) -> None:
        assert risks_alt(us[1]["risks"], us[0]) == (
            "Hours or days of risks, a mark a plot. Pink snow mould band, hours: no cover 5 (one "
            "plot), spun-bond fleece 12 to 20 (two plots), woven permeable cover 8 (one plot)."
        )
        none = us[1]["risks"].assign(counted=0.0)
        assert "none on any plot, and not drawn" in risks_alt(none, us[0])
        assert "No risk was counted" in risks(none, us[0]).texts[0].get_text()
