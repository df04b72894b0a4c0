"""No word of a report claims more than an interval can."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
from bs4 import BeautifulSoup

import wintersward.report
from wintersward.paths import template_folder

BANNED = [
    r"significan\w*",
    r"prov(e|es|ed|en|ing)\b",
    r"no effect",
    r"no difference\b",
    r"is safe",
    r"safe to\b",
    r"trend towards",
    r"highly",
    r"confirms?\b",
    r"demonstrates?\b",
    r"hypothes\w+",
    r"statistically",
]
TEMPLATES = sorted((template_folder("reports") / "study").rglob("*.j2"))
MODULES = sorted(Path(wintersward.report.__file__).parent.glob("*.py"))


def found(text: str) -> list[str]:
    return [m[0] for word in BANNED for m in re.finditer(word, text, re.IGNORECASE)]


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_templates(path: Path) -> None:
    assert found(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.name)
def test_texts_in_the_code(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    texts = [n.value for n in ast.walk(tree) if isinstance(n, ast.Constant)]
    assert found("\n".join(text for text in texts if isinstance(text, str))) == []


def test_the_page_and_its_pictures(soup: BeautifulSoup, early_html: str) -> None:
    assert found(soup.main.get_text(" ")) == []
    assert [word for image in soup.find_all("img") for word in found(image["alt"])] == []
    assert found(BeautifulSoup(early_html, "html.parser").get_text(" ")) == []


def test_the_check_finds_what_it_should() -> None:
    assert found("The test was not significant, which proves that there is no effect.") == [
        "significant",
        "proves",
        "no effect",
    ]
