from __future__ import annotations

import base64
from pathlib import Path

import pytest

from wintersward.handin.page_words import (
    page_pictures,
    pictures_apart,
    programs_in,
    text_apart,
)

ONE, OTHER = b"<svg>1</svg>", b"<svg>2</svg>"


def page(*pictures: bytes) -> str:
    coded = (base64.b64encode(content).decode() for content in pictures)
    shown = (f'<img alt="how it went" src="data:image/svg+xml;base64,{one}">' for one in coded)
    return f"<h1>Covers</h1><p>By scipy 1.17.1.</p>{''.join(shown)}"


@pytest.fixture
def figures(tmp_path: Path) -> Path:
    for name, content in {"a.svg": ONE, "b.svg": OTHER, "c.svg": OTHER}.items():
        (tmp_path / name).write_bytes(content)
    return tmp_path


def test_pictures_are_files_of_the_run(figures: Path) -> None:
    assert page_pictures(page(ONE, OTHER, b"<svg>3</svg>"), figures) == [
        ("a.svg",),
        ("b.svg", "c.svg"),
        (),
    ]
    for source in ("data:image/svg+xml,%3Csvg/%3E", "data:image/png;base64,!!"):
        assert page_pictures(f'<img src="{source}">', figures) == [()]


def test_a_picture_in_the_place_of_another(figures: Path) -> None:
    here, there = (page_pictures(page(*two), figures) for two in ((OTHER, OTHER), (ONE, OTHER)))
    assert pictures_apart(here, there) == ["picture 1 is b.svg; made anew, a.svg stands there"]
    assert pictures_apart(here[:1], here) == ["1 pictures; made anew, 2"]
    assert pictures_apart(there, there) == []


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        ("Covers", "Felt", "'Felt By scipy 1.17.1. how it went'; made anew: 'Covers By scipy"),
        ("how it went", "all well", "'all well'; made anew: 'how it went'"),
        ("<h1>", '<h1 style="display:none">', "'display:none Covers By"),
    ],
)
def test_words_that_were_edited(before: str, after: str, told: str) -> None:
    assert text_apart(page(ONE).replace(before, after), page(ONE), {}, {}).startswith(told)


def test_what_other_libraries_may_change() -> None:
    there, here = {"scipy": "1.17.1"}, {"scipy": "1.18.0"}
    anew = page(OTHER).replace("1.17.1", "1.18.0").replace("<h1>", "<h1>\n")
    assert text_apart(page(ONE), anew, there, here) == ""
    assert text_apart(page(ONE), anew, {}, {}).startswith("'1.17.1. how it went'; made anew")
    # Of a name within a name, the whole counts.
    there, here = {"pillow": "13", "pillow-heif": "1.8"}, {"pillow": "14", "pillow-heif": "1.9"}
    ours = "<p>By pillow 13 and pillow-heif 1.8 and pillow 133</p>"
    anew = "<p>By pillow 14 and pillow-heif 1.9 and pillow 133</p>"
    assert text_apart(ours, anew, there, here) == ""
    assert text_apart(ours, anew, {**there, "pillow": "12"}, here) != ""


MARKED = """<h1>Covers</h1><section id="limits"><p>Few plots.</p></section>
<p><data title="a.csv:2" value="1.04">1</data> <a href="#limits">more</a></p>
<details><p>one</p></details><img alt="how" src="data:image/png;base64,QQ==">"""


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        (' id="limits">', ' id="limits" hidden>', "'<section id hidden> limits <p>"),
        ("<section", "<template><section", "'<template> <section id> limits"),
        ("</h1>", '</h1><input value="19 points">', "'19 points limits Few"),
        ("</h1>", '</h1><input value="">', "'<input value> <section id> limits"),
        ("</h1>", '</h1><img src="https://example.org/a.png">', "'https://example.org/a.png"),
        ("</h1>", '</h1><a href="javascript:alert(1)"></a>', "'javascript:alert(1) limits"),
        ('href="#limits"', 'href="https://example.org"', "'https://example.org more one how'"),
        ('href="#limits"', 'href="#code"', "'#code more one how'; made anew: '#limits more"),
        ('id="limits"', 'id="code"', "'code Few plots."),
        ("one</p></details>", "one</details></p>", "'</details> </p> <img alt"),
        ("Few plots.", "<!-- Few plots. -->Few plots.", "'<!-- Few plots. --> Few plots."),
        ("<p>Few plots.</p>", "<p>Few plots.<p/>", "'<p> /> </section>"),
        ("image/png", "text/plain", "'<img alt src=data:text/plain;base64> how'; made anew"),
        ('src="data', 'src="\N{NO-BREAK SPACE}data', "'data:image/png;base64,QQ=="),
        (' alt="how"', ' alt="how" alt="how"', "'how'; made anew: ''"),
        ("</section>", "&lt;/section&gt;", "'</section> a.csv:2 1 #limits more"),
        ("<p>one", "&lt;p&gt;one", "'<p>one how'; made anew: 'one how'"),
    ],
)
def test_marks_that_were_edited(before: str, after: str, told: str) -> None:
    assert MARKED.count(before) == 1
    edited = MARKED.replace(before, after)
    assert text_apart(edited, MARKED, {}, {}).startswith(told)
    assert text_apart(MARKED, edited, {}, {}) != ""


def test_raw_values_and_pictures_are_left_to_others() -> None:
    other = MARKED.replace('"1.04"', '"1.040001"').replace("QQ==", "Qg==")
    assert other != MARKED
    assert text_apart(other, MARKED, {}, {}) == ""


@pytest.mark.parametrize(
    "program", ["<script>x</script>", "<iframe></iframe>", '<p onclick="x">a</p>']
)
def test_a_page_with_a_program(program: str) -> None:
    tag = program[: program.index(">")].partition(" ")[0] + ">"
    assert programs_in(page(ONE) + program) == [f"line 1: {tag}"]
    assert programs_in(page(ONE)) == []


@pytest.mark.parametrize(
    ("called", "told"),
    [
        ('<a href="javascript:x">a</a>', '<a href="javascript:">'),
        ('<a href=" Java&#10;Script:x">a</a>', '<a href="javascript:">'),
        ('<meta http-equiv="Refresh" content="0">', '<meta http-equiv="refresh">'),
        ('<base href="https://example.org">', "<base>"),
    ],
)
def test_a_page_that_calls_another(called: str, told: str) -> None:
    assert programs_in(page(ONE) + called) == [f"line 1: {told}"]


def test_pictures_from_elsewhere_are_none_of_the_run(figures: Path) -> None:
    for address in ("https://example.org/a.png", "DATA:image/svg+xml;base64,QQ==", "\tdata:,a"):
        assert page_pictures(f'<img src="{address}">', figures) == [()]
    assert page_pictures('<img srcset="a.png 2x">', figures) == [()]
    assert page_pictures('<a href="data:text/html,a">a</a>', figures) == [()]
    said = '<p title="Data: two sheets">a</p><p title="JavaScript: none">b</p>'
    assert page_pictures(said, figures) == []
    assert programs_in(said) == []
