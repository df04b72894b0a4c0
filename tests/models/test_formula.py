from __future__ import annotations

import pytest

from wintersward.errors import WinterswardError
from wintersward.models.formula import parse_fixed, split_random


def test_terms_are_read_lower_orders_first() -> None:
    terms = parse_fixed("cover * date + np.log(sun)")
    assert [term.name for term in terms] == [
        "Intercept",
        "cover",
        "date",
        "np.log(sun)",
        "cover:date",
    ]
    assert terms[3].members[0].columns == ("sun",)
    assert not terms[3].members[0].bare


def test_columns_with_spaces_stand_in_backticks() -> None:
    (_, term) = parse_fixed("`first date`")
    assert term.members[0].columns == ("first date",)


@pytest.mark.parametrize("text", ["C(year)", "C( year )", "C(`year`)"])
def test_numbers_can_be_asked_for_as_factor(text: str) -> None:
    (_, term) = parse_fixed(text)
    assert (term.name, term.members[0].as_factor, term.members[0].bare) == ("year", True, True)


def test_the_intercept_can_be_left_out() -> None:
    assert [term.name for term in parse_fixed("0 + cover")] == ["cover"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("cover *", "cover"),
        ("green ~ cover", "right-hand side"),
        ("1 | block", "right-hand side"),
        ("0", "no terms"),
        ("cover + 3:date", "number 3"),
    ],
)
def test_other_texts_are_refused(text: str, said: str) -> None:
    with pytest.raises(WinterswardError, match=said):
        parse_fixed(text)


def test_random_terms_need_a_column_on_both_sides() -> None:
    assert split_random("block : plot") == ("block", "plot")
    with pytest.raises(WinterswardError, match="block:plot"):
        split_random("block:")
