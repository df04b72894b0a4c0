"""The search for what judges is known to bite; of a whole run `test_example` shows it."""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Callable
from pathlib import Path

import nbformat
import pytest
from openpyxl import Workbook

from analysis.dated import dated_trial
from analysis.seasonal import simulated
from e2e.judging import judgements
from wintersward.runs.freezing import freeze

pytestmark = pytest.mark.e2e


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Path:
    study = tmp_path_factory.mktemp("e2e") / "tested"
    dated_trial(study, simulated(3), layout="kind: randomised blocks\n  blocks: 4")
    freeze(study)
    return study


def test_it_finds_the_planned_analysis_in_the_protocol(trial: Path) -> None:
    found = judgements(trial / "plan")
    assert any(one.startswith("frozen/protocol.html: words 'interval") for one in found)


@pytest.mark.parametrize("name", ["p", "df", "SE", "lower", "letters", "df_den", "mean_p"])
@pytest.mark.parametrize("suffix", ["csv", "json", "html", "svg", "xlsx", "ipynb"])
def test_a_name_is_found_in_every_kind_of_file(tmp_path: Path, suffix: str, name: str) -> None:
    WRITE[suffix](tmp_path / f"a.{suffix}", name)
    assert f"a.{suffix}: name {name!r}" in judgements(tmp_path)


@pytest.mark.parametrize(
    "words",
    [
        "open to fleece, p = 0.03",
        "p<.05",
        "F = 4.1",
        "F(2, 10)",
        "t = -2.2",
        "on 10 degrees of freedom",
        "a 95 % confidence interval",
        "the interval is wide",
        "Tukey's method",
        "the F test",
    ],
)
@pytest.mark.parametrize("suffix", ["csv", "json", "html", "svg", "xlsx", "ipynb", "txt"])
def test_words_are_found_in_every_kind_of_file(tmp_path: Path, suffix: str, words: str) -> None:
    WRITE[suffix](tmp_path / f"a.{suffix}", words)
    assert [one for one in judgements(tmp_path) if one.startswith(f"a.{suffix}: words")]


def test_everyday_words_are_not(tmp_path: Path) -> None:
    said = "Nothing is tested. 55 °F (13 °C) at plot 3; a map of t, p. 4 and letter paper."
    (tmp_path / "a.txt").write_text(said, encoding="utf-8")
    assert judgements(tmp_path) == []


def test_no_kind_of_file_goes_unsearched(tmp_path: Path) -> None:
    (tmp_path / "a.docx").write_bytes(b"")
    with pytest.raises(KeyError, match="docx"):
        judgements(tmp_path)


def _page_with(words: str) -> str:
    drawing = base64.b64encode(_drawn(words).encode()).decode()
    return (
        f"<table><tr><th>{words} <span>[%]</span></th></tr></table>"
        f'<p>{words}</p><img alt="" src="data:image/svg+xml;base64,{drawing}">'
    )


def _drawn(words: str) -> str:
    said = words.replace("<", "&lt;")
    return f"<svg xmlns='http://www.w3.org/2000/svg'><!-- {words} --><text>{said}</text></svg>"


def _workbook(path: Path, words: str) -> None:
    book = Workbook()
    book.active["C7"] = words
    book.save(path)


def _notebook(path: Path, words: str) -> None:
    cell = nbformat.v4.new_code_cell("show(table)")
    html = _page_with(words.replace("<", "&lt;"))
    cell.outputs = [nbformat.v4.new_output("display_data", data={"text/html": html})]
    nbformat.write(nbformat.v4.new_notebook(cells=[cell]), path)


WRITE: dict[str, Callable[[Path, str], object]] = {
    "csv": lambda path, words: path.write_text(f"plot,{re.sub(',', ';', words)}\n101,\n"),
    "html": lambda path, words: path.write_text(_page_with(words.replace("<", "&lt;"))),
    "ipynb": _notebook,
    "json": lambda path, words: path.write_text(json.dumps({"columns": [{"name": words}]})),
    "svg": lambda path, words: path.write_text(_drawn(words)),
    "txt": lambda path, words: path.write_text(words),
    "xlsx": _workbook,
}
