from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from wintersward.analysis.results import TABLES, Column, Table, empty
from wintersward.errors import WinterswardError
from wintersward.runs.tables import from_csv, to_csv

TABLE = Table(
    "For trying.",
    ("plot", "date", "sample"),
    (
        Column("date", "date", "", "day"),
        Column("plot", "text", "", "plot"),
        Column("sample", "integer", "", "sample"),
        Column("value", "number", "%", "value"),
    ),
)
OPEN = Table(TABLE.description, TABLE.key, TABLE.columns, open_ended=True)


def frame(**columns: list[object]) -> pd.DataFrame:
    made = {"date": [dt.date(2026, 3, 9)], "plot": ["101"], "sample": [1], "value": [1.5]}
    return pd.DataFrame({**made, **columns})


def test_columns_stand_in_their_order_and_rows_by_the_key() -> None:
    given = pd.DataFrame(
        {
            "value": [1 / 3, -0.0, np.nan, 123456789012.0],
            "sample": [10, 9, 1, 1],
            "plot": ["102", "102", "102", "101"],
            "date": pd.to_datetime(["2026-03-09", "2026-03-09", "2026-01-15", "2026-03-09"]),
        }
    )
    assert to_csv("try", TABLE, given) == (
        "date,plot,sample,value\n"
        "2026-03-09,101,1,1.23456789e+11\n"
        "2026-01-15,102,1,\n"
        "2026-03-09,102,9,0\n"
        "2026-03-09,102,10,0.3333333333\n"
    )


def test_the_order_of_rows_does_not_matter() -> None:
    given = frame(
        date=["2026-03-09"] * 3, plot=["3", "1", "2"], sample=[1] * 3, value=[1.0, 2.0, 3.0]
    )
    assert to_csv("try", TABLE, given) == to_csv("try", TABLE, given[::-1])


@pytest.mark.parametrize(
    "value", ["NA", "None", "101", "nan", "1e5", 'a "b", c', " two\nlines ", ""]
)
def test_text_comes_back_as_it_was(value: str) -> None:
    text = to_csv("try", TABLE, frame(plot=[value]))
    back = from_csv("try", TABLE, text)
    assert back["plot"].tolist() == [value]
    assert back["plot"].dtype == "str"


def test_what_is_missing_comes_back_missing() -> None:
    given = frame(date=[pd.NaT], plot=[None], sample=[pd.NA], value=[np.nan])
    text = to_csv("try", TABLE, given)
    assert text == "date,plot,sample,value\n,,,\n"
    back = from_csv("try", TABLE, text)
    assert back["date"].isna().all()
    assert back["plot"].tolist() == [""]
    assert back["sample"].isna().all()
    assert back["value"].isna().all()


def test_types_come_back() -> None:
    back = from_csv("try", TABLE, to_csv("try", TABLE, frame()))
    assert back["date"].tolist() == [pd.Timestamp(2026, 3, 9)]
    assert back["sample"].dtype == "int64"
    assert back["value"].dtype == "float64"


def test_numbers_keep_ten_digits() -> None:
    value = 0.123456789012345
    back = from_csv("try", TABLE, to_csv("try", TABLE, frame(value=[value])))
    assert back["value"].iloc[0] == pytest.approx(value, rel=5e-10)


def test_infinity_is_written() -> None:
    back = from_csv("try", TABLE, to_csv("try", TABLE, frame(value=[np.inf])))
    assert back["value"].tolist() == [np.inf]


def test_levels_are_text_and_sorted_as_text() -> None:
    plots = pd.Categorical(["b", "a"], categories=["b", "a"], ordered=True)
    given = frame(date=["2026-03-09"] * 2, plot=["1", "2"], sample=[1, 1], value=[1.0, 1.0])
    text = to_csv("try", TABLE, given.assign(plot=plots))
    assert [line.split(",")[1] for line in text.splitlines()[1:]] == ["a", "b"]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (frame().drop(columns="value"), "it lacks value; its columns are: date, plot"),
        (frame(extra=[1]), "it has extra"),
        (frame(value=["many"]), "column value: found 'many'; allowed: number"),
        (frame(sample=[1.5]), "column sample: found 1.5; allowed: integer"),
        (frame(date=["soon"]), "column date: .*; allowed: date"),
        (frame(date=["2026-03-09 10:00"]), "column date: found the time"),
        (pd.concat([frame(), frame()]), "two rows for plot '101', date '2026-03-09', sample '1'"),
        (pd.concat([frame(), frame()[["plot"]]], axis=1), "it holds plot twice"),
    ],
)
def test_what_does_not_fit_is_refused(given: pd.DataFrame, said: str) -> None:
    with pytest.raises(WinterswardError, match=f"table try.*{said}"):
        to_csv("try", TABLE, given)


def test_a_file_with_other_columns_is_refused() -> None:
    with pytest.raises(WinterswardError, match="it lacks value"):
        from_csv("try", TABLE, "date,plot,sample\n")
    with pytest.raises(WinterswardError, match="column sample.*allowed: integer"):
        from_csv("try", TABLE, "date,plot,sample,value\n2026-03-09,101,one,1\n")


def test_factors_follow_where_a_table_is_open_ended() -> None:
    given = frame(cover=["NA"])[["cover", "date", "plot", "sample", "value"]]
    text = to_csv("try", OPEN, given)
    assert text == "date,plot,sample,value,cover\n2026-03-09,101,1,1.5,NA\n"
    assert from_csv("try", OPEN, text)["cover"].tolist() == ["NA"]


@pytest.mark.parametrize("name", TABLES)
def test_every_known_table_can_be_empty(name: str) -> None:
    text = to_csv(name, TABLES[name], empty(name))
    back = from_csv(name, TABLES[name], text)
    assert back.empty
    assert list(back.columns) == list(empty(name).columns)
    assert back.dtypes.astype(str).tolist() == [
        {"str": "str", "int64": "int64", "float64": "float64"}.get(
            str(kind), str(back[column].dtype)
        )
        for column, kind in empty(name).dtypes.items()
    ]


@pytest.mark.parametrize("name", TABLES)
def test_every_key_is_a_column(name: str) -> None:
    assert set(TABLES[name].key) <= {column.name for column in TABLES[name].columns}
