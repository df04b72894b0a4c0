"""Invented results, and the page made of them."""

from __future__ import annotations

import importlib.util
import io
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from types import ModuleType

import nbformat
import pandas as pd
import pytest
from bs4 import BeautifulSoup
from matplotlib.figure import Figure
from nbformat import NotebookNode, v4
from PIL import Image

from wintersward.report.figures import pictures
from wintersward.report.page import Drawn, Page, Provenance
from wintersward.report.picture import Picture
from wintersward.report.rendering import render
from wintersward.report.sections import CONTEXTS
from wintersward.trial import Definition
from wintersward.trial.questions import Family
from wintersward.trial.schema import Layout


def photo() -> bytes:
    stream = io.BytesIO()
    Image.new("RGB", (60, 40), (70, 110, 60)).save(stream, "JPEG")
    return stream.getvalue()


PHOTO = photo()


def _load(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(
        f"report_{name}", Path(__file__).with_name(f"{name}.py")
    )
    if spec is None or spec.loader is None:
        raise ImportError(f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def fabricate() -> ModuleType:
    return _load("fabricate")


@pytest.fixture(scope="session")
def fabricate_support() -> ModuleType:
    return _load("fabricate_support")


@pytest.fixture(scope="session")
def definition(fabricate: ModuleType) -> Definition:
    return fabricate.read_trial()


@pytest.fixture(scope="session")
def tables(fabricate: ModuleType, fabricate_support: ModuleType) -> dict[str, pd.DataFrame]:
    return fabricate.fabricate() | fabricate_support.supporting(fabricate.draw_plots())


@pytest.fixture(scope="session")
def early(fabricate: ModuleType) -> dict[str, pd.DataFrame]:
    return fabricate.fabricate(primary=False)


@pytest.fixture(scope="session")
def primary_row(tables: dict[str, pd.DataFrame]) -> Callable[..., pd.DataFrame]:
    """Make a table ``primary`` with another interval."""

    def make(lower: float, upper: float, se: float = 3.1, **other: object) -> pd.DataFrame:
        row = tables["primary"].iloc[[0]].copy()
        row["lower"], row["upper"], row["se"] = lower, upper, se
        row["difference"] = (lower + upper) / 2
        return row.assign(**other)

    return make


@pytest.fixture(scope="session")
def unanswered(tables: dict[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    """Make a run whose primary question could not be estimated: all its numbers are missing."""
    numbers = tables["primary"].select_dtypes("number").columns
    primary = tables["primary"].astype(dict.fromkeys(numbers, float))
    primary[numbers] = float("nan")
    note = {
        "measure": ["green_cover"],
        "date": pd.to_datetime(["2026-03-24"]),
        "code": ["not compared"],
        "text": ["not compared: no block holds both treatments"],
    }
    notes = pd.concat([tables["notes"], pd.DataFrame(note)], ignore_index=True)
    kept = {"primary": primary, "notes": notes}
    for name in ("tests", "means", "differences"):
        frame = tables[name]
        there = (frame["measure"] == "green_cover") & (frame["date"] == note["date"][0])
        kept[name] = frame[~there].reset_index(drop=True)
    return tables | kept


def svg(figure: Figure) -> bytes:
    stream = io.BytesIO()
    figure.savefig(stream, format="svg", metadata={"Date": None})
    return stream.getvalue()


class _Seen(Mapping[str, pd.DataFrame]):
    """Tables that keep what was looked at, as it was then; one that is not there is None."""

    def __init__(self, tables: Mapping[str, pd.DataFrame]) -> None:
        self._tables = tables
        self.kept: dict[str, pd.DataFrame | None] = {}

    def __getitem__(self, name: str) -> pd.DataFrame:
        self.kept[name] = self._tables[name].copy() if name in self._tables else None
        return self._tables[name]

    def __iter__(self) -> Iterator[str]:
        return iter([name for name in self._tables if self[name] is not None])

    def __len__(self) -> int:
        return len(self._tables)


@dataclass(frozen=True, eq=False)
class _Made:
    """The pictures of some tables, which are those of all tables that are alike in them."""

    definition: Definition
    kept: dict[str, pd.DataFrame | None]
    pictures: dict[str, Picture]
    drawn: dict[str, Drawn] = field(default_factory=dict)

    def of(self, tables: Mapping[str, pd.DataFrame], definition: Definition) -> bool:
        """Tell whether tables are alike, values and types, in all that the pictures looked at."""
        if self.definition != definition:
            return False
        for name, before in self.kept.items():
            now = tables.get(name)
            if (before is None) != (now is None):
                return False
            if before is not None and now is not None and not before.equals(now):
                return False
        return True


_MADE: deque[_Made] = deque(maxlen=6)


def _made(tables: Mapping[str, pd.DataFrame], definition: Definition) -> _Made:
    """Make the pictures, or give those that were made lately of tables that are alike."""
    found = next((known for known in _MADE if known.of(tables, definition)), None)
    if found is None:
        seen = _Seen(tables)
        own = {picture.name: picture for picture in pictures(seen, definition)}
        found = _Made(definition, seen.kept, own)
    else:
        _MADE.remove(found)
    _MADE.appendleft(found)
    return found


class Pictures(Mapping[str, Drawn]):
    """The pictures of a page, drawn when a section asks for them: most tests look at words."""

    def __init__(self, tables: dict[str, pd.DataFrame], definition: Definition) -> None:
        self._made_from = tables, definition

    @cached_property
    def _all(self) -> _Made:
        return _made(*self._made_from)

    def __getitem__(self, name: str) -> Drawn:
        if name == "photo_sheet":
            words = ("36 photos of block 1, from 22 % to 88 % green.", "Photos of the first block.")
            return Drawn(PHOTO, "image/jpeg", *words)
        drawn = self._all.drawn
        if name not in drawn:
            made = self._all.pictures[name]
            drawn[name] = Drawn(svg(made.figure), "image/svg+xml", made.alt, made.caption)
        return drawn[name]

    def __iter__(self) -> Iterator[str]:
        yield from self._all.pictures
        yield "photo_sheet"

    def __len__(self) -> int:
        return len(self._all.pictures) + 1


@pytest.fixture(scope="session")
def make_page(fabricate: ModuleType) -> Callable[..., Page]:
    def make(tables: dict[str, pd.DataFrame], definition: Definition, **other: object) -> Page:
        provenance = Provenance({"trial.yaml": "ab" * 32}, {"numpy": "2.1"}, ())
        settings = {"provenance": provenance, "plots": fabricate.draw_plots()} | other
        return Page(tables, Pictures(tables, definition), definition, **settings)

    return make


@pytest.fixture(scope="session")
def make_notebook() -> Callable[[Page], NotebookNode]:
    def make(page: Page) -> NotebookNode:
        cells = [v4.new_markdown_cell("# Not for the page", metadata={"tags": ["notebook-only"]})]
        for name in CONTEXTS:
            section = page.section(name)
            data = {"text/html": section._repr_html_(), "text/plain": repr(section)}
            shown = v4.new_output("execute_result", data, execution_count=1)
            cells.append(v4.new_code_cell(f'page.section("{name}")', outputs=[shown]))
        return nbformat.from_dict(v4.new_notebook(cells=cells))

    return make


@pytest.fixture(scope="session")
def page(
    make_page: Callable[..., Page], tables: dict[str, pd.DataFrame], definition: Definition
) -> Page:
    return make_page(tables, definition)


@pytest.fixture(scope="session")
def html(page: Page, make_notebook: Callable[[Page], NotebookNode]) -> str:
    return render(make_notebook(page))


@pytest.fixture(scope="session")
def soup(html: str) -> BeautifulSoup:
    return BeautifulSoup(html, "html.parser")


@pytest.fixture(scope="session")
def early_html(
    make_page: Callable[..., Page],
    early: dict[str, pd.DataFrame],
    definition: Definition,
    make_notebook: Callable[[Page], NotebookNode],
) -> str:
    return render(make_notebook(make_page(early, definition)))


@pytest.fixture(scope="session")
def declared(definition: Definition) -> Definition:
    """Make the primary question a declared family: both covers against none."""
    compare = Family.model_validate({"each": ["fleece", "woven"], "with": "open"})
    primary = definition.analysis.primary.model_copy(update={"compare": compare})
    analysis = definition.analysis.model_copy(update={"primary": primary})
    return definition.model_copy(update={"analysis": analysis})


@pytest.fixture(scope="session")
def declared_tables(
    fabricate_support: ModuleType, tables: dict[str, pd.DataFrame]
) -> dict[str, pd.DataFrame]:
    """Make the tables of the declared family."""
    return fabricate_support.declared(tables)


@pytest.fixture(scope="session")
def laid_out(definition: Definition) -> Callable[..., Definition]:
    """Make the same trial in another layout, with covers alone or with both factors."""

    def make(kind: str, both: bool = False, **fields: object) -> Definition:
        layout = {"kind": kind, "plot_size": ["10 ft", "6 ft"], "alley": "2 ft", "seed": 20260119}
        layout |= {"edge_left_out": "1 ft", **fields}
        names = ["cover", "aeration"] if both else ["cover"]
        return definition.model_copy(
            update={
                "layout": Layout.model_validate(layout),
                "treatments": {name: definition.treatments[name] for name in names},
            }
        )

    return make


@pytest.fixture(scope="session")
def blocks_only(laid_out: Callable[..., Definition]) -> Definition:
    """Make the same covers in plain randomised blocks."""
    return laid_out("randomised blocks", blocks=6, blocks_follow="shade of the stand")


@pytest.fixture(scope="session")
def blocks_tables(
    tables: dict[str, pd.DataFrame], fabricate: ModuleType, fabricate_support: ModuleType
) -> dict[str, pd.DataFrame]:
    """Keep what the plain randomised blocks would have: one factor, plots as units."""
    kept = {name: frame.copy() for name, frame in tables.items()}
    kept |= fabricate_support.supporting(fabricate.draw_plots(), split=False)
    aerated = pd.Timestamp("2026-03-25")
    for name in ("plot_means", "skeleton", "tests", "means", "differences"):
        kept[name] = kept[name][kept[name]["date"] < aerated].reset_index(drop=True)
    kept["plot_means"] = (
        kept["plot_means"].drop(columns="aeration").assign(whole_plot="", unit_kind="plot")
    )
    for name in ("skeleton", "tests", "primary"):
        kept[name] = kept[name].replace({"unit_kind": {"whole plot": "plot"}})
    kept["primary"]["method"] = "means of plots compared within blocks, exact t"
    return kept


@pytest.fixture(scope="session")
def blocks_page(
    make_page: Callable[..., Page],
    blocks_only: Definition,
    blocks_tables: dict[str, pd.DataFrame],
    fabricate: ModuleType,
) -> Page:
    plots = fabricate.draw_plots().drop(columns="aeration").assign(whole_plot="")
    return make_page(blocks_tables, blocks_only, plots=plots)
