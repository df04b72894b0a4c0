"""Sheets of the visits: what stands in them, what never does, and that they are read back."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import zipfile
from pathlib import Path

import pandas as pd
import pytest
from openpyxl.writer.theme import theme_xml

from papers.trial_papers import filled, opened
from wintersward.papers import visit_books, visit_sheets
from wintersward.papers.looks import looks
from wintersward.records import counts, first_looks, read_sheets
from wintersward.trial import Definition, Diary

VALUES = {"colour": 4.5, "pull": 40.0}


@pytest.fixture(scope="session")
def books(definition: Definition, plots: pd.DataFrame) -> dict[str, bytes]:
    return visit_books(definition, plots, "letter")


def test_every_visit_has_a_sheet_for_each_rater_and_one_for_readings(
    books: dict[str, bytes], definition: Definition, plots: pd.DataFrame
) -> None:
    days = ["01-15", "03-10", "03-16", "03-24", "04-04", "04-17"]
    expected = {f"2026-{day}_{rater}" for day in days for rater in ("te", "rx")}
    expected |= {f"{name}_second_round" for name in expected}
    expected |= {"2026-03-24_readings", "2026-04-17_readings"}
    sheets = visit_sheets(definition, plots)
    assert {f"{sheet.name}{sheet.ending}" for sheet in sheets} == expected
    assert set(books) == {f"{name}{end}" for name in expected for end in (".xlsx", ".csv")}


def test_a_sheet_holds_one_rater_in_walking_order(
    books: dict[str, bytes], plots: pd.DataFrame
) -> None:
    tab = opened(books["2026-03-24_te.xlsx"]).worksheets[0]
    rows = list(tab.iter_rows(values_only=True))
    assert rows[0] == ("date", "plot", "rater", "sample", "colour rating", "repeat")
    assert {str(row[0])[:10] for row in rows[1:]} == {"2026-03-24"}
    assert {row[2:5] for row in rows[1:]} == {("te", 1, None)}
    walk = [int(plot) for plot in plots.sort_values("walk")["plot"]]
    assert [row[1] for row in rows[1:]] == walk
    assert {row[5] for row in rows[1:]} == {None}


def test_second_looks_have_a_sheet_of_their_own(
    books: dict[str, bytes], definition: Definition, plots: pd.DataFrame
) -> None:
    book = opened(books["2026-03-24_te_second_round.xlsx"])
    tab, told = book.worksheets
    rows = list(tab.iter_rows(values_only=True))
    assert rows[0] == ("date", "plot", "rater", "sample", "colour rating", "repeat")
    due = {"colour_rating": definition.measures["colour_rating"]}
    drawn = looks(definition, plots, dt.date(2026, 3, 24), "te", due)
    assert [str(row[1]) for row in rows[1:]] == list(drawn[drawn["repeat"]]["plot"])
    assert [row[2:] for row in rows[1:]] == [("te", 1, None, 1)] * 4
    assert tab.oddHeader.left.text == "Second round 2026-03-24"
    assert "sheet of the first round is given in" in str(told["B2"].value)


def test_a_second_round_asks_only_for_what_is_looked_at_twice(
    definition: Definition, plots: pd.DataFrame
) -> None:
    rated = definition.measures["colour_rating"]
    once = rated.model_copy(update={"repeats": 0.0})
    both = definition.model_copy(update={"measures": {"colour": rated, "density": once}})
    made = visit_books(both, plots, "a4")
    headings = [cell.value for cell in opened(made["2026-03-24_te_second_round.xlsx"])["Sheet"][1]]
    assert headings == ["date", "plot", "rater", "sample", "colour", "repeat"]
    alone = definition.model_copy(update={"measures": {"density": once}})
    assert not any("second" in name for name in visit_books(alone, plots, "a4"))


def test_readings_have_a_row_for_each_sample_and_their_unit(books: dict[str, bytes]) -> None:
    tab = opened(books["2026-03-24_readings.xlsx"]).worksheets[0]
    rows = list(tab.iter_rows(values_only=True))
    assert rows[0] == ("date", "plot", "rater", "sample", "pull force (lbf)", "repeat")
    assert [row[1:4] for row in rows[1:4]] == [(101, None, 1), (101, None, 2), (101, None, 3)]
    assert len(rows) == 1 + 36 * 3


def test_csv_and_workbook_say_the_same(books: dict[str, bytes]) -> None:
    for name in ("2026-03-24_te", "2026-04-17_readings"):
        tab = opened(books[f"{name}.xlsx"]).worksheets[0]
        shown = [
            ["" if v is None else str(v).removesuffix(" 00:00:00") for v in row]
            for row in tab.iter_rows(values_only=True)
        ]
        text = books[f"{name}.csv"].decode("utf-8-sig")
        assert list(csv.reader(io.StringIO(text, newline=""))) == shown


def words(definition: Definition, plots: pd.DataFrame) -> list[str]:
    """List everything by which a treatment could be told."""
    found = [*plots["whole_plot"], str(definition.layout.seed)]
    for name, factor in definition.treatments.items():
        found += [name] if name != "cover" else []
        found += [factor.label] if factor.label else []
        for level, held in factor.levels.items():
            found += [level, held.label]
    return found


def test_no_treatment_stands_anywhere_in_a_file(
    books: dict[str, bytes], definition: Definition, plots: pd.DataFrame
) -> None:
    wanted = "|".join(re.escape(word) for word in words(definition, plots))
    pattern = re.compile(rf"(?<![A-Za-z0-9])({wanted})(?![A-Za-z0-9])", re.IGNORECASE)
    looked = 0
    for name, content in books.items():
        assert not pattern.search(name)
        if name.endswith(".csv"):
            assert not pattern.search(content.decode("utf-8-sig"))
            continue
        with zipfile.ZipFile(io.BytesIO(content)) as parts:
            assert not parts.comment
            for part in parts.namelist():
                text = parts.read(part).decode("utf-8")
                if part == "xl/theme/theme1.xml":
                    # The library's own colours, the same in every workbook.
                    assert text == theme_xml
                    continue
                looked += 1
                assert not pattern.search(part)
                assert pattern.search(text) is None, (name, part)
    assert looked > 100
    # The search itself finds what it looks for.
    assert pattern.search("<t>spun-bond fleece</t>")
    assert pattern.search("<t>1A</t>")


def test_only_values_can_be_written(books: dict[str, bytes]) -> None:
    tab = opened(books["2026-03-24_te.xlsx"]).worksheets[0]
    assert tab.protection.sheet
    assert tab.protection.password is None
    for column in tab.iter_cols():
        locked = {cell.protection.locked for cell in column[1:]}
        assert locked == {column[0].value != "colour rating"}
        assert column[0].protection.locked


def test_a_mark_is_chosen_from_the_scale(books: dict[str, bytes]) -> None:
    book = opened(books["2026-03-24_te.xlsx"])
    tab, told = book.worksheets
    (rule,) = tab.data_validations.dataValidation
    assert (rule.type, str(rule.sqref), rule.errorStyle) == ("list", "E2:E37", "stop")
    assert rule.allow_blank
    assert rule.showErrorMessage
    assert rule.error.startswith("A mark from 1 to 9, whole or half.")
    place, cells = rule.formula1.rsplit("!", 1)
    assert place == f"'{told.title}'"
    listed = [cell.value for (cell,) in told[cells.replace("$", "")]]
    assert listed == [half / 2 for half in range(2, 19)]


def test_a_reading_has_its_limits(books: dict[str, bytes]) -> None:
    tab = opened(books["2026-03-24_readings.xlsx"]).worksheets[0]
    rater, pull = tab.data_validations.dataValidation
    assert (rater.formula1, str(rater.sqref)) == ('"rx,te"', "C2:C109")
    assert (pull.type, pull.operator, float(pull.formula1)) == ("decimal", "greaterThanOrEqual", 0)
    assert pull.error.startswith("Only a number in lbf, 0 or more, without the unit.")


def test_initials_that_no_list_can_hold_are_not_listed(
    definition: Definition, plots: pd.DataFrame
) -> None:
    people = [definition.people[0].model_copy(update={"initials": 'r"x'}), definition.people[1]]
    told = definition.model_copy(update={"people": people})
    tab = opened(visit_books(told, plots, "a4")["2026-03-24_readings.xlsx"]).worksheets[0]
    (pull,) = tab.data_validations.dataValidation
    assert pull.type == "decimal"
    assert not tab["C2"].protection.locked


@pytest.mark.parametrize(("paper", "size"), [("letter", 1), ("a4", 9)])
def test_it_prints_with_headings_and_without_the_column_repeat(
    definition: Definition, plots: pd.DataFrame, paper: str, size: int
) -> None:
    tab = opened(visit_books(definition, plots, paper)["2026-03-24_te.xlsx"]).worksheets[0]
    # Codes of paper sizes: ECMA-376 part 1, 18.3.1.63, paperSize 1 and 9.
    assert tab.page_setup.paperSize == size
    assert tab.page_setup.orientation == "portrait"
    assert tab.print_title_rows == "$1:$1"
    assert tab.print_area == "'Sheet'!$A$1:$E$37"
    assert tab.freeze_panes == "E2"
    assert tab.row_breaks.brk == []
    assert tab.oddHeader.left.text.startswith("Visit of 2026-03-24, study ")
    assert tab.oddHeader.center.text == "Rater: te T. Example"
    assert tab.oddFooter.left.text == "Colour rating: 1 worst, 9 best; half marks allowed"


def test_the_bytes_are_the_same_every_time(
    books: dict[str, bytes], definition: Definition, plots: pd.DataFrame
) -> None:
    # Another order of rows draws the same papers: the walk is what counts.
    assert visit_books(definition, plots.iloc[::-1], "letter") == books


@pytest.mark.parametrize("kind", [".xlsx", ".csv"])
def test_sheets_that_are_filled_in_are_read_whole(
    books: dict[str, bytes],
    definition: Definition,
    plots: pd.DataFrame,
    tmp_path: Path,
    kind: str,
) -> None:
    (tmp_path / "sheets").mkdir()
    for name, content in books.items():
        if name.endswith(".xlsx"):
            book = filled(content, VALUES)
            path = tmp_path / "sheets" / name
            if kind == ".xlsx":
                book.save(path)
                continue
            with path.with_suffix(".csv").open("w", encoding="utf-8", newline="") as stream:
                rows = book.worksheets[0].iter_rows(values_only=True)
                csv.writer(stream).writerows(
                    [str(v)[:10] if hasattr(v, "year") else v for v in row] for row in rows
                )
    read = read_sheets(tmp_path, definition, Diary(), plots)
    observations, problems = read.observations, read.problems
    assert problems == []
    # Six visits of two raters to 36 plots, four of them twice; two visits of three pulls.
    assert len(observations) == 6 * 2 * 40 + 2 * 36 * 3
    assert len(first_looks(observations)) == 6 * 2 * 36 + 2 * 36 * 3
    tally = counts(observations, definition, plots)
    sheets = tally[tally["measure"] != "green_cover"]
    assert (sheets["used"] == sheets["expected"]).all()
    assert sheets["repeats"].tolist() == [8] * 6 + [0, 0]
    assert sheets[["used", "excluded", "repeats"]].to_numpy().sum() == len(observations)


def test_sheets_that_are_not_filled_in_hold_nothing(
    books: dict[str, bytes], definition: Definition, plots: pd.DataFrame, tmp_path: Path
) -> None:
    (tmp_path / "sheets").mkdir()
    for name, content in books.items():
        (tmp_path / "sheets" / name).write_bytes(content)
    read = read_sheets(tmp_path, definition, Diary(), plots)
    observations, problems = read.observations, read.problems
    assert problems == []
    assert observations.empty


def test_initials_that_differ_by_capitals_have_files_of_their_own(
    definition: Definition, plots: pd.DataFrame
) -> None:
    measure = definition.measures["colour_rating"].model_copy(update={"raters": ["te", "TE"]})
    told = definition.model_copy(update={"measures": {"colour_rating": measure}})
    names = [name for name in visit_books(told, plots, "a4") if name.startswith("2026-03-24")]
    assert names == [
        "2026-03-24_te.xlsx",
        "2026-03-24_te.csv",
        "2026-03-24_te_second_round.xlsx",
        "2026-03-24_te_second_round.csv",
        "2026-03-24_TE_2.xlsx",
        "2026-03-24_TE_2.csv",
        "2026-03-24_TE_2_second_round.xlsx",
        "2026-03-24_TE_2_second_round.csv",
    ]


def test_two_grounds_are_named_beside_the_plot(definition: Definition, plots: pd.DataFrame) -> None:
    ground = plots["block"].map(lambda block: "upper" if int(block) <= 3 else "lower")
    held = {"grounds": {"upper": "Upper field", "lower": "Lower field"}}
    layout = definition.layout.model_copy(update=held)
    both = definition.model_copy(update={"layout": layout})
    made = visit_books(both, plots.assign(ground=ground), "letter")
    tab = opened(made["2026-03-24_te.xlsx"]).worksheets[0]
    rows = list(tab.iter_rows(values_only=True))
    assert rows[0][:3] == ("date", "plot", "ground")
    assert [row[2] for row in rows[1:]] == ["Upper field"] * 18 + ["Lower field"] * 18
    # A ground begins a page, so that its sheet can be given in before its second round.
    assert [step.id for step in tab.row_breaks.brk] == [19]
    tab = opened(made["2026-03-24_te_second_round.xlsx"]).worksheets[0]
    assert [cell.value for cell in tab["C"][1:]] == ["Upper field"] * 2 + ["Lower field"] * 2
    assert [step.id for step in tab.row_breaks.brk] == [3]
