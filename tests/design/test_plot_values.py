import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintersward.design import draw, read_plot_values

NAME = "plan/plot_values.csv"


@pytest.fixture
def plots(make_blocks):
    return draw(make_blocks())


@pytest.fixture
def read(tmp_path, plots):
    def write(text):
        path = tmp_path / "plan" / "plot_values.csv"
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        values, problems = read_plot_values(path, plots)
        assert (values is None) == bool(problems)
        return values, [str(problem) for problem in problems]

    return write


def table(**columns):
    return pd.DataFrame({"plot": ["101", "102", "103", "201", "202", "203"], **columns})


def test_numbers_and_words(read):
    text = table(sun_hours=[1, 2.5, 3, 4, 5, 6], sod_source=list("aabbcc")).iloc[::-1]
    values, problems = read(text.to_csv(index=False))
    assert problems == []
    assert values.index.tolist() == ["101", "102", "103", "201", "202", "203"]
    assert values.index.name == "plot"
    assert values["sun_hours"].tolist() == [1, 2.5, 3, 4, 5, 6]
    assert values["sun_hours"].dtype == "float64"
    assert values["sod_source"].tolist() == list("aabbcc")


def test_no_file_is_no_problem(tmp_path, plots):
    assert read_plot_values(tmp_path / "plot_values.csv", plots) == (None, [])


def test_everything_wrong_is_told_by_row_and_column(read):
    text = (
        "plot,sun_hours,drainage\n101,1,good\n102,much,\n102,3,poor\n"
        "301,4,good\n202,5,good\n203,6,x\n"
    )
    _, problems = read(text)
    assert problems == [
        f"{NAME}: plot: found no line for 103, 201; give every plot a line",
        f"{NAME}, row 3, column drainage: found nothing; allowed: a value for every plot; find "
        "out what it is, or remove the column",
        f"{NAME}, row 3, column sun_hours: found 'much'; allowed: a number with a decimal point, "
        "as in most of this column",
        f"{NAME}, row 4, column plot: found '102', as in row 3; allowed: each plot once",
        f"{NAME}, row 5, column plot: found '301'; allowed: a plot of plan/plots.csv (101, 102, "
        "103, 201, 202, 203)",
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", f"{NAME}: found an empty file; remove it, or give it a column plot"),
        ("plots,sun\n101,3\n", f"{NAME}, row 1: found no column plot; did you mean plots?"),
        ("plot\n101\n", f"{NAME}, row 1: found the column plot alone; allowed: at least one more, "
                        "such as sun_hours or drainage"),
        ("plot,sun,sun\n101,3,4\n", f"{NAME}, row 1, column sun: found it twice; allowed: once; "
                                    "remove one"),
        ("plot,cover\n101,3\n", f"{NAME}, row 1: found a column 'cover'; plan/plots.csv has it; "
                                "choose another name"),
        ("plot,\n101,3\n", f"{NAME}, row 1: found a column without a name; name it, or remove it"),
        ("plot;sun\n101;3\n", f"{NAME}, row 1: found semicolons between the cells; save it as CSV "
                              "with commas between the cells"),
        (b"plot,sun\n101,\xe4\n", f"{NAME}, row 2: found a byte that is not UTF-8; save the table "
                                  "as CSV in UTF-8"),
        ("plot,sun\n101\n", f"{NAME}, row 2: found 1 cells; allowed: 2 cells, as in row 1"),
    ],
)  # fmt: skip
def test_no_table_of_values(read, text, said):
    assert read(text)[1] == [said]


def test_infinite_is_no_number(read):
    _, problems = read(table(sun=["1", "2", "3", "4", "5", "inf"]).to_csv(index=False))
    assert problems == [
        f"{NAME}, row 7, column sun: found 'inf'; allowed: a number with a decimal point, as in "
        "most of this column"
    ]


@settings(max_examples=30, deadline=None)
@given(
    numbers=st.lists(st.floats(-1e6, 1e6), min_size=6, max_size=6), order=st.permutations(range(6))
)
def test_order_of_lines_does_not_matter(tmp_path_factory, make_blocks, numbers, order):
    path = tmp_path_factory.mktemp("values") / "plot_values.csv"
    table(sun=numbers).iloc[order].to_csv(path, index=False)
    values, problems = read_plot_values(path, draw(make_blocks()))
    assert problems == []
    assert values["sun"].tolist() == pytest.approx(numbers)
