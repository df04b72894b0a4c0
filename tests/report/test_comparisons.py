from __future__ import annotations

import pandas as pd

from wintersward.report.comparisons import (
    difference_cells,
    difference_heads,
    in_order,
    pair_text,
    said_or_dash,
)
from wintersward.report.said import Said
from wintersward.report.views import measure_view
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def test_cells_follow_their_heads(tables: Tables, definition: Definition) -> None:
    view = measure_view(definition, "green_cover")
    heads = difference_heads(view, "95 %", ("p alone", "p, Holm"))
    assert [head.label for head in heads] == [
        "difference",
        "95 % interval",
        "standard error",
        "df",
        "p alone",
        "p, Holm",
    ]
    differences = tables["differences"]
    cells = difference_cells("differences", differences, 0, view, 1, ("p_alone", "p"))
    assert len(cells) == len(heads)
    row = differences.loc[0]
    assert str(cells[0]) == f"{row['difference']:+.1f}".replace("-", "−")
    assert str(cells[2]) == f"{row['se']:.2f}"


def test_what_was_not_estimated_is_a_dash(tables: Tables, definition: Definition) -> None:
    view = measure_view(definition, "green_cover")
    gone = tables["differences"].copy()
    gone.loc[0, ["difference", "lower", "upper", "se", "df", "p"]] = float("nan")
    cells = difference_cells("differences", gone, 0, view, 1)
    assert [str(cell) for cell in cells] == ["–"] * 5
    assert isinstance(said_or_dash("differences", gone, 1, "se", "2"), Said)


def test_a_pair_names_what_it_is_within(definition: Definition) -> None:
    row = pd.Series({"left": "fleece", "right": "open", "within": "aeration=hollow"})
    assert pair_text(definition, row) == (
        "Spun-bond fleece minus no cover, with hollow tine 3/4 in"
    )
    assert pair_text(definition, row.drop("within")) == "Spun-bond fleece minus no cover"
    row["within"] = float("nan")  # as an empty cell of a file that pandas guessed
    assert pair_text(definition, row) == "Spun-bond fleece minus no cover"


def test_pairs_stand_in_the_definitions_order(definition: Definition) -> None:
    rows = pd.DataFrame(
        [
            ("hollow", "solid", "cover=woven"),
            ("woven", "open", ""),
            ("fleece", "woven", ""),
            ("hollow", "solid", ""),
            ("fleece", "open", "aeration=hollow"),
            ("fleece", "open", ""),
        ],
        columns=["left", "right", "within"],
        index=[7, 3, 5, 1, 9, 2],
    )
    assert in_order(rows, definition) == [2, 9, 3, 5, 1, 7]
    assert in_order(rows.assign(scope=[2, 1, 1, 1, 1, 2]), definition, ["scope"])[-2:] == [2, 7]
