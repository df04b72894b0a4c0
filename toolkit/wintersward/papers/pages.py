"""One style for every printed paper: a page of HTML that needs nothing else."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

import jinja2

from wintersward import __version__
from wintersward.errors import WinterswardError, listed
from wintersward.paths import template
from wintersward.trial import Definition
from wintersward.trial.dates import dates_meant

__all__ = ["PAPERS", "Paper", "paper_named", "printable", "season", "short_id"]


@dataclass(frozen=True)
class Paper:
    """A sheet of paper, upright.

    Parameters
    ----------
    size : str
        Its name in a style sheet (CSS Paged Media, property ``size``).
    width_mm, height_mm : float
        Its sides [mm].
    """

    size: str
    width_mm: float
    height_mm: float


# Letter is 8.5 by 11 inches (ANSI/ASME Y14.1, size A); A4 is ISO 216.
PAPERS = {"letter": Paper("letter", 215.9, 279.4), "a4": Paper("A4", 210.0, 297.0)}


def paper_named(name: str) -> Paper:
    """Find a sheet of paper by its name.

    Parameters
    ----------
    name : {'letter', 'a4'}
        In small letters or capitals.

    Returns
    -------
    Paper
        Its sides.

    Raises
    ------
    WinterswardError
        For any other name, with those that are known.
    """
    found = PAPERS.get(name.lower())
    if found is None:
        raise WinterswardError(f"paper is '{name}'; allowed: {listed(PAPERS)}")
    return found


def short_id(definition: Definition) -> str:
    """Give the few letters by which papers and photos name a study.

    Parameters
    ----------
    definition : Definition
        Its site and the seed of its plan are used.

    Returns
    -------
    str
        Six hexadecimal digits.

    Notes
    -----
    The first digits of the SHA-256 of site and seed: they stay when a title is mended or a date
    moves, and change with the next season's plan. The seed itself is not printed: whoever has
    it and the definition could draw the treatments again, and raters are not to know them.
    """
    text = f"{definition.site.country}\n{definition.site.name}\n{definition.layout.seed}"
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:6]


def season(definition: Definition) -> str:
    """Name the season by the years that its dates lie in.

    Parameters
    ----------
    definition : Definition
        Its dates.

    Returns
    -------
    str
        ``2026``, or ``2026–2027``.
    """
    days = dates_meant(definition.dates, list(definition.dates))
    first, last = days[0].year, days[-1].year
    return str(first) if first == last else f"{first}\N{EN DASH}{last}"


def printable(
    name: str,
    definition: Definition,
    paper: str,
    study: Path | None = None,
    **content: object,
) -> str:
    """Fill in the template of a paper.

    Parameters
    ----------
    name : str
        Template below ``templates/papers``, without its ending: ``labels``. It extends
        ``page.html.j2``, which has the blocks ``title``, ``style`` and ``main``.
    definition : Definition
        The trial; the template sees it as ``definition``.
    paper : {'letter', 'a4'}
        What it is printed on; the template sees a `Paper`.
    study : Path, optional
        Study folder whose own copies of the templates go first.
    **content
        What else the template needs. Plain text is escaped.

    Returns
    -------
    str
        HTML without a script and without anything to fetch.

    Raises
    ------
    WinterswardError
        For a paper or a template that is not known.
    """
    sheet = paper_named(paper)
    surroundings = jinja2.Environment(
        loader=jinja2.FunctionLoader(
            lambda wanted: template("papers", wanted, study).read_text(encoding="utf-8")
        ),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    surroundings.filters["css_text"] = _css_text
    return surroundings.get_template(f"{name}.html.j2").render(
        definition=definition,
        paper=sheet,
        study_id=short_id(definition),
        season=season(definition),
        foot=_foot(definition),
        version=__version__,
        **content,
    )


def _foot(definition: Definition) -> str:
    """Write what every page repeats. The title of the trial is left out: it may name treatments."""
    told = [definition.site.name, season(definition), f"study {short_id(definition)}"]
    return " · ".join([*told, *([definition.notice] if definition.notice else [])])


def _css_text(text: str) -> str:
    """Escape a text for a string in a style sheet (CSS Syntax, escaping)."""
    # The space that ends an escape belongs to it and is not shown.
    plain = " ".join(str(text).split())
    return "".join(c if c.isalnum() or c in " ,.-" else f"\\{ord(c):x} " for c in plain)
