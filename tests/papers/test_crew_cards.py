from __future__ import annotations

import base64
import datetime as dt
import re

import pandas as pd
import pytest
from bs4 import BeautifulSoup

from papers.trial_papers import sound
from wintersward.papers.crew_cards import card_cautions, crew_card
from wintersward.report.cautions import cautions
from wintersward.trial import Definition
from wintersward.trial.schema import Layout

MAP = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 2 1"><path d="M0 0h1"/></svg>'


@pytest.fixture(scope="module")
def card(definition: Definition, plots: pd.DataFrame) -> BeautifulSoup:
    return BeautifulSoup(crew_card(definition, plots, "letter", {"": MAP}), "html.parser")


def sections(card: BeautifulSoup) -> dict[str, str]:
    found = {}
    for section in card.find_all("section"):
        head = " ".join(section.h2.get_text().split())
        found[head] = " ".join(section.get_text(" ").split())
    return found


class TestCautions:
    @pytest.mark.parametrize("units", ["us", "metric"])
    def test_the_report_s_own_words_and_sources(
        self, definition: Definition, plots: pd.DataFrame, units: str
    ) -> None:
        read = definition.model_copy(update={"units": units})
        soup = BeautifulSoup(crew_card(read, plots, "a4"), "html.parser")
        shown = [" ".join(item.get_text().split()) for item in soup.select(".cautions li")]
        assert shown == [f"{c.text} [{c.source}]" for c in card_cautions(read)]

    def test_only_what_speaks_of_the_report_is_left_out(self, definition: Definition) -> None:
        left_out = [c.text for c in cautions("us") if c not in card_cautions(definition)]
        assert [text[:20] for text in left_out] == ["Whether a field is o"]

    @pytest.mark.parametrize(
        "matter",
        ["is a sail", "enough people", "gusts", "high-visibility", "magnet"]
        + ["irrigation heads", "lock", "eye and foot protection", "licensed applicator"]
        + ["local law", "frozen or saturated", "snow tears covers", "sunny days", "snow mould"],
    )
    def test_every_matter_is_warned_of(self, card: BeautifulSoup, matter: str) -> None:
        assert matter in card.select_one(".cautions").get_text().lower()

    def test_steps_say_that_they_have_no_source_and_who_goes_first(
        self, card: BeautifulSoup
    ) -> None:
        told = " ".join(card.get_text(" ").split())
        assert "The steps above are common practice, no source" in told
        assert "Local codes" in told
        assert "licensed practitioner" in told


class TestDays:
    def test_each_day_of_work_with_its_date(self, card: BeautifulSoup) -> None:
        # Weekdays of 2026: 1 January is a Thursday (ISO 8601 calendar).
        assert list(sections(card))[:5] == [
            "Covers on Monday 19 January 2026",
            "While covers lie",
            "Covers off Monday 9 March 2026",
            "Aeration Wednesday 25 March 2026",
            "Every visit",
        ]

    def test_treatments_with_what_tells_them_apart(self, card: BeautifulSoup) -> None:
        found = sections(card)
        covers = found["Covers on Monday 19 January 2026"]
        assert (
            "Spun-bond fleece 0.9 oz/yd², lets 80 % of the light through six whole plots" in covers
        )
        assert "No cover six whole plots" in covers
        tines = found["Aeration Wednesday 25 March 2026"]
        assert "hollow, 0.75 in outside, 2 in by 2 in apart, 4 in deep 18 subplots" in tines
        assert "locked out" in tines

    def test_pins_out_equal_pins_in(self, card: BeautifulSoup) -> None:
        found = sections(card)
        assert "counted out" in found["Covers on Monday 19 January 2026"]
        off = found["Covers off Monday 9 March 2026"]
        assert "counted in" in off
        assert "Magnet" in off
        assert "finds steel only" in off
        assert "by eye and by hand" in off
        assert all("Never in gusts" in text for head, text in found.items() if "Covers o" in head)

    def test_visits_name_measures_and_days(self, card: BeautifulSoup) -> None:
        told = sections(card)["Every visit"]
        days = "15 January, 10, 16 and 24 March and 4 and 17 April 2026"
        assert f"Green cover, colour rating {days}" in told
        assert "Pull force 24 March and 17 April 2026" in told
        assert "nearer than 1 ft" in told
        assert "handed out when the first is given in" in told

    def test_without_second_looks_no_second_sheet_is_told_of(self, plots: pd.DataFrame) -> None:
        once = sound("colour_rating", repeats="0 %")
        assert "second-round" not in crew_card(once, plots, "a4")

    def test_a_measure_that_harms_the_turf_comes_last(self, plots: pd.DataFrame) -> None:
        cut = sound("pull_force", destructive=True)
        html = crew_card(cut, plots, "a4")
        assert "Pull force (last of all, since it harms the turf)" in html

    def test_aeration_that_is_no_treatment_is_the_same_everywhere(
        self, definition: Definition, plots: pd.DataFrame
    ) -> None:
        layout = Layout.model_validate(
            {"kind": "randomised blocks", "blocks": 6, "plot_size": ["10 ft", "6 ft"]}
            | {"alley": "2 ft", "edge_left_out": "1 ft", "seed": 7}
        )
        covers = {"cover": definition.treatments["cover"]}
        alone = definition.model_copy(update={"layout": layout, "treatments": covers})
        told = sections(BeautifulSoup(crew_card(alone, plots, "a4"), "html.parser"))
        work = told["Aeration Wednesday 25 March 2026"]
        assert "The same on every plot." in work
        assert "One tine on all its plots" not in work
        assert "for each plot" in told["Covers on Monday 19 January 2026"]

    def test_another_later_treatment_has_no_tines(
        self, definition: Definition, plots: pd.DataFrame
    ) -> None:
        held = definition.treatments["aeration"]
        plain = {n: one.model_copy(update={"tine": None}) for n, one in held.levels.items()}
        changed = {"levels": plain, "label": "Nitrogen", "applied": dt.date(2026, 3, 26)}
        both = definition.treatments | {"aeration": held.model_copy(update=changed)}
        dates = {name: day for name, day in definition.dates.items() if name != "aeration"}
        fed = definition.model_copy(update={"treatments": both, "dates": dates})
        told = sections(BeautifulSoup(crew_card(fed, plots, "a4"), "html.parser"))
        work = told["Nitrogen Thursday 26 March 2026"]
        assert "Irrigation heads" not in work
        assert "treatment off map and list, at each plot" in work


class TestMap:
    def test_it_stands_on_a_page_of_its_own_with_words_for_it(self, card: BeautifulSoup) -> None:
        image = card.select_one(".map img")
        data = image["src"].removeprefix("data:image/svg+xml;base64,")
        assert base64.b64decode(data).decode() == MAP
        assert "36 plots" in image["alt"]
        assert re.search(r"\.map \{ break-before: page; \}", card.style.text)

    def test_without_a_map_the_lists_stand_alone(
        self, definition: Definition, plots: pd.DataFrame
    ) -> None:
        soup = BeautifulSoup(crew_card(definition, plots, "letter"), "html.parser")
        assert soup.find("img") is None
        (head,) = (h.get_text() for h in soup.select(".map h2"))
        assert head == "Lists with treatments, crew only, not for raters"
        assert len(soup.select(".map .list")) == 2

    def test_lists_name_every_piece_of_turf_in_walking_order(
        self, card: BeautifulSoup, definition: Definition, plots: pd.DataFrame
    ) -> None:
        heads = [head.get_text() for head in card.select(".map h3")]
        assert heads == [
            "Cover by whole plot, in walking order",
            "Aeration by subplot, in walking order",
        ]
        shown = [
            [tuple(item.get_text().split(" ", 1)) for item in made.find_all("li")]
            for made in card.select(".map .list")
        ]
        walked = plots.sort_values("walk")
        for rows, unit, factor in zip(
            shown, ("whole_plot", "plot"), ("cover", "aeration"), strict=True
        ):
            held = walked.drop_duplicates(unit)
            levels = definition.treatments[factor].levels
            labels = [levels[level].label for level in held[factor]]
            assert rows == list(zip(held[unit], labels, strict=True))

    def test_each_ground_has_a_page_with_its_own_plots(
        self, definition: Definition, plots: pd.DataFrame
    ) -> None:
        grounds = {"upper": "Upper field", "lower": "Lower field"}
        layout = definition.layout.model_copy(update={"blocks": 3, "grounds": grounds})
        both = definition.model_copy(update={"layout": layout})
        where = plots["block"].map(lambda block: "upper" if int(block) <= 3 else "lower")
        told = plots.assign(ground=where)
        html = crew_card(both, told, "a4", {"upper": MAP, "lower": MAP})
        pages = BeautifulSoup(html, "html.parser").select(".map")
        names = [page.h2.get_text().partition(":")[0] for page in pages]
        assert names == ["Upper field", "Lower field"]
        for page, (_, held) in zip(pages, told.groupby("ground", sort=False), strict=True):
            assert page.img is not None
            listed = {item.b.get_text() for item in page.select(".list")[1].find_all("li")}
            assert listed == set(held["plot"])

    @pytest.mark.parametrize(("covers", "columns"), [(3, ["days"]), (6, ["days", "full"])])
    def test_days_may_be_parted_only_where_there_is_much(
        self, definition: Definition, plots: pd.DataFrame, covers: int, columns: list[str]
    ) -> None:
        held = definition.treatments["cover"]
        more = {f"c{at}": held.levels["woven"] for at in range(covers - 3)}
        factor = held.model_copy(update={"levels": held.levels | more})
        both = definition.treatments | {"cover": factor}
        html = crew_card(definition.model_copy(update={"treatments": both}), plots, "a4")
        assert BeautifulSoup(html, "html.parser").select_one(".days")["class"] == columns

    def test_raters_are_warned_off(self, card: BeautifulSoup) -> None:
        assert card.select_one(".notice .raters").text == "Names treatments: not for raters"
