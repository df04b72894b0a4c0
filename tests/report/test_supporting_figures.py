from __future__ import annotations

import pandas as pd

from wintersward.report.supporting_figures import supporting_pictures
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def names(tables: Tables, definition: Definition, **other: object) -> list[str]:
    made = supporting_pictures(tables, definition, **other)
    assert all(picture.caption.endswith(".") for picture in made)
    return [picture.name for picture in made]


def test_each_analysis_has_its_picture(tables: Tables, definition: Definition) -> None:
    assert names(tables, definition) == [
        "arrivals",
        "residuals_green_cover",
        "raters_colour_rating",
        "agreement_colour_rating_green_cover",
        "variance_shares",
    ]


def test_one_measure_alone(tables: Tables, definition: Definition) -> None:
    assert names(tables, definition, measure="colour_rating") == [
        "raters_colour_rating",
        "agreement_colour_rating_green_cover",
    ]
    assert names(tables, definition, measure="pull_force") == []


def test_nothing_compares_treatments_while_the_comparison_waits(
    tables: Tables, definition: Definition
) -> None:
    assert names(tables, definition, compared=False) == [
        "raters_colour_rating",
        "agreement_colour_rating_green_cover",
    ]


def test_tables_that_were_not_written_have_no_pictures(definition: Definition) -> None:
    assert names({}, definition) == []


def test_limits_are_drawn_where_both_are_in_one_unit(
    tables: Tables, definition: Definition
) -> None:
    row = tables["agreement"].iloc[[-1]]
    ends = [("bias", "eye less photo", 1.0), ("limits", "lower", -9.0), ("limits", "upper", 11.0)]
    more = pd.concat(
        [
            row.assign(statistic=statistic, form=form, value=v, lower=v - 2, upper=v + 2)
            for statistic, form, v in ends
        ]
    )
    seen = definition.measures["colour_rating"].model_copy(update={"unit_written": "%"})
    seen = seen.model_copy(update={"scale": None})
    changed = definition.model_copy(
        update={"measures": {**definition.measures, "colour_rating": seen}}
    )
    held = pd.concat([tables["agreement"], more], ignore_index=True)
    found = names(tables | {"agreement": held}, changed, measure="colour_rating")
    assert found[-1] == "limits_colour_rating_green_cover"
