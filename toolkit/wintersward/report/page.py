"""The page of a study: its sections, filled from the tables and figures of one run."""

from __future__ import annotations

import base64
import datetime as dt
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

import jinja2
import pandas as pd
from markupsafe import Markup

from wintersward.analysis.demonstration_tables import tables_of
from wintersward.analysis.results import empty
from wintersward.errors import WinterswardError, closest, listed
from wintersward.paths import command, template
from wintersward.records.weather import FOLDER
from wintersward.report.covers import covered_spells, spells_of
from wintersward.report.demonstrating import SHOWN, demonstration_context
from wintersward.report.frozen import marked
from wintersward.report.sections import CONTEXTS
from wintersward.report.words import estimated
from wintersward.trial.schema import CoverSpell, Definition

if TYPE_CHECKING:
    from wintersward.study import Trial

__all__ = [
    "Drawn",
    "Page",
    "Provenance",
    "RecordLike",
    "Section",
    "report_page",
]

_MEDIA = {".svg": "image/svg+xml", ".png": "image/png", ".jpg": "image/jpeg"}


@dataclass(frozen=True)
class Drawn:
    """A picture as its file holds it.

    Parameters
    ----------
    content : bytes
        SVG, PNG or JPEG.
    media : str
        Media type, such as ``image/svg+xml``.
    alt, caption : str
        Its message for those who do not see it, and what to see in it.
    """

    content: bytes
    media: str
    alt: str
    caption: str

    def figure(self, kind: str = "") -> Markup:
        """Build the figure with its caption; the picture travels inside the page."""
        data = base64.b64encode(self.content).decode("ascii")
        return Markup(
            '<figure class="{}">'
            '<div class="picture" tabindex="0" role="group" aria-label="picture">'
            '<img src="data:{};base64,{}" alt="{}"></div><figcaption>{}</figcaption></figure>'
        ).format(kind or "drawn", self.media, data, self.alt, self.caption)


@dataclass(frozen=True)
class Provenance:
    """Where the results come from.

    Parameters
    ----------
    files : mapping of str to str
        SHA-256 of every input file.
    versions : mapping of str to str
        Version of every library that takes part.
    own_copies : sequence of str
        Notebooks that the study changed.
    """

    files: Mapping[str, str] = field(default_factory=dict)
    versions: Mapping[str, str] = field(default_factory=dict)
    own_copies: Sequence[str] = ()


class RecordLike(Protocol):
    """What a page reads from a run."""

    folder: Path

    def read(self, name: str) -> pd.DataFrame:
        """Read a table."""

    def figures(self) -> dict[str, dict[str, str]]:
        """List the figures."""


@dataclass(frozen=True)
class Section:
    """One section of a page, shown by Jupyter as what it is.

    Parameters
    ----------
    name : str
        Which.
    html : str
        Its content.
    """

    name: str
    html: str

    def _repr_html_(self) -> str:
        return self.html

    def __repr__(self) -> str:
        """Say which section it is, without a place in memory, which would change every time."""
        return f"section {self.name!r} of the report"


@dataclass(frozen=True)
class Page:
    """Everything that a report shows, and the sections that show it.

    Parameters
    ----------
    tables : dict of str to DataFrame
        Tables of a run, in SI; a table that is not there counts as empty.
    figures : dict of str to Drawn
        Pictures of the run.
    definition : Definition
        The trial.
    provenance : Provenance, optional
        Where the results come from.
    plots : DataFrame, optional
        ``plan/plots.csv``.
    spells : sequence of (date, date), optional
        Time with all covered plots under cover; left out, as planned.
    covers : sequence of CoverSpell, optional
        What the diary tells of covers, spell by spell.
    study : Path, optional
        Study folder, whose own copies of the templates go first.
    weather : str
        File of the season's weather, from the study folder on; empty without one.
    """

    tables: Mapping[str, pd.DataFrame]
    figures: Mapping[str, Drawn]
    definition: Definition
    provenance: Provenance = field(default_factory=Provenance)
    plots: pd.DataFrame | None = None
    spells: Sequence[tuple[dt.date, dt.date]] | None = None
    covers: Sequence[CoverSpell] = ()
    study: Path | None = None
    weather: str = ""

    def table(self, name: str) -> pd.DataFrame:
        """Give a table of the run; one that was not written is empty."""
        return self.tables[name] if name in self.tables else empty(name)

    def figure(self, name: str, kind: str = "") -> Markup:
        """Give a picture of the run; nothing where there is none of that name."""
        return self.figures[name].figure(kind) if name in self.figures else Markup("")

    @property
    def waiting(self) -> bool:
        """Whether the primary date has no data yet, so that nothing compares treatments."""
        if not self.definition.layout.tested:  # never answered, only shown
            return self.table("means").empty
        return self.table("primary").empty

    @property
    def answered(self) -> bool:
        """Whether the primary difference could be estimated."""
        return estimated(self.table("primary"))

    @property
    def covered(self) -> list[tuple[dt.date, dt.date]]:
        """Time under cover."""
        return covered_spells(self.definition) if self.spells is None else list(self.spells)

    def section(self, name: str) -> Section:
        """Fill one section.

        Parameters
        ----------
        name : str
            One of `wintersward.report.sections.CONTEXTS`.

        Raises
        ------
        WinterswardError
            For an unknown name, with those that are known.
        """
        if name not in CONTEXTS:
            near = closest(name, CONTEXTS)
            raise WinterswardError(
                f"no section is called '{name}'; there are: {listed(CONTEXTS)}"
                + (f"; {near}" if near else "")
            )
        context = {"page": self, "definition": self.definition, **CONTEXTS[name](self)}
        # A demonstration has words of its own wherever a trial speaks of comparisons.
        shown = not self.definition.layout.tested and name in SHOWN
        place = "sections/demonstration" if shown else "sections"
        context |= {"shown": demonstration_context(self)} if shown else {}
        template = self._templates.get_template(f"{place}/{name}.html.j2")
        made = template.render(marked(self, name, context))
        return Section(name, made)

    @cached_property
    def _templates(self) -> jinja2.Environment:
        return jinja2.Environment(
            loader=jinja2.FunctionLoader(self._source),
            autoescape=True,
            undefined=jinja2.StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )

    def _source(self, name: str) -> str:
        return template("reports", f"study/{name}", self.study).read_text(encoding="utf-8")


def report_page(trial: Trial, record: RecordLike) -> Page:
    """Set up the page of a run from its tables and figures; nothing is computed.

    Parameters
    ----------
    trial : Trial
        The study.
    record : Record
        Of the run.

    Returns
    -------
    Page
    """
    figures = {}
    for name, entry in record.figures().items():
        path = record.folder / "figures" / entry["file"]
        figures[name] = Drawn(
            path.read_bytes(), _MEDIA[path.suffix], entry["alt"], entry["caption"]
        )
    return Page(
        tables=_tables(record, trial.folder, trial.definition),
        figures=figures,
        definition=trial.definition,
        provenance=_provenance(record.folder),
        plots=trial.plots,
        spells=spells_of(trial),
        covers=trial.diary.covers,
        study=trial.folder,
        weather=_weather_file(trial),
    )


def _weather_file(trial: Trial) -> str:
    """Name the season's weather from the study folder on; a diary may leave its folder out."""
    if trial.diary.weather is None:
        return ""
    written = trial.diary.weather.file.replace("\\", "/")
    return f"{FOLDER}/{written.removeprefix(f'{FOLDER}/')}"


def _tables(record: RecordLike, study: Path, definition: Definition) -> dict[str, pd.DataFrame]:
    """Read every table that the stages before this one wrote."""
    written = json.loads(
        (record.folder / "results" / "tables.json").read_text(encoding="utf-8")
        if (record.folder / "results" / "tables.json").is_file()
        else "{}"
    )
    if not written:
        raise WinterswardError(
            "there are no results to report yet; run the notebooks before this one first, "
            f"or all of them: {command('run', study)}"
        )
    return {name: record.read(name) for name in tables_of(definition) if name in written}


def _provenance(folder: Path) -> Provenance:
    path = folder / "inputs.json"
    held: dict[str, Any] = json.loads(path.read_text(encoding="utf-8")) if path.is_file() else {}
    return Provenance(
        files={name: entry["sha256"] for name, entry in held.get("files", {}).items()},
        versions=held.get("versions", {}),
        own_copies=held.get("own_copies", ()),
    )
