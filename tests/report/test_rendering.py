from __future__ import annotations

import base64
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import nbformat
import pandas as pd
import pytest
from bs4 import BeautifulSoup
from nbformat import NotebookNode, v4

from wintersward.paths import template
from wintersward.report.page import Page
from wintersward.report.rendering import outline, render
from wintersward.report.said import raw_text
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
PIXEL = base64.b64encode(
    base64.b64decode(
        "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
    )
).decode("ascii")


class TestTheWholePage:
    def test_it_fetches_nothing_and_runs_nothing(self, html: str, soup: BeautifulSoup) -> None:
        assert re.search(r"https?:", html) is None
        assert "@import" not in html
        assert "url(" not in html
        assert soup.find(["script", "link", "iframe", "object", "embed", "base", "form"]) is None
        assert not [e for e in soup.find_all(True) for name in e.attrs if name.startswith("on")]
        for image in soup.find_all("img"):
            assert image["src"].startswith("data:image/")
        for link in soup.find_all("a"):
            assert link["href"].startswith("#")

    def test_its_policy_allows_pictures_and_style_alone(self, soup: BeautifulSoup) -> None:
        policy = soup.find("meta", attrs={"http-equiv": "Content-Security-Policy"})
        assert policy is not None
        assert policy["content"] == ("default-src 'none'; img-src data:; style-src 'unsafe-inline'")

    def test_it_has_one_frame(self, html: str, soup: BeautifulSoup) -> None:
        assert html.startswith("<!DOCTYPE html>")
        assert soup.html["lang"] == "en"
        assert soup.title.get_text() == soup.h1.get_text()
        assert len(soup.find_all("main")) == len(soup.find_all("h1")) == 1
        assert soup.find("a", class_="skip")["href"] == "#" + soup.main["id"]

    def test_headings_never_skip_a_level(self, soup: BeautifulSoup) -> None:
        levels = [int(h.name[1]) for h in soup.find_all(re.compile("^h[1-6]$"))]
        assert levels[0] == 1
        assert all(after <= before + 1 for before, after in zip(levels, levels[1:], strict=False))

    def test_ids_are_unique_and_names_resolve(self, soup: BeautifulSoup) -> None:
        ids = Counter(e["id"] for e in soup.find_all(id=True))
        assert [name for name, count in ids.items() if count > 1] == []
        for element in soup.find_all(attrs={"aria-labelledby": True}):
            assert element["aria-labelledby"] in ids

    def test_the_contents_name_every_section(self, soup: BeautifulSoup) -> None:
        links = soup.select("nav a")
        assert [a.get_text() for a in links] == [
            " ".join(h.get_text().split()) for h in soup.find_all("h2") if h["id"] != "code-head"
        ]
        for link in links:
            assert soup.find(id=link["href"].removeprefix("#")) is not None

    def test_the_answer_comes_before_the_contents(self, html: str) -> None:
        assert html.index("points more") < html.index("<nav") < html.index('id="trial"')

    def test_every_picture_speaks(self, soup: BeautifulSoup) -> None:
        images = soup.find_all("img")
        assert len(images) >= 11
        for image in images:
            assert len(image["alt"].strip()) > 20
            assert re.search(r"\d", image["alt"])
            assert image.find_parent("figure").figcaption.get_text().strip()

    def test_every_table_is_captioned_and_scoped(self, soup: BeautifulSoup) -> None:
        tables = soup.find_all("table")
        assert len(tables) > 20
        for table in tables:
            assert table.caption.get_text().strip()
            heads = table.find_all("th")
            assert heads
            assert all(th["scope"] in ("col", "colgroup", "row", "rowgroup") for th in heads)
            assert table.select("tbody th"), table.caption.get_text()

    def test_numbers_are_those_of_the_tables(self, soup: BeautifulSoup, tables: Tables) -> None:
        numbers = soup.find_all("data")
        assert len(numbers) > 1000
        for data in numbers:
            name, line = data["title"].split(".csv:")
            row = tables[name].loc[int(line) - 2]
            assert data["value"] in [raw_text(value) for value in row], data

    def test_no_cell_number_or_kernel_shows(self, html: str, soup: BeautifulSoup) -> None:
        assert "In [" not in html
        assert "¶" not in html
        assert "Not for the page" not in html
        assert "object at 0x" not in html

    def test_code_is_closed_and_stands_last(self, soup: BeautifulSoup) -> None:
        code = soup.find(id="code")
        assert "open" not in code.details.attrs
        assert 'page.section("answer")' in code.get_text()
        assert code.find_next("section") is None
        assert soup.find("details", open=True) is None

    def test_the_same_notebook_gives_the_same_page(
        self, html: str, page: Page, make_notebook: Callable[[Page], NotebookNode]
    ) -> None:
        assert render(make_notebook(page)) == html

    def test_a_title_is_only_text(
        self, page: Page, definition: Definition, make_notebook: Callable[[Page], NotebookNode]
    ) -> None:
        evil = "</title><script>alert(1)</script> \"}\\ 'ä'"
        changed = definition.model_copy(update={"title": evil})
        html = render(make_notebook(replace(page, definition=changed)))
        soup = BeautifulSoup(html, "html.parser")
        assert soup.find("script") is None
        assert soup.title.get_text() == evil
        assert soup.h1.get_text() == evil
        # In the style sheet too: nothing of it can end the string or the rule.
        style = soup.style.get_text()
        assert style.count("{") == style.count("}")
        assert "alert(1)" not in style


class TestCellsOfAStudysOwn:
    def page(self, *cells: NotebookNode) -> BeautifulSoup:
        return BeautifulSoup(render(v4.new_notebook(cells=list(cells))), "html.parser")

    def code(self, *outputs: NotebookNode) -> NotebookNode:
        return v4.new_code_cell("1 + 1", outputs=list(outputs))

    def test_the_last_expression_shows(self) -> None:
        data = {"text/html": "<p id='mine'>Shown</p>", "text/plain": "x"}
        soup = self.page(self.code(v4.new_output("execute_result", data, execution_count=3)))
        assert soup.find(id="mine").get_text() == "Shown"

    def test_a_picture_keeps_its_words(self) -> None:
        data = {"image/png": PIXEL, "text/plain": "<Figure>"}
        alt = {"image/png": {"alt": 'A "dot", 1 pixel'}}
        soup = self.page(self.code(v4.new_output("display_data", data, metadata=alt)))
        assert soup.img["alt"] == 'A "dot", 1 pixel'
        assert soup.img["src"] == f"data:image/png;base64,{PIXEL}"

    @pytest.mark.parametrize("media", ["image/png", "image/jpeg", "image/svg+xml"])
    def test_a_picture_without_words_says_so(self, media: str) -> None:
        content = "<svg xmlns='http://www.w3.org/2000/svg'/>" if "svg" in media else PIXEL
        soup = self.page(self.code(v4.new_output("display_data", {media: content})))
        assert "without a description" in soup.img["alt"]
        assert soup.find("svg") is None

    def test_text_and_errors_are_never_dropped(self) -> None:
        said = [
            v4.new_output("stream", name="stdout", text="\x1b[31m2 < 3\x1b[0m"),
            v4.new_output("stream", name="stderr", text="careful"),
            v4.new_output("error", ename="ValueError", evalue="no <b>", traceback=[]),
            v4.new_output("execute_result", {"text/plain": "'plain'"}, execution_count=1),
        ]
        texts = [pre.get_text() for pre in self.page(self.code(*said)).select("pre.said")]
        assert texts == ["2 < 3", "careful", "ValueError: no <b>", "'plain'"]

    def test_written_headings_go_below_the_title(self) -> None:
        head = v4.new_code_cell(
            "page",
            outputs=[v4.new_output("display_data", {"text/html": "<h1>Trial</h1>"})],
        )
        words = v4.new_markdown_cell("# Our own remarks\n\nIt **rained**.\n\n## More")
        soup = self.page(head, words)
        assert [h.get_text() for h in soup.find_all("h1")] == ["Trial"]
        assert [h.get_text() for h in soup.find_all("h2")][0] == "Our own remarks"
        assert soup.h3.get_text() == "More"
        assert soup.select_one("nav a").get_text() == "Our own remarks"
        assert soup.strong.get_text() == "rained"

    def test_scripts_of_others_are_taken_out(self) -> None:
        html = "<p>ok</p><script src='x.js'></script><link href='x.css'>"
        soup = self.page(self.code(v4.new_output("display_data", {"text/html": html})))
        assert soup.find(["script", "link"]) is None
        assert "ok" in soup.get_text()

    def test_cells_for_the_notebook_alone_stay_there(self) -> None:
        cell = v4.new_markdown_cell("# Secret", metadata={"tags": ["notebook-only"]})
        soup = self.page(cell, v4.new_markdown_cell("Seen"))
        assert "Secret" not in soup.get_text()
        assert "Seen" in soup.get_text()

    def test_a_page_without_a_title_gets_one(self) -> None:
        assert self.page(v4.new_markdown_cell("Words")).h1.get_text() == "Report of a trial"


def test_second_titles_and_nameless_headings_are_put_right() -> None:
    found = outline("<h1>A</h1><h2>Same</h2><h2>Same</h2><h1>B &amp; C</h1>")
    assert [(e.id, e.text) for e in found.contents] == [
        ("same", "Same"),
        ("same-2", "Same"),
        ("b-c", "B & C"),
    ]


def test_a_file_is_read_and_written(tmp_path: Path) -> None:
    notebook = v4.new_notebook(cells=[v4.new_markdown_cell("Käse")])
    nbformat.write(notebook, tmp_path / "50-report.ipynb")
    html = render(tmp_path / "50-report.ipynb", tmp_path / "report.html")
    assert (tmp_path / "report.html").read_bytes().decode("utf-8") == html
    assert "Käse" in html


def test_a_study_may_have_its_own_frame_and_style(tmp_path: Path) -> None:
    own = tmp_path / "templates" / "reports" / "study"
    own.mkdir(parents=True)
    (own / "style.css").write_text("p { color: teal }")
    notebook = v4.new_notebook(cells=[v4.new_markdown_cell("Words")])
    html = render(notebook, study=tmp_path)
    assert "p { color: teal }" in html
    assert "<main" in html
    (own / "index.html.j2").write_text("<p>Ours: {{ nb.cells | length }} cell</p>")
    assert render(notebook, study=tmp_path) == "<p>Ours: 1 cell</p>\n"


class TestStyle:
    css = "".join(
        template("reports", name).read_text(encoding="utf-8")
        for name in ("colours.css", "study/style.css")
    )

    def schemes(self) -> list[dict[str, str]]:
        blocks = re.findall(r":root \{(.*?)\}", self.css, re.DOTALL)
        light = dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6})", blocks[0]))
        return [light, light | dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6})", blocks[1]))]

    @pytest.mark.parametrize("scheme", [0, 1])
    @pytest.mark.parametrize("ink", ["ink", "soft", "accent"])
    @pytest.mark.parametrize("ground", ["paper", "tint"])
    def test_contrast_reaches_aa_in_both_schemes(self, scheme: int, ink: str, ground: str) -> None:
        # WCAG 2.2, success criterion 1.4.3: 4.5 to 1 for text.
        colours = self.schemes()[scheme]
        light, dark = sorted((_luminance(colours[name]) for name in (ink, ground)), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 4.5

    @pytest.mark.parametrize(
        "rule",
        [
            "prefers-color-scheme: dark",
            "@media print",
            "counter(page)",
            "break-inside: avoid",
            "break-after: avoid",
            "tabular-nums",
            "overflow-x: auto",
        ],
    )
    def test_it_keeps_to_the_house(self, rule: str) -> None:
        assert rule in self.css

    def test_paper_opens_tests_and_hides_code(self) -> None:
        print_rules = self.css[self.css.index("@media print") :]
        assert "details:not(.keep)" in print_rules
        assert "details.keep::details-content" in print_rules


def _luminance(colour: str) -> float:
    """Relative luminance of WCAG 2.2."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
