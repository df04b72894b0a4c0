import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintersward.design import (
    draw,
    layout_changed,
    plots_to_fill_in,
    read_plots,
    unit_names,
    write_plots,
)
from wintersward.errors import WinterswardError

REDRAW = (
    "put trial.yaml back as it was when the plots were drawn, "
    "or move plan/plots.csv away and run: wintersward plan ."
)
NO_WHOLE = "nothing, since the layout (randomised blocks) has no whole plots"
METRES = "a number of metres"
ALL = "plot, whole_plot, block, row, column, x_m, y_m, width_m, length_m, cover, walk"


@pytest.fixture
def path(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path / "plan" / "plots.csv"


@pytest.fixture
def plain(make_blocks):
    return make_blocks()


@pytest.fixture
def broken(path, plain):
    """Write the plan of randomised blocks with cells changed, and read it back."""

    def read(*changes, definition=plain):
        path.unlink(missing_ok=True)
        write_plots(draw(definition), path)
        lines = [line.split(",") for line in path.read_text().splitlines()]
        for row, column, text in changes:
            lines[row - 1][lines[0].index(column)] = text
        path.write_text("\n".join(",".join(line) for line in lines) + "\n")
        frame, problems = read_plots(path, definition)
        assert frame is None
        return [str(problem) for problem in problems]

    return read


@settings(max_examples=25, deadline=None)
@given(
    blocks=st.integers(2, 12),
    beside=st.integers(1, 3),
    width=st.sampled_from(["10 ft", "7 ft", "3.05 m"]),
    split=st.booleans(),
)
def test_what_is_written_is_read_back(
    tmp_path_factory, make, make_blocks, blocks, beside, width, split
):
    build = make if split else make_blocks
    definition = build(blocks=blocks, blocks_side_by_side=beside, plot_size=[width, "6 ft"])
    path = tmp_path_factory.mktemp("study") / "plan" / "plots.csv"
    plan = draw(definition)
    write_plots(plan, path)
    plots, problems = read_plots(path, definition)
    assert problems == []
    pd.testing.assert_frame_equal(plots, plan)
    assert layout_changed(plots, definition) == []


def test_the_file_is_plain_csv(make, path):
    write_plots(draw(make()), path)
    data = path.read_bytes()
    assert data.startswith(b"plot,whole_plot,block,row,column,x_m,y_m,width_m,length_m,cover,")
    assert b"\r" not in data
    line = data.decode("utf-8").splitlines()[2].split(",")
    assert line[:9] == ["102", "1A", "1", "1", "2", "3.048", "0", "3.048", "1.8288"]


def test_order_of_lines_and_columns_does_not_matter(plain, path):
    plan = draw(plain)
    path.parent.mkdir()
    text = plan.iloc[::-1][plan.columns[::-1]].to_csv(index=False, lineterminator="\r\n")
    path.write_bytes(b"\xef\xbb\xbf" + text.encode() + b"\r\n,,,,,,,,,,\r\n")
    plots, problems = read_plots(path, plain)
    assert problems == []
    pd.testing.assert_frame_equal(plots, plan)


def test_a_plan_is_never_overwritten(make, path):
    plan = draw(make())
    write_plots(plan, path)
    before = path.read_bytes()
    write_plots(plan, path)
    with pytest.raises(WinterswardError) as caught:
        write_plots(draw(make(seed=8)), path)
    assert str(caught.value) == (
        "plan/plots.csv: found another plan, which is never overwritten; "
        "if it is no longer wanted, move it away and draw again"
    )
    assert path.read_bytes() == before


def test_plots_and_whole_plots_are_named_for_the_diary(make, make_blocks):
    names = unit_names(draw(make()))
    assert names[:2] + names[-2:] == ["101", "102", "2B", "2C"]
    assert unit_names(draw(make_blocks()))[-1] == "203"


def test_no_file(path, plain):
    _, problems = read_plots(path, plain)
    assert [str(p) for p in problems] == [
        "plan/plots.csv: no plots are drawn yet; run: wintersward plan ."
    ]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "plan/plots.csv: found an empty file; draw it: wintersward plan ."),
        (
            ALL.replace(", ", ",").encode(),
            "plan/plots.csv: found a heading alone; "
            "no plot stands in it; move it away and run: wintersward plan .",
        ),
        (
            b"plot;block;cover\n101;1;open\n",
            "plan/plots.csv, row 1: found semicolons between the cells; "
            "save it as CSV with commas between the cells",
        ),
        (
            b"plot,cover\n101,w\xe4rm\n",
            "plan/plots.csv, row 2: found a byte that is not UTF-8; save the table as CSV in UTF-8",
        ),
    ],
)
def test_not_a_plots_table(path, plain, data, said):
    path.parent.mkdir()
    path.write_bytes(data)
    frame, problems = read_plots(path, plain)
    assert frame is None
    assert [str(p) for p in problems] == [said]


def test_headings_all_problems_at_once(path, plain):
    path.parent.mkdir()
    heading = "plot,whole_plot,block,row,column,x_m,y_m,width_m,Cover,note,walk,walk,"
    path.write_text(f"{heading}\n101,,1\n")
    _, problems = read_plots(path, plain)
    assert [str(p) for p in problems] == [
        "plan/plots.csv, row 1: found no column length_m; add length_m",
        "plan/plots.csv, row 1: found no column cover; did you mean Cover?",
        f"plan/plots.csv, row 1: found a column 'Cover'; allowed: {ALL}; "
        "remove it; notes belong in diary.yaml",
        f"plan/plots.csv, row 1: found a column 'note'; allowed: {ALL}; "
        "remove it; notes belong in diary.yaml",
        "plan/plots.csv, row 1, column walk: found it twice; allowed: once; remove one",
        f"plan/plots.csv, row 1: found a column without a name; allowed: {ALL}; "
        "remove it; notes belong in diary.yaml",
        "plan/plots.csv, row 2: found 3 cells; allowed: 13 cells, as in row 1",
    ]


@pytest.mark.parametrize(
    ("column", "text", "said"),
    [
        ("plot", "", "found nothing; allowed: a name"),
        ("whole_plot", "1A", f"found '1A'; allowed: {NO_WHOLE}"),
        ("block", "9", f"found '9'; allowed: a block from 1 to 2; {REDRAW}"),
        ("row", "1.0", "found '1.0'; allowed: a whole number from 1"),
        ("walk", "7", "found '7'; allowed: a whole number from 1 to 6"),
        ("x_m", "6;7", f"found '6;7'; allowed: {METRES}, with a decimal point"),
        ("y_m", "nan", f"found 'nan'; allowed: {METRES}, with a decimal point"),
        ("width_m", "0", f"found '0'; allowed: {METRES} above 0, with a decimal point"),
        ("length_m", "", f"found nothing; allowed: {METRES} above 0, with a decimal point"),
        ("cover", "wovn", "found 'wovn'; allowed: open, fleece, woven; did you mean woven?"),
        ("cover", "", f"found nothing; allowed: open, fleece, woven; {REDRAW}"),
    ],
)
def test_one_wrong_cell(broken, column, text, said):
    assert broken((3, column, text)) == [f"plan/plots.csv, row 3, column {column}: {said}"]


def test_wrong_cells_are_told_together_and_by_row(broken):
    assert broken((6, "cover", "opn"), (3, "walk", "0"), (3, "x_m", "")) == [
        "plan/plots.csv, row 3, column walk: found '0'; allowed: a whole number from 1 to 6",
        "plan/plots.csv, row 3, column x_m: found nothing; "
        "allowed: a number of metres, with a decimal point",
        "plan/plots.csv, row 6, column cover: found 'opn'; "
        "allowed: open, fleece, woven; did you mean open?",
    ]


def test_plot_twice(broken):
    assert broken((4, "plot", "101")) == [
        "plan/plots.csv, row 4, column plot: found '101', as in row 2; allowed: each plot once"
    ]


def test_walk_and_place_twice(broken):
    assert broken((3, "walk", "1"), (3, "column", "1")) == [
        "plan/plots.csv, row 3, column row and column: found '1 and 1', as in row 2; "
        "allowed: one plot in each place",
        "plan/plots.csv, row 3, column walk: found '1', as in row 2; allowed: each number once",
    ]


def test_treatment_twice(broken, make_blocks):
    definition = make_blocks(seed=0xDEADBEAF)
    rule = "allowed: each treatment once in a block"
    # Block 1 is open, fleece, woven.
    assert broken((3, "cover", "open"), definition=definition) == [
        "plan/plots.csv: cover: found no 'fleece' in block 1; " + rule,
        "plan/plots.csv, row 3, column cover: found 'open' again in block 1, as in row 2; " + rule,
    ]


def test_split_plot_needs_its_whole_plots(broken, make):
    assert broken((2, "whole_plot", ""), (9, "whole_plot", "1C"), definition=make()) == [
        "plan/plots.csv, row 2, column whole_plot: found nothing; allowed: a name",
        "plan/plots.csv, row 9, column whole_plot: found '1C', which lies in block 1 too; "
        "allowed: a whole plot in one block only",
    ]


def test_definition_changed_since_the_plan_was_drawn(path, make_blocks):
    write_plots(draw(make_blocks()), path)
    _, problems = read_plots(path, make_blocks(blocks=3))
    assert [str(p) for p in problems] == [
        f"plan/plots.csv: block: found no plot of block 3; allowed: blocks 1 to 3; {REDRAW}"
    ]


@pytest.mark.parametrize(
    "kind", ["completely random", "latin square", "strip plot", "demonstration"]
)
def test_plans_of_every_kind_are_read_back(path, make_kind, kind):
    definition = make_kind(kind)
    plan = draw(definition)
    write_plots(plan, path)
    plots, problems = read_plots(path, definition)
    assert problems == []
    pd.testing.assert_frame_equal(plots, plan)


def test_blocks_where_there_are_none(broken, make_kind):
    definition = make_kind("latin square", {"cover": ["open", "fleece", "woven"]})
    assert broken((3, "block", "1"), definition=definition) == [
        "plan/plots.csv, row 3, column block: found '1'; "
        "allowed: nothing, since the layout (latin square) has no blocks"
    ]
    assert broken((3, "whole_plot", "1A"), definition=make_kind("strip plot")) == [
        "plan/plots.csv, row 3, column whole_plot: found '1A'; "
        "allowed: nothing, since the layout (strip plot) has no whole plots"
    ]


def test_another_kind_of_plan(path, make_kind):
    write_plots(draw(make_kind("randomised blocks", {"cover": ["open", "fleece"]})), path)
    _, problems = read_plots(path, make_kind("completely random", {"cover": ["open", "fleece"]}))
    rule = "allowed: nothing, since the layout (completely random) has no blocks"
    assert [str(p) for p in problems] == [
        f"plan/plots.csv, row {row}, column block: found '{block}'; {rule}"
        for row, block in ((2, 1), (3, 1), (4, 2), (5, 2))
    ]


TWO = {"upper": "Upper field", "lower": "Lower field"}
HAND = {"how": "slips from a hat", "signed": "rx", "date": "2026-01-10"}


class TestGrounds:
    def test_they_are_read_back(self, path, make):
        definition = make(grounds=TWO)
        write_plots(draw(definition), path)
        assert path.read_text().startswith("plot,ground,whole_plot,block,")
        plots, problems = read_plots(path, definition)
        assert problems == []
        pd.testing.assert_frame_equal(plots, draw(definition))
        assert unit_names(plots)[-1] == "4C"

    def test_a_ground_misspelt(self, broken, make_blocks):
        assert broken((3, "ground", "uper"), definition=make_blocks(grounds=TWO)) == [
            "plan/plots.csv, row 3, column ground: found 'uper'; allowed: upper, lower; did you "
            "mean upper?"
        ]

    def test_the_same_place_twice_on_one_ground(self, broken, make_blocks):
        assert broken((9, "column", "1"), definition=make_blocks(grounds=TWO)) == [
            "plan/plots.csv, row 9, column ground and row and column: found 'lower and 1 and 1', "
            "as in row 8; allowed: one plot in each place"
        ]

    def test_a_plan_of_one_ground(self, path, make_blocks):
        write_plots(draw(make_blocks()), path)
        _, problems = read_plots(path, make_blocks(grounds=TWO))
        assert [str(p) for p in problems] == [
            "plan/plots.csv, row 1: found no column ground; add ground"
        ]


class TestLaidByHand:
    def test_the_table_to_fill_in_has_the_places_and_no_treatment(self, make):
        frame = plots_to_fill_in(make(laid_by_hand=HAND))
        assert list(frame.columns) == list(draw(make()).columns)
        assert frame["cover"].eq("").all()
        assert frame["aeration"].eq("").all()
        assert frame["x_m"].tolist() == draw(make())["x_m"].tolist()

    def test_another_draw_in_other_places_is_sound(self, path, make_blocks):
        write_plots(draw(make_blocks(seed=99, alley="5 ft", plot_size=["9 ft", "7 ft"])), path)
        plots, problems = read_plots(path, make_blocks(laid_by_hand=HAND))
        assert problems == []
        assert layout_changed(plots, make_blocks(laid_by_hand=HAND)) == []

    def test_advice_is_to_put_right_and_not_to_draw(self, broken, make_blocks):
        assert broken((3, "cover", ""), definition=make_blocks(laid_by_hand=HAND)) == [
            "plan/plots.csv, row 3, column cover: found nothing; allowed: open, fleece, woven; "
            "put right plan/plots.csv, which was laid by hand, or the layout of trial.yaml"
        ]

    def test_a_column_that_nobody_filled_in_is_told_once(self, path, make):
        definition = make(laid_by_hand=HAND)
        write_plots(plots_to_fill_in(definition), path)
        frame, problems = read_plots(path, definition)
        assert frame is None
        assert [str(p) for p in problems] == [
            "plan/plots.csv: aeration: found no aeration in any row; allowed: solid, hollow; "
            "fill in the column",
            "plan/plots.csv: cover: found no cover in any row; allowed: open, fleece, woven; "
            "fill in the column",
        ]

    def test_no_file(self, path, make_blocks):
        _, problems = read_plots(path, make_blocks(laid_by_hand=HAND))
        assert [str(p) for p in problems] == [
            "plan/plots.csv: the plots were laid by hand and their table is missing; run: "
            "wintersward plan ."
        ]
