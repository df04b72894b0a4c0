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
    anew = page(OTHER).replace("1.17.1", "1.18.0").replace("<h1>", '<h1 id="covers">\n')
    assert text_apart(page(ONE), anew, there, here) == ""
    assert text_apart(page(ONE), anew, {}, {}).startswith("'1.17.1. how it went'; made anew")


@pytest.mark.parametrize(
    "program", ["<script>x</script>", "<iframe></iframe>", '<p onclick="x">a</p>']
)
def test_a_page_with_a_program(program: str) -> None:
    tag = program[: program.index(">")].partition(" ")[0] + ">"
    assert programs_in(page(ONE) + program) == [f"line 1: {tag}"]
    assert programs_in(page(ONE)) == []
