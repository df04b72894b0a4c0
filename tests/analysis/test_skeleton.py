"""What the layout says about the analysis of a date."""

from __future__ import annotations

import datetime as dt

import pytest

from e2e.example import EXAMPLE
from wintersward.analysis import skeleton_for
from wintersward.trial import Definition, read_definition


@pytest.fixture(scope="module")
def definition() -> Definition:
    found, problems = read_definition(EXAMPLE)
    assert found is not None, problems
    return found


def test_before_the_aeration_whole_plots_are_the_units(definition: Definition) -> None:
    skeleton = skeleton_for(definition, dt.date(2026, 3, 24))
    assert (skeleton.fixed, skeleton.random) == ("cover", ("block",))
    assert (skeleton.unit_column, skeleton.unit_kind) == ("whole_plot", "whole plot")
    assert skeleton.unit_of("cover") == "whole plot"
    assert skeleton.table().set_index("term")["df_design"].to_dict()["cover"] == 10


def test_after_the_day_of_the_aeration_subplots_are_units(definition: Definition) -> None:
    assert skeleton_for(definition, dt.date(2026, 3, 25)).unit_kind == "whole plot"
    skeleton = skeleton_for(definition, dt.date(2026, 3, 26))
    assert (skeleton.fixed, skeleton.random) == ("cover * aeration", ("block", "whole_plot"))
    table = skeleton.table().set_index("term")
    # (6 - 1)(3 - 1) and 3 (6 - 1)(2 - 1): Gomez and Gomez (1984), chapter 3, from memory
    assert table["df_design"].dropna().to_dict() == {
        "cover": 10,
        "aeration": 15,
        "cover:aeration": 15,
    }
    assert table["unit_kind"].to_dict()["cover"] == "whole plot"
    assert table["unit_kind"].to_dict()["aeration"] == "subplot"
    assert table["role"].tolist()[-3:] == ["random", "random", "residual"]


def test_before_the_covers_nothing_is_compared(definition: Definition) -> None:
    assert not skeleton_for(definition, dt.date(2026, 1, 15)).treated
    assert not skeleton_for(definition, dt.date(2026, 1, 19)).treated
    assert skeleton_for(definition, dt.date(2026, 1, 20)).treated


BEFORE, ON_THE_DAY, AFTER = dt.date(2026, 3, 24), dt.date(2026, 3, 25), dt.date(2026, 3, 26)
BARE = {"whole_plot": None, "subplot": None}


def laid(definition: Definition, kind: str, factors: str = "", **layout: object) -> Definition:
    """Give the trial another layout, and only some of its factors."""
    kept = {n: f for n, f in definition.treatments.items() if not factors or n in factors.split()}
    if kind != "strip plot":
        kept = {n: f.model_copy(update={"applied": None}) for n, f in kept.items()}
    made = definition.layout.model_copy(update={"kind": kind, **BARE, **layout})
    return definition.model_copy(update={"layout": made, "treatments": kept})


def errors(definition: Definition, date: dt.date = AFTER) -> dict[str, float]:
    """Design degrees of freedom of every treatment term."""
    table = skeleton_for(definition, date).table().set_index("term")
    return dict(table["df_design"].dropna())


def test_in_randomised_blocks_plots_are_the_units(definition: Definition) -> None:
    skeleton = skeleton_for(laid(definition, "randomised blocks"), BEFORE)
    assert (skeleton.fixed, skeleton.random) == ("cover * aeration", ("block",))
    table = skeleton.table().set_index("term")
    assert list(table.index) == ["cover", "aeration", "cover:aeration", "block", "residual"]
    assert table["df_design"].dropna().unique().tolist() == [25]  # (6 - 1)(6 - 1)
    for term in ("cover", "aeration", "cover:aeration"):
        assert (skeleton.unit(term), skeleton.around(term)) == ("plot", ("block",))


def test_in_a_split_plot_each_factor_has_its_own_units(definition: Definition) -> None:
    skeleton = skeleton_for(definition, AFTER)
    units = {term: skeleton.unit(term) for term in ("cover", "aeration", "cover:aeration")}
    assert units == {"cover": "whole_plot", "aeration": "plot", "cover:aeration": "plot"}
    assert skeleton.around("cover") == ("block",)
    assert skeleton.around("aeration") == ("whole_plot",)
    before = skeleton_for(definition, BEFORE)
    assert (before.unit("cover"), before.around("cover")) == ("whole_plot", ("block",))


def test_completely_random(definition: Definition) -> None:
    one = laid(definition, "completely random", "cover", replicates=5, blocks=0)
    skeleton = skeleton_for(one, AFTER)
    assert (skeleton.fixed, skeleton.random, skeleton.unit_column) == ("cover", (), "plot")
    assert skeleton.around("cover") == ()
    assert list(skeleton.table()["role"]) == ["treatment", "residual"]
    assert errors(one) == {"cover": 12}  # 3 (5 - 1): Gomez and Gomez (1984), chapter 2, from memory
    two = laid(definition, "completely random", replicates=5, blocks=0)
    assert errors(two) == {"cover": 24, "aeration": 24, "cover:aeration": 24}  # 6 (5 - 1)


def test_latin_square(definition: Definition) -> None:
    square = laid(definition, "latin square", "cover", blocks=0)
    skeleton = skeleton_for(square, AFTER)
    assert skeleton.random == skeleton.around("cover") == ("row", "column")
    assert skeleton.unit("cover") == skeleton.unit_column == "plot"
    assert errors(square) == {"cover": 2}  # (3 - 1)(3 - 2): the same, chapter 2, from memory
    assert not skeleton_for(square, dt.date(2026, 1, 19)).treated


def test_strip_plot(definition: Definition) -> None:
    strips = laid(definition, "strip plot", row_strips="cover", column_strips="aeration")
    skeleton = skeleton_for(strips, AFTER)
    assert skeleton.fixed == "cover * aeration"
    assert skeleton.random == ("block", "block:row", "block:column")
    # (6 - 1)(3 - 1), (6 - 1)(2 - 1), (6 - 1)(3 - 1)(2 - 1): the same, chapter 3, from memory
    assert errors(strips) == {"cover": 10, "aeration": 5, "cover:aeration": 10}
    units = {term: skeleton.unit(term) for term in errors(strips)}
    assert units == {"cover": "block:row", "aeration": "block:column", "cover:aeration": "plot"}
    assert skeleton.around("cover") == skeleton.around("aeration") == ("block",)
    assert skeleton.around("cover:aeration") == ("block:row", "block:column")
    assert [skeleton.unit_of(term) for term in errors(strips)] == [
        "row strip",
        "column strip",
        "plot",
    ]


@pytest.mark.parametrize(("cover", "side"), [("row_strips", "row"), ("column_strips", "column")])
def test_before_a_strip_factor_is_applied_the_strips_of_the_other_are_units(
    definition: Definition, cover: str, side: str
) -> None:
    other = {"row_strips": "column_strips", "column_strips": "row_strips"}[cover]
    strips = laid(definition, "strip plot", **{cover: "cover", other: "aeration"})
    for date in (dt.date(2026, 1, 15), BEFORE, ON_THE_DAY):
        skeleton = skeleton_for(strips, date)
        assert (skeleton.fixed, skeleton.random) == ("cover", ("block",))
        assert skeleton.unit_column == skeleton.unit("cover") == f"block:{side}"
        assert skeleton.unit_kind == f"{side} strip"
        assert errors(strips, date) == {"cover": 10}
    assert len(skeleton_for(strips, AFTER).factors) == 2


def test_without_a_later_date_both_strip_factors_begin_with_the_covers(
    definition: Definition,
) -> None:
    treatments = {
        name: factor.model_copy(update={"applied": None})
        for name, factor in definition.treatments.items()
    }
    strips = laid(definition, "strip plot", row_strips="cover", column_strips="aeration")
    at_once = strips.model_copy(update={"treatments": treatments})
    for date, treated in ((dt.date(2026, 1, 19), False), (dt.date(2026, 1, 20), True)):
        skeleton = skeleton_for(at_once, date)
        assert (len(skeleton.factors), skeleton.treated) == (2, treated)
