"""Costs in the diary, and what a person reads where they do not fit: whole messages."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from wintersward.trial import Definition
from wintersward.trial.cost_checks import worth_step
from wintersward.trial.diary import Diary
from wintersward.trial.diary_checks import diary_problems
from wintersward.trial.diary_costs import CostItem, Costs, Worth
from wintersward.trial.parts import Amount
from wintersward.trial.reading import read_yaml
from wintersward.trial.validation import validated

Tell = Callable[[str], tuple[dict[str, Any], list[str]]]

HEAD = "costs:\n  currency: USD\n  area: 9000 ft2\n  items:\n"
ROLLS = "    - {what: rolls, treatment: fleece, kind: material, amount: 1200}\n"
RANGE = "a number of 0 or more, or the lowest and the highest as [900, 1200]"
PRICE = "either 'amount', or 'hours' and the 'rate' of an hour"


@pytest.fixture
def tell(tmp_path: Path, definition: Definition) -> Tell:
    """Read a text as ``diary.yaml``: its sound parts, and every message."""

    def read(text: str) -> tuple[dict[str, Any], list[str]]:
        (tmp_path / "diary.yaml").write_text(text, encoding="utf-8")
        source = read_yaml(tmp_path / "diary.yaml", "diary.yaml", may_be_empty=True)
        parts, problems = validated(source, Diary)
        problems = [*problems, *diary_problems(source, parts, definition, ["101"])]
        return parts, [str(problem) for problem in sorted(set(problems))]

    return read


def entry(rest: str, treatment: str = "fleece", kind: str = "material") -> str:
    return f"{HEAD}    - {{what: it, treatment: {treatment}, kind: {kind}, {rest}}}\n"


def test_amounts_ranges_and_areas_are_read(tell: Tell) -> None:
    text = HEAD + ROLLS
    text += "    - {what: pins, treatment: fleece, kind: material, amount: [1, 2], quantity: 90}\n"
    text += "    - {what: laying, treatment: woven, kind: labour, hours: [6, 9], rate: 25}\n"
    text += "  worth:\n    - {of: primary, each: [5, 9], step: 2 points, gain: less, why: mud}\n"
    parts, told = tell(text)
    assert told == []
    costs: Costs = parts["costs"]
    assert costs.area == pytest.approx(836.1273)  # 9000 ft2 of 0.09290304 m2 (NIST SP 811)
    assert [item.amount for item in costs.items] == [(1200, 1200), (1, 2), None]
    assert (costs.items[1].quantity, costs.items[2].hours) == ((90, 90), (6, 9))
    assert costs.worth[0].step == Amount(2.0, "points")


@pytest.mark.parametrize(
    ("kind", "part", "belongs"),
    [
        ("material", None, "added cost"),
        ("sod replaced", None, "reduced cost"),
        ("event kept", None, "added income"),
        ("other", "reduced income", "reduced income"),
        ("sod replaced", "added cost", "added cost"),
    ],
)
def test_an_entry_belongs_to_a_part(kind: Any, part: Any, belongs: str) -> None:
    item = CostItem(what="it", treatment="fleece", kind=kind, part=part, amount=(1.0, 2.0))
    assert item.belongs_to == belongs


@pytest.mark.parametrize(
    ("rest", "told"),
    [
        ("amount: -5", f"costs.items.1.amount: found '-5'; allowed: {RANGE}"),
        ("amount: ten", f"costs.items.1.amount: found 'ten'; allowed: {RANGE}"),
        (
            "amount: [9, 6]",
            f"costs.items.1.amount: found '9' before '6'; allowed: {RANGE}; turn them round",
        ),
        ("amount: [1, 2, 3]", f"costs.items.1.amount: found a list; allowed: {RANGE}"),
        (
            "amount: 5, per: acre",
            "costs.items.1.per: found 'acre'; allowed: all, m2, ft2, 100 m2, 1000 ft2",
        ),
        (
            "amount: 5, seasons: [0, 3]",
            "costs.items.1.seasons: found '0'; allowed: 1 season or more",
        ),
        (
            "hours: 5",
            f"costs.items.1: found 'hours' without 'rate'; allowed: {PRICE}; add 'rate: ...'",
        ),
        (
            "amount: 5, rate: 20",
            "costs.items.1: found an amount beside hours or a rate; allowed: "
            f"{PRICE}; keep one of the two",
        ),
        (
            "seasons: 2",
            f"costs.items.1: found no amount; allowed: {PRICE}; add 'amount: ...'",
        ),
    ],
)
def test_an_entry_that_cannot_be_read(tell: Tell, rest: str, told: str) -> None:
    text = entry(rest)
    field = told.split(":")[0].rpartition(".")[2]
    column = 7 if field == "1" else text.splitlines()[4].index(f"{field}: ") + len(field) + 3
    assert tell(text)[1] == [f"diary.yaml:5:{column}: {told}"]


def test_an_area_and_a_kind_that_are_none(tell: Tell) -> None:
    text = entry("amount: 5", kind="labor").replace("9000 ft2", "9000 ft")
    assert tell(text)[1] == [
        "diary.yaml:3:9: costs.area: found '9000 ft'; allowed: a number and a unit (m2, ft2), such "
        "as '9000 ft2'; did you mean ft2?",
        "diary.yaml:5:43: costs.items.1.kind: found 'labor'; allowed: material, labour, storage, "
        "disease treatment, sod replaced, event kept, other; did you mean labour?",
    ]


def test_a_worth_that_stands_twice_or_wants_both_more_and_less(tell: Tell) -> None:
    worth = "    - {of: primary, each: 5, step: 2 points, why: mud}\n"
    less = "    - {of: primary, each: 5, step: 2 points, why: mud, gain: less}\n"
    text = HEAD + ROLLS + "  worth:\n" + worth + worth + less
    assert tell(text)[1] == [
        "diary.yaml:8:7: costs.worth.2: found the same as entry 1; allowed: each entry once; "
        "remove one; where each step is worth more, raise 'each'",
        "diary.yaml:9:62: costs.worth.3.gain: found 'less'; allowed: that of entry 1, 'more'; of "
        "one thing either more or less is a gain",
    ]
    other = worth.replace("mud", "seed")
    assert tell(HEAD + ROLLS + "  worth:\n" + worth + other)[1] == []


def test_treatments_that_cannot_have_costs_and_entries_that_stand_twice(tell: Tell) -> None:
    text = HEAD + ROLLS + ROLLS.replace("fleece", "flece") + ROLLS.replace("fleece", "open") + ROLLS
    assert tell(text)[1] == [
        "diary.yaml:6:32: costs.items.2.treatment: found 'flece'; allowed: fleece, woven, hollow; "
        "did you mean fleece?",
        "diary.yaml:7:32: costs.items.3.treatment: found 'open', which is the control; allowed: a "
        "treatment that is set against it (fleece, woven, hollow); what the control costs and the "
        "treatment does not is its 'part: reduced cost'",
        "diary.yaml:8:7: costs.items.4: found the same as entry 1; allowed: each entry once; "
        "remove one; where it is paid twice, write 'quantity: 2'",
    ]


def test_a_worth_that_the_definition_cannot_answer(tell: Tell) -> None:
    text = HEAD + ROLLS + "  worth:\n    - {of: days gained, each: 3, why: x}\n"
    text += "    - {of: primary, each: 3, step: 1 lbf, why: x}\n"
    text += "    - {of: primary, each: 3, step: -1 points, why: x}\n"
    assert tell(text)[1] == [
        "diary.yaml:7:12: costs.worth.1.of: found 'days gained'; allowed: primary; the definition "
        "asks for no days gained",
        "diary.yaml:8:36: costs.worth.2.step: found a unit of force; allowed: a number and a unit "
        "of points, such as '8 points'; that is how green_cover is measured",
        "diary.yaml:9:36: costs.worth.3.step: found '-1'; allowed: more than 0",
    ]


def test_a_measure_with_a_unit_needs_a_step(
    tell: Tell, tmp_path: Path, definition: Definition
) -> None:
    changed = definition.analysis.primary.model_copy(update={"measure": "pull_force"})
    analysis = definition.analysis.model_copy(update={"primary": changed})
    asked = definition.model_copy(update={"analysis": analysis})
    worth = Worth(of="primary", each=(1.0, 2.0), why="x")
    assert worth_step(worth, asked) is None
    assert worth_step(worth, definition) == 1.0
    assert worth_step(worth.model_copy(update={"step": Amount(4.45, "force")}), asked) == 4.45
    parts = tell(HEAD + ROLLS + "  worth: [{of: primary, each: 3, why: x}]\n")[0]
    source = read_yaml(tmp_path / "diary.yaml", "diary.yaml")
    told = [str(one) for one in diary_problems(source, parts, asked, ["101"])]
    assert told == [
        "diary.yaml:6:11: costs.worth.1: found no step; allowed: a number and a unit, as "
        "pull_force is measured; add 'step: 1 lbf', or another amount that 'each' pays for"
    ]
