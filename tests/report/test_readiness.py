"""Readiness on the page: verdicts in words, what stands beside them, and who decides."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.analysis.decision_columns_readiness import READINESS
from wintersward.analysis.results import empty
from wintersward.decisions.limits import AT_LEAST, AT_MOST, CANNOT_TELL, MET, NO_DATA, NOT_MET
from wintersward.decisions.rows import framed
from wintersward.report.page import Page
from wintersward.report.readiness import MET_IS_NO_MORE, readiness_context
from wintersward.report.readiness_figures import readiness_pictures
from wintersward.runs.pictures import svg
from wintersward.trial import Definition
from wintersward.trial.decided import Decisions
from wintersward.trial.schema import SheetMeasure

LIMIT = 200.169973  # 45 lbf in N
LEVELS = [
    f"{cover}:{tine}" for cover in ("open", "fleece", "woven") for tine in ("solid", "hollow")
]


def one(level: str, **changed: Any) -> dict[str, Any]:
    """Write a row of the table: met, unless it is changed."""
    row: dict[str, Any] = {
        "measure": "pull_force",
        "date": pd.Timestamp("2026-04-17"),
        "effect": "cover:aeration" if ":" in level else "cover",
        "level": level,
        "mean": 240.0,
        "se": 8.0,
        "df": 20.0,
        "sure": 90.0,
        "lower": 229.4,
        "upper": 250.6,
        "at": AT_LEAST,
        "limit": LIMIT,
        "share": np.nan,
        "reference_mean": np.nan,
        "reference_se": np.nan,
        "reference_n": 0,
        "reference": "",
        "reference_date": pd.NaT,
        "verdict": MET,
        "units": 6,
        "units_beyond": 0,
        "settle_units": 0,
        "settle": "",
        "source": "league's field guide",
        "role": "secondary",
    }
    return row | changed


OPEN = {
    "mean": 203.0,
    "lower": 192.4,
    "upper": 213.6,
    "verdict": CANNOT_TELL,
    "units_beyond": 2,
    "settle_units": 17,
    "settle": "about 17 blocks in place of 6 would have told, were mean and spread the same",
}
FLEECE = {"mean": 180.0, "lower": 169.4, "upper": 190.6, "verdict": NOT_MET, "units_beyond": 5}


def judged(*rows: dict[str, Any]) -> pd.DataFrame:
    return framed(READINESS["readiness"], rows)


def mixed(**changed: Any) -> pd.DataFrame:
    own = {"open:solid": OPEN, "fleece:hollow": FLEECE}
    return judged(*(one(level, **own.get(level, {}), **changed) for level in LEVELS))


@pytest.fixture
def limited(definition: Definition) -> Definition:
    told = {"ready_when": {"pull_force": {"at_least": "45 lbf", "on": "2026-04-17"}}}
    return definition.model_copy(update={"decisions": Decisions.model_validate(told)})


@pytest.fixture
def shown(tables: dict[str, pd.DataFrame], limited: Definition) -> Callable[..., BeautifulSoup]:
    """Fill the partial template."""

    def make(
        rows: pd.DataFrame | None = None, definition: Definition = limited, **more: pd.DataFrame
    ) -> BeautifulSoup:
        held = tables | more | {"readiness": judged() if rows is None else rows}
        page = Page(held, {}, definition)
        template = page._templates.get_template("sections/decisions/readiness.html.j2")
        return BeautifulSoup(template.render(readiness_context(page)), "html.parser")

    return make


def said(soup: BeautifulSoup) -> str:
    return re.sub(r"\s+", " ", soup.get_text(" "))


def test_every_verdict_is_said_with_its_numbers(shown: Callable[..., BeautifulSoup]) -> None:
    soup = shown(mixed())
    words = [re.sub(r"\s+", " ", item.get_text("")) for item in soup.find_all("li")]
    assert words == [
        "Met by 4 of 6 treatments; nearest to the limit no cover with hollow tine 3/4 in: 54 "
        "(bounds 52 and 56, 90 % each).",
        "Not met, 1 of 6 treatments: spun-bond fleece with hollow tine 3/4 in: 40 (bounds 38 and "
        "43, 90 % each), 5 of its 6 subplots below by themselves.",
        "These data cannot tell, 1 of 6 treatments: no cover with solid tine 3/8 in: 46 (bounds 43 "
        "and 48, 90 % each), 2 of its 6 subplots below by themselves – about 17 blocks in place "
        "of 6 would have told, were mean and spread the same. Or look at the same plots again: on "
        "a later day, or with more readings in each of them.",
    ]
    text = said(soup)
    assert "Pull force on 17 April 2026: at least 45 lbf , with 90 % confidence" in text
    assert "(league's field guide)" in text


def test_every_number_is_tied_to_the_table(shown: Callable[..., BeautifulSoup]) -> None:
    frame = mixed()
    # What was seen of other measures is tied to the means of plots.
    none = empty("plot_means")
    data = shown(frame, plot_means=none).select("li data, td data, p data")
    assert len(data) > 30
    for one_of in data:
        name, _, line = one_of["title"].partition(".csv:")
        assert name == "readiness"
        row = frame.iloc[int(line) - 2]
        assert any(format(float(row[c]), ".10g") == one_of["value"] for c in
                   ("mean", "lower", "upper", "limit", "sure", "df", "units", "units_beyond",
                    "settle_units"))  # fmt: skip


def test_met_is_never_said_to_be_more(shown: Callable[..., BeautifulSoup]) -> None:
    for rows in (mixed(), judged(*(one(level) for level in LEVELS)), None):
        text = said(shown(rows))
        assert MET_IS_NO_MORE in text
        assert "does not mean that no injury can occur" in text
        assert "Whoever answers for the field decides" in text
        assert not re.search(r"\b(is|are|was) (safe|ready|fit|playable)\b", text)
        assert "safe" not in text.lower()


def test_a_mean_on_one_side_is_never_shown_on_the_limit(
    shown: Callable[..., BeautifulSoup],
) -> None:
    close = {"mean": 203.0, "lower": 199.9, "upper": 206.1, "verdict": CANNOT_TELL}
    text = said(shown(judged(one("open", **close))))
    assert "bounds 44.9 and 46.3" in text


def test_at_most_is_judged_the_other_way(shown: Callable[..., BeautifulSoup]) -> None:
    high = one("open", at=AT_MOST, verdict=NOT_MET, units_beyond=6)
    text = said(shown(judged(high)))
    assert "at most 45 lbf" in text
    assert "6 of its 6 whole plots above by themselves" in text
    assert "of them above" in text


def test_a_share_of_established_turf_says_what_it_rests_on(
    shown: Callable[..., BeautifulSoup],
) -> None:
    old = {
        "share": 80.0,
        "reference_mean": 250.0,
        "reference_se": 6.0,
        "reference_n": 5,
        "reference": "old field",
        "reference_date": pd.Timestamp("2026-04-15"),
    }
    text = said(shown(mixed(**old)))
    assert "80 % of that of established turf, which is 45 lbf" in text
    assert "old field, 15 April 2026, two days before the day of the limit" in text
    assert "subsamples of one place, no replicates" in text
    two = said(shown(mixed(**old | {"reference": "old field; goal mouth"})))
    assert "The error is that between these places" in two


def test_no_data_says_why_once(shown: Callable[..., BeautifulSoup]) -> None:
    gone = {name: np.nan for name in ("mean", "se", "df", "lower", "upper")}
    why = {"verdict": NO_DATA, "settle": "no observation of that day can be used", "units": 0}
    soup = shown(judged(*(one(level, **gone, **why) for level in LEVELS)))
    (words,) = soup.find_all("li")
    assert words.get_text() == "No data: no observation of that day can be used."


def test_a_limit_changed_after_the_freeze_is_exploratory(
    shown: Callable[..., BeautifulSoup],
) -> None:
    line = "decisions.ready_when.pull_force.at_least"
    row = {"field": line, "old": "50 lbf", "new": "45 lbf", "reason": "x", "touches": "decisions"}
    soup = shown(mixed(role="exploratory"), changes=pd.DataFrame([row]))
    text = said(soup)
    assert f"changed after the freeze ({line})" in text
    assert "Exploratory: this limit, or what it is held against, was changed" in text
    assert soup.caption.get_text().startswith("Exploratory. ")
    assert "Exploratory" not in said(shown(mixed()))


@pytest.mark.parametrize("waits", [True, False])
def test_without_rows_it_says_why(
    shown: Callable[..., BeautifulSoup], definition: Definition, waits: bool
) -> None:
    none = said(shown(None, definition))
    assert "holds no limit of readiness" in none
    more = {"primary": empty("primary")} if waits else {}
    text = said(shown(None, **more))
    if waits:
        assert "Nothing was held" not in text
    else:
        assert "Nothing was held against the limits in this run." in text
    assert "Met by" not in text


def test_a_demonstration_has_values_and_no_verdict(
    shown: Callable[..., BeautifulSoup], limited: Definition, tables: dict[str, pd.DataFrame]
) -> None:
    changed: dict[str, Any] = {"kind": "demonstration", "blocks": 0}
    changed |= {"whole_plot": None, "subplot": None}
    layout = limited.layout.model_copy(update=changed)
    area = limited.model_copy(update={"layout": layout})
    means = tables["means"].drop(columns=["se", "df", "lower", "upper", "letters"])
    soup = shown(None, area, means=means)
    text = said(soup)
    assert "One area of each treatment: no verdict." in text
    assert "described; the limit is at least 45 lbf" in text
    assert len(soup.select("td data")) == 11
    assert not re.search(r"Met by|Not met|bounds|confidence", text)


def hardness(definition: Definition, missile: str, limit: bool = False) -> Definition:
    measure = SheetMeasure.model_validate(
        {
            "from": "sheet",
            "kind": "surface_hardness",
            "unit": "gravities",
            "instrument": {"missile": missile, "drop_height": "455 mm", "drops": 1},
            "dates": ["2026-04-17"],
        },
        context={"units": "us"},
    )
    measures = {**definition.measures, "hardness": measure}
    told = {"ready_when": {"hardness": {"at_most": "100 gravities", "on": "2026-04-17"}}}
    decisions = Decisions.model_validate(told) if limit else None
    return definition.model_copy(update={"measures": measures, "decisions": decisions})


def test_published_figures_stand_beside_what_has_no_limit(
    shown: Callable[..., BeautifulSoup], definition: Definition
) -> None:
    text = said(shown(None, hardness(definition, "2.25 kg")))
    assert "Hardness: published figures, not judged" in text
    assert "Kilby et al. 2024" in text
    assert "as far as the missile goes" in text
    assert "nothing is judged by these" in text
    assert "a missile of 79.37 oz (2.25 kg) that falls 1.493 ft (455 mm), one drop" in text
    light = said(shown(None, hardness(definition, "0.5 kg")))
    assert "read with a missile of 0.5 kg, not 2.25 kg" in light
    held = said(shown(None, hardness(definition, "2.25 kg", limit=True)))
    assert "published figures" not in held
    assert "a missile of" in held


def test_pulls_without_a_limit_have_none_published(
    shown: Callable[..., BeautifulSoup], definition: Definition, limited: Definition
) -> None:
    assert "No published limit was found" in said(shown(None, definition))
    # A limit that nobody vouches for needs it most.
    text = said(shown(mixed(), limited))
    assert "No published limit" in text
    assert "does not tell what it was read with" in text
    told = {"at_least": "45 lbf", "on": "2026-04-17", "source": "league's field guide"}
    sourced = Decisions.model_validate({"ready_when": {"pull_force": told}})
    pull = limited.measures["pull_force"].model_copy(update={"settings": "gauge to 100 lbf, frame"})
    measures = {**limited.measures, "pull_force": pull}
    held = limited.model_copy(update={"decisions": sourced, "measures": measures})
    text = said(shown(mixed(), held))
    assert "No published limit" not in text
    assert "read with gauge to 100 lbf, frame. A limit holds for these settings." in text


def test_what_no_limit_covers_is_said(shown: Callable[..., BeautifulSoup]) -> None:
    seen = {"unit_kind": "plot", "whole_plot": "1A", "block": 1, "n": 1}
    rows = [
        ("101", "2026-04-17", 58.2, "open", "hollow"),
        ("102", "2026-04-17", 100.0, "open", "solid"),
        ("101", "2026-04-24", 12.0, "open", "hollow"),
    ]
    means = pd.DataFrame(
        [
            {"measure": "green_cover", "unit_name": name, "date": pd.Timestamp(day),
             "value": value, "cover": cover, "aeration": tine, **seen}
            for name, day, value, cover, tine in rows
        ]
    )  # fmt: skip
    soup = shown(mixed(), plot_means=means)
    text = said(soup).replace(" %", " %")
    assert (
        "No limit was set for: green cover (on 17 April 2026 from 58 % in plot 101 (no cover with "
        "hollow tine 3/4 in) to 100 %); colour rating."
    ) in re.sub(r"(\d) %", r"\1 %", text)
    assert "Not measured: surface hardness, shear strength, soil moisture, disease cover." in text
    assert [one["title"] for one in soup.select('data[title^="plot_means"]')] == [
        "plot_means.csv:2",
        "plot_means.csv:3",
    ]
    assert "No limit was set for" not in said(shown(None))


def test_the_table_drops_what_no_row_has(shown: Callable[..., BeautifulSoup]) -> None:
    heads = [one.get_text("") for one in shown(mixed()).select("thead th")]
    assert "would tell [blocks]" in heads
    met = shown(judged(*(one(level) for level in LEVELS)))
    heads = [one.get_text("") for one in met.select("thead th")]
    assert "Verdict" in heads
    assert not any("would tell" in head for head in heads)


def test_the_picture_tells_every_treatment(limited: Definition) -> None:
    (made,) = readiness_pictures({"readiness": mixed()}, limited)
    assert made.name == "readiness"
    assert len(made.figure.axes) == 1
    assert (
        "no cover with solid tine 3/8 in 46 (bounds 43 and 48), these data cannot tell" in made.alt
    )
    assert made.alt.count("met") == 5
    assert "against at least 45 lbf" in made.alt
    assert "no injury can occur" in made.caption
    words = [text.get_text() for text in made.figure.axes[0].texts]
    assert words.count("met") == 4
    assert {"not met", "cannot tell"} <= set(words)
    assert len(svg(made.figure)) < 60_000
    low, high = made.figure.axes[0].get_xlim()
    assert low < 38 < 56 < high


def test_a_second_limit_stands_beside_the_first(limited: Definition) -> None:
    rated = {"measure": "colour_rating", "mean": 6.4, "lower": 6.1, "upper": 6.7, "se": 0.2}
    other = mixed(**{}).assign(**rated, limit=6.0, verdict=MET)
    both = pd.concat([other, mixed()], ignore_index=True)
    (made,) = readiness_pictures({"readiness": both}, limited)
    assert [axes.get_title(loc="left") for axes in made.figure.axes] == [
        "Colour rating, at least 6\n17 April 2026",
        "Pull force, at least 45 lbf\n17 April 2026",
    ]
    (alone,) = readiness_pictures({"readiness": judged(one("open"), one("fleece"))}, limited)
    assert "Open marks" not in alone.caption


def test_without_rows_there_is_no_picture(limited: Definition) -> None:
    assert readiness_pictures({"readiness": judged()}, limited) == []
    assert readiness_pictures({}, limited) == []
