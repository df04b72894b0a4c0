"""From the executed report notebook to one page that needs nothing else."""

from __future__ import annotations

import base64
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import nbformat
from bs4 import BeautifulSoup
from nbconvert import HTMLExporter, TemplateExporter
from nbformat import NotebookNode

from wintersward import __version__
from wintersward.paths import template, template_folder
from wintersward.report.numbering import number_captions

__all__ = ["Outline", "outline", "render"]

NOTEBOOK_ONLY = "notebook-only"
_CONTENTS = "<!-- contents -->"
# The page's own policy forbids these as well; taken out, they cannot even complain.
_FORBIDDEN = ("script", "link", "iframe", "object", "embed", "base", "form")


@dataclass(frozen=True)
class Entry:
    """A line of the contents."""

    id: str
    text: str


@dataclass(frozen=True)
class Outline:
    """What the frame of a page takes from its content.

    Parameters
    ----------
    title : str
        Text of the only first heading.
    contents : list of Entry
        Second headings, in their order.
    html : str
        The content.
    notice : str
        What every page of a print repeats; empty for nothing.
    """

    title: str
    contents: list[Entry]
    html: str
    notice: str = ""


def render(
    notebook: Path | NotebookNode, target: Path | None = None, study: Path | None = None
) -> str:
    """Turn an executed report notebook into a page.

    Parameters
    ----------
    notebook : Path or NotebookNode
        With its outputs.
    target : Path, optional
        Where the page is written, in UTF-8.
    study : Path, optional
        Study folder, whose own copies of the templates go first.

    Returns
    -------
    str
        HTML without a script and without anything to fetch.
    """
    held = notebook
    if not isinstance(held, NotebookNode):
        held = nbformat.read(str(notebook), as_version=4)
    # The exporter marks what it is given; the notebook itself stays as it was run.
    node = nbformat.from_dict(held)
    node.cells = [cell for cell in node.cells if NOTEBOOK_ONLY not in _tags(cell)]
    exporter = HTMLExporter(
        template_name="study",
        template_file="index.html.j2",
        extra_template_basedirs=[str(folder) for folder in _folders(study)],
    )
    for name, function in _FILTERS.items():
        exporter.register_filter(name, function)
    sheets = (template("reports", name, study) for name in ("colours.css", "study/style.css"))
    style = "".join(sheet.read_text(encoding="utf-8") for sheet in sheets)
    sources = [str(c.source) for c in node.cells if c.cell_type == "code" and c.source.strip()]
    extra = {"version": __version__, "style": style, "code": sources}
    # HTMLExporter itself would read the whole page once more, only to mark what this page has not:
    # pictures without alternative text, and cells as a notebook shows them.
    html, _ = TemplateExporter.from_notebook_node(exporter, node, {"wintersward": extra})
    page = html.strip() + "\n"
    if target is not None:
        target.write_bytes(page.encode("utf-8"))
    return page


def _folders(study: Path | None) -> list[Path]:
    """Give the folders that hold a template ``study``, the study's own first."""
    own = [] if study is None else [study / "templates" / "reports"]
    return [folder for folder in [*own, template_folder("reports")] if folder.is_dir()]


def _tags(cell: NotebookNode) -> list[str]:
    return list(cell.metadata.get("tags", []))


def outline(html: str) -> Outline:
    """Bring the content of a page in order, and read its title and contents.

    Parameters
    ----------
    html : str
        What the cells of the notebook show.

    Returns
    -------
    Outline
        One first heading; every second heading with an id; figures and tables numbered; no
        script, frame or form.

    Examples
    --------
    >>> found = outline("<h1>Trial</h1><h2 id='a'>Answer</h2><h1>More</h1>")
    >>> found.title, [(entry.id, entry.text) for entry in found.contents]
    ('Trial', [('a', 'Answer'), ('more', 'More')])
    """
    soup = BeautifulSoup(html, "html.parser")
    for element in soup.find_all(_FORBIDDEN):
        element.decompose()
    for anchor in soup.select("a.anchor-link"):
        anchor.decompose()
    firsts = soup.find_all("h1")
    for heading in firsts[1:]:
        heading.name = "h2"
    if not firsts:
        made = soup.new_tag("h1")
        made.string = "Report of a trial"
        soup.insert(0, made)
    title = _text(soup.find("h1"))
    contents = []
    for heading in soup.find_all("h2"):
        text = _text(heading)
        if not heading.get("id"):
            heading["id"] = _fresh_id(soup, text)
        contents.append(Entry(str(heading["id"]), text))
    number_captions(soup)
    notice = soup.find(class_="notice")
    return Outline(title, contents, str(soup), _text(notice) if notice else "")


def _text(element: Any) -> str:
    return " ".join(element.get_text().split())


def _fresh_id(soup: BeautifulSoup, text: str) -> str:
    wanted = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-") or "part"
    made, number = wanted, 2
    while soup.find(id=made):
        made, number = f"{wanted}-{number}", number + 1
    return made


def _with_contents(html: str, contents: str) -> str:
    """Put the contents where the first section asks for them, else first."""
    if _CONTENTS in html:
        return html.replace(_CONTENTS, contents, 1)
    return contents + html


def _lowered(html: str) -> str:
    """Lower the headings of written text by one: the page has its title already."""
    for level in range(5, 0, -1):
        html = re.sub(rf"(</?)h{level}\b", rf"\g<1>h{level + 1}", html)
    return html


def _css_text(text: str) -> str:
    """Escape a text for a string in a style sheet; the space that ends an escape belongs to it."""
    return "".join(
        c if c.isalnum() or c in " ,.-" else f"\\{ord(c):x} " for c in " ".join(text.split())
    )


def _text_base64(text: str | list[str]) -> str:
    whole = text if isinstance(text, str) else "".join(text)
    return base64.b64encode(whole.encode("utf-8")).decode("ascii")


def _alt_text(output: NotebookNode, media: str) -> str:
    """Find the text that stands for a picture of a cell."""
    metadata = output.get("metadata", {})
    alt = metadata.get(media, {}).get("alt") or metadata.get("alt") or ""
    return str(alt).strip() or "A picture made by the notebook, without a description."


_FILTERS = {
    "outline": outline,
    "with_contents": _with_contents,
    "lowered": _lowered,
    "css_text": _css_text,
    "text_base64": _text_base64,
    "alt_text": _alt_text,
}
