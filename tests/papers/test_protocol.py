"""The protocol: one page that says everything that was decided."""

from __future__ import annotations

import re
from collections.abc import Callable

import pandas as pd
import pytest
from bs4 import BeautifulSoup
from ruamel.yaml import YAML

from papers.trial_papers import SOUND, sound
from wintersward import design
from wintersward.papers.protocol import protocol
from wintersward.papers.weaknesses import prospects, weaknesses
from wintersward.trial import Definition

HASH = "d25a9121e942" + "0" * 52
MAP = b'<svg xmlns="http://www.w3.org/2000/svg"/>'
Write = Callable[..., BeautifulSoup]


@pytest.fixture(scope="module")
def soup(definition: Definition, plots: pd.DataFrame) -> BeautifulSoup:
    return BeautifulSoup(protocol(definition, plots, MAP, HASH), "html.parser")


def text_of(soup: BeautifulSoup) -> str:
    return " ".join(soup.get_text(" ").split())


def table(soup: BeautifulSoup, caption: str) -> list[list[str]]:
    for found in soup.find_all("table"):
        if found.caption.get_text() == caption:
            rows = found.select("tbody tr")
            return [[cell.get_text() for cell in row.find_all(["th", "td"])] for row in rows]
    raise AssertionError(f"no table {caption!r}")


def laid_out(kind: str, **layout: object) -> Definition:
    """Make the sound trial of covers alone in another layout."""
    data = YAML(typ="safe", pure=True).load(SOUND.read_text(encoding="utf-8"))
    kept = ("plot_size", "alley", "edge_left_out", "seed")
    data["layout"] = {"kind": kind, **{n: data["layout"][n] for n in kept}, **layout}
    del data["treatments"]["aeration"]
    return Definition.model_validate(data)


def test_it_needs_nothing_else(soup: BeautifulSoup) -> None:
    assert soup.find("script") is None
    assert soup.find("link") is None
    assert [img["src"][:26] for img in soup.find_all("img")] == ["data:image/svg+xml;base64,"]
    assert soup.img["alt"]
    assert len(soup.find_all("h1")) == 1
    policy = soup.find("meta", attrs={"http-equiv": "Content-Security-Policy"})
    assert policy["content"].startswith("default-src 'none'")


def test_headings_in_their_order(soup: BeautifulSoup) -> None:
    assert [head.get_text() for head in soup.find_all("h2")] == [
        "Question",
        "Site",
        "Treatments and dates",
        "Layout and randomisation",
        "What is the same on all plots",
        "If a cover has to come off early",
        "Observations",
        "Sizes, and what can be expected",
        "Analysis",
        "Changes",
        "Cautions",
        "Signatures",
        "Every plot",
    ]


def test_the_terms_of_the_primary_date(soup: BeautifulSoup) -> None:
    # Whole plots in six blocks, three covers: (6 - 1)(3 - 1) degrees of freedom.
    assert table(soup, "Terms of the model on the primary date") == [
        ["Cover", "a treatment", "whole plots", "10"],
        ["Block", "what surrounds the units", "–", "–"],
        ["Residual", "the error", "–", "–"],
    ]
    assert "Aeration begins later and takes no part on that date." in text_of(soup)


def test_how_many_there_are(soup: BeautifulSoup) -> None:
    heads = [one.get_text() for one in soup.select("dl.sizes dt")]
    sizes = dict(zip(heads, (one.get_text() for one in soup.select("dl.sizes dd")), strict=True))
    assert sizes["Plots"] == "36, 6 blocks"
    assert sizes["Units of the primary question, spun-bond fleece"] == "six whole plots"
    assert sizes["Green cover, observations"] == "216, on six dates"
    # Two raters on 36 plots, six dates.
    assert sizes["Colour rating, observations"] == "432, on six dates"


def test_measures_with_raters_and_second_looks(soup: BeautifulSoup) -> None:
    rows = {row[0]: row[1:] for row in table(soup, "What is observed")}
    assert rows["Green cover, primary"][:3] == ["photos, scored by computer [%]", "1", "–"]
    assert rows["Colour rating"][2] == "te and rx, each alone; 10 % of the plots twice"
    assert rows["Pull force"][:2] == ["reading on a sheet [lbf]", "3"]


def test_every_plot_has_its_row(soup: BeautifulSoup, plots: pd.DataFrame) -> None:
    rows = table(soup, "What every plot gets")
    assert [row[-3] for row in rows] == [str(name) for name in plots["plot"]]


def test_it_tells_what_can_be_expected_and_what_is_weak(
    soup: BeautifulSoup, definition: Definition, plots: pd.DataFrame
) -> None:
    said = text_of(soup)
    seen, weak = prospects(definition, plots), weaknesses(definition, plots)
    assert seen
    assert weak
    assert all(words in said for words in seen)
    lead = soup.find("p", string="Known weaknesses of the plan, as told before it was frozen:")
    assert [item.get_text() for item in lead.find_next("ul").find_all("li")] == weak


def test_it_is_signed_and_hashed(soup: BeautifulSoup, definition: Definition) -> None:
    rows = table(soup, "Who signs")
    assert [row[0] for row in rows] == [one.name for one in definition.people]
    assert HASH in text_of(soup)


def test_the_draw_is_told_with_its_seed(soup: BeautifulSoup) -> None:
    assert "drawn at random by computer with the seed 20260119" in text_of(soup)
    assert "frozen late" not in text_of(soup)


def test_a_late_plan_says_so_at_the_top(definition: Definition, plots: pd.DataFrame) -> None:
    late = ["after the covers went on", "when 1 sheet was already there"]
    made = BeautifulSoup(protocol(definition, plots, MAP, HASH, late), "html.parser")
    said = made.find(class_="late").get_text()
    assert "after the covers went on and when 1 sheet was already there" in said


def test_a_late_plan_is_not_signed_as_agreed_in_time(
    soup: BeautifulSoup, definition: Definition, plots: pd.DataFrame
) -> None:
    late = ["after the covers went on"]
    made = BeautifulSoup(protocol(definition, plots, MAP, HASH, late), "html.parser")
    assert soup.select_one(".signing p").get_text() == "Read and agreed before the covers go on."
    assert made.select_one(".signing p").get_text() == (
        "Read and agreed late, after the covers went on."
    )
    assert "Agreed before the covers go on" in text_of(soup)
    assert "before the covers go on." not in text_of(made).partition("Signatures")[2]
    assert "Agreed before" not in text_of(made)


def test_the_site_and_its_corner_post(soup: BeautifulSoup) -> None:
    site = dict(table(soup, "Where it is, and what grows there"))
    assert site["Name"] == "Alder Road ground"
    assert site["Position"] == "43.1° N, 77.6° W"
    assert site["Mowing height"] == "1 in"
    # What the definition leaves out is a line to write on.
    empty = soup.find("th", string=re.compile("^Use")).find_next("td")
    assert (empty.get_text(), empty["class"]) == ("", ["write"])
    caption = "The corner post, from two permanent marks that snow and mowers leave alone"
    assert table(soup, caption) == [["Of the plots", "", "", "", ""]]


def test_north_is_told_where_it_is_known() -> None:
    made = laid_out("randomised blocks", blocks=2, north=30)
    soup = BeautifulSoup(protocol(made, design.draw(made), MAP, HASH), "html.parser")
    site = dict(table(soup, "Where it is, and what grows there"))
    assert site["North on the map"] == "30° clockwise from up the page"


def test_lines_for_what_is_alike_and_for_early_removal(soup: BeautifulSoup) -> None:
    alike = table(soup, "Done alike on every plot")
    assert [what.partition("product")[0] for what, _ in alike][3] == "Fungicide"
    assert [line for _, line in alike] == [""] * 7
    early = table(soup, "Agreed before the covers go on")
    assert [line for _, line in early] == [""] * 4
    assert "also as the plots were treated" in text_of(soup)


def test_how_photos_and_readings_are_taken(soup: BeautifulSoup) -> None:
    said = text_of(soup)
    assert "frost, dew, snow, standing water, cores or sand" in said
    assert "a grey card is photographed first" in said
    rows = {row[0]: row[1:] for row in table(soup, "On sheets")}
    assert rows["Colour rating"][0] == "Whole and half marks are allowed."
    assert set(rows) == {"Colour rating", "Pull force"}


def test_raters_who_hold_the_plan_are_named(soup: BeautifulSoup) -> None:
    assert "R. Example (groundskeeper) and T. Example (extension agent) hold this plan" in (
        text_of(soup)
    )
    other = sound()
    people = [one.model_copy(update={"role": "student"}) for one in other.people]
    blind = other.model_copy(update={"people": people})
    said = text_of(BeautifulSoup(protocol(blind, design.draw(blind), MAP, HASH), "html.parser"))
    assert "hold this plan" not in said
    assert "not for raters." in said


def test_nothing_tells_how_to_write_the_file(soup: BeautifulSoup) -> None:
    for words in ("trial.yaml", "'planning"):
        assert words not in text_of(soup)


def test_paper_of_the_place(definition: Definition, plots: pd.DataFrame) -> None:
    assert "size: letter;" in protocol(definition, plots, MAP, HASH, paper="letter")
    assert "size: A4;" in protocol(definition, plots, MAP, HASH, paper="a4")


def test_words_of_a_person_are_only_text(definition: Definition, plots: pd.DataFrame) -> None:
    evil = definition.model_copy(update={"title": "<script>x</script>", "question": "<b>"})
    html = protocol(evil, plots, MAP, HASH)
    assert "<script" not in html
    assert "&lt;script&gt;" in html


@pytest.mark.parametrize(
    ("kind", "layout", "df"),
    [
        ("randomised blocks", {"blocks": 6}, "10"),
        ("completely random", {"replicates": 4}, "9"),
        ("latin square", {}, "2"),
    ],
)
def test_other_layouts(kind: str, layout: dict[str, int], df: str) -> None:
    # (b - 1)(t - 1), t(r - 1) and (t - 1)(t - 2) for three covers.
    made = laid_out(kind, **layout)
    soup = BeautifulSoup(protocol(made, design.draw(made), MAP, HASH), "html.parser")
    first = table(soup, "Terms of the model on the primary date")[0]
    assert first == ["Cover", "a treatment", "plots", df]


def test_plots_laid_by_hand_carry_their_statement() -> None:
    by_hand = {"how": "numbers drawn from a hat.", "signed": "rx", "date": "2026-01-05"}
    made = laid_out("randomised blocks", blocks=6, laid_by_hand=by_hand)
    said = text_of(BeautifulSoup(protocol(made, design.draw(made), MAP, HASH), "html.parser"))
    assert "The plots were not drawn by computer." in said
    assert 'signed rx on 5 January 2026: "numbers drawn from a hat."' in said
    assert "drawn at random by computer" not in said


def test_blocks_say_on_which_ground_they_lie() -> None:
    grounds = {"upper": "Upper field", "lower": "Lower field"}
    made = laid_out("randomised blocks", blocks=2, grounds=grounds)
    soup = BeautifulSoup(protocol(made, design.draw(made), MAP, HASH), "html.parser")
    rows = table(soup, "What every plot gets")
    blocks = [row[0] for row in rows if len(row) == 3]
    assert blocks == ["1, Upper field", "2, Upper field", "3, Lower field", "4, Lower field"]


def test_a_demonstration_promises_no_test() -> None:
    made = laid_out("demonstration")
    soup = BeautifulSoup(protocol(made, design.draw(made), MAP, HASH), "html.parser")
    said = text_of(soup)
    assert "A demonstration without replication" in said
    assert "Nothing is tested" in said or "nothing is tested" in said
    assert "what can be expected" not in said
    for words in ("Null hypo", "degrees of freedom", "andomisation test", "Units of", "rimary"):
        assert words not in said
