"""The picture of ways to aerate: small, said in words, and without what nobody knows."""

from __future__ import annotations

import io
import math
from types import SimpleNamespace
from typing import cast

import pandas as pd
import pytest

from wintersward.decisions.planner import aeration_options
from wintersward.report.aerating_figures import aeration_picture, aeration_pictures
from wintersward.report.picture import Picture
from wintersward.study import Trial
from wintersward.trial import Definition
from wintersward.trial.decided import Decisions

TINE = {"kind": "hollow", "outside": "0.5 in", "inside": "0.375 in", "depth": "3 in"}
TINE |= {"spacing": ["2 in", "2.5 in"]}


@pytest.fixture(scope="module")
def plans(definition: Definition) -> Definition:
    options = {name: {"label": f"Half inch {name}", "tine": TINE} for name in ("a", "b")}
    decisions = Decisions.model_validate({"aeration": {"options": options}})
    return definition.model_copy(update={"decisions": decisions})


@pytest.fixture(scope="module")
def found(plans: Definition) -> pd.DataFrame:
    return aeration_options(cast("Trial", SimpleNamespace(definition=plans, ready=True)), {})


def size(picture: Picture) -> int:
    stream = io.BytesIO()
    picture.figure.savefig(stream, format="svg", bbox_inches="tight", metadata={"Date": None})
    return len(stream.getvalue())


def test_it_is_small_and_says_its_numbers(found: pd.DataFrame, plans: Definition) -> None:
    picture = aeration_picture(found, plans)
    assert picture.name == "aeration_options"
    assert size(picture) < 40_000
    assert "11.0 % hit, 7.1 % taken out, 15 to 21 days to close" in picture.alt
    assert "2.8 % hit, no figure for its days" in picture.alt
    assert "The first use is 24 days after the aeration." in picture.alt
    assert "The line is the first use" in picture.caption


def test_every_option_has_a_colour_and_a_marker_of_its_own(
    found: pd.DataFrame, plans: Definition
) -> None:
    axes = aeration_picture(found, plans).figure.axes[0]
    filled = [line for line in axes.lines if line.get_markersize() == 7]
    looks = {(line.get_color(), line.get_marker()) for line in filled}
    assert len(filled) == len(looks) == 4


def test_what_nobody_knows_stands_apart(found: pd.DataFrame, plans: Definition) -> None:
    axes = aeration_picture(found, plans).figure.axes[0]
    assert axes.get_xlim()[0] < 0
    assert "no figure" in [text.get_text() for text in axes.texts]
    hollow = found[found["kind"] == "hollow"].reset_index(drop=True)
    axes = aeration_picture(hollow, plans).figure.axes[0]
    assert axes.get_xlim()[0] == 0
    assert "no figure" not in [text.get_text() for text in axes.texts]


def test_an_open_end_and_no_first_use_are_drawn_and_said(
    found: pd.DataFrame, plans: Definition
) -> None:
    open_ended = found.assign(days_high=math.nan, days_available=math.nan)
    picture = aeration_picture(open_ended, plans)
    assert "15 or more days to close" in picture.alt
    assert "first use" not in picture.alt + picture.caption
    assert size(picture) > 1000


def test_days_that_differ_by_cover_are_drawn_in_pieces(
    found: pd.DataFrame, plans: Definition
) -> None:
    by = {"fleece": (15.0, 16.0), "woven": (15.5, 17.0), "open": (20.0, 21.0)}
    days = pd.DataFrame(
        [("hollow", f"cover={name}", *ends) for name, ends in by.items()],
        columns=["option", "within", "days_low", "days_high"],
    )
    picture = aeration_picture(found, plans, days)
    assert "15 to 21 days to close (in pieces: 15 to 17, 20 to 21)" in picture.alt
    assert "days differed by winter cover" in picture.caption.replace("by cover", "by winter cover")
    thick = [line for line in picture.figure.axes[0].lines if line.get_linewidth() == 3.4]
    assert [list(line.get_xdata()) for line in thick][:2] == [[15.0, 17.0], [20.0, 21.0]]
    assert "in pieces" not in aeration_picture(found, plans).alt


def test_nothing_is_drawn_where_there_is_nothing(found: pd.DataFrame, plans: Definition) -> None:
    assert aeration_pictures({}, plans) == []
    assert aeration_pictures({"aeration_options": found.iloc[:0]}, plans) == []
    assert [one.name for one in aeration_pictures({"aeration_options": found}, plans)] == [
        "aeration_options"
    ]
    assert aeration_picture(found.iloc[:0], plans).alt
