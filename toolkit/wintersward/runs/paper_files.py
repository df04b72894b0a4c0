"""The papers of a study, written into ``plan/papers``; what a person changed there stays."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pandas as pd

from wintersward.errors import Problem, WinterswardError
from wintersward.paths import study_folder
from wintersward.runs.files import read_json, sha256, write_json, write_whole
from wintersward.trial import Definition

__all__ = ["paper_for", "write_papers"]

# Hashes of the papers as they were written, to tell those that a person changed since.
_RECORD = ".made.json"
# Countries where printers hold letter paper (Unicode CLDR, paper size US-Letter; from memory).
_LETTER = (
    *("BZ", "CA", "CL", "CO", "CR", "GT", "MX"),
    *("NI", "PA", "PH", "PR", "SV", "US", "VE"),
)


def paper_for(country: str) -> str:
    """Choose the paper that printers of a country hold.

    Parameters
    ----------
    country : str
        Two capital letters (ISO 3166).

    Returns
    -------
    str
        ``letter`` or ``a4``.

    Examples
    --------
    >>> paper_for("US"), paper_for("NZ")
    ('letter', 'a4')
    """
    return "letter" if country in _LETTER else "a4"


def write_papers(folder: str | Path = "") -> list[Path]:
    """Make every paper of a study: sheets, lists, labels, calendar, crew card.

    Parameters
    ----------
    folder : str or Path
        The study folder, or anything in it; empty, the current folder.

    Returns
    -------
    list of Path
        All papers in ``plan/papers``, sorted.

    Raises
    ------
    WinterswardError
        With everything that is wrong in the definition, the diary or the plots, or with every
        paper that was changed since it was written; nothing is written then.

    Notes
    -----
    Papers that nobody changed are made anew when the definition has changed, and taken away when
    it no longer asks for them.
    """
    from wintersward.study import open_study

    trial = open_study(study_folder(folder or Path.cwd()))
    place = trial.folder / "plan" / "papers"
    papers = _papers(trial.definition, trial.plots, trial.folder)
    record = _record(place)
    changed = [name for name in sorted(papers) if _changed(place / name, papers[name], record)]
    if changed:
        hint = "put it into sheets if it is filled in, or delete it; then make the papers again"
        raise WinterswardError(
            [
                Problem(f"plan/papers/{name}", found="a paper that was changed by hand", hint=hint)
                for name in changed
            ]
        )
    for name in record.keys() - papers.keys():
        path = place / name
        if path.is_file() and sha256(path) == record[name]:
            path.unlink()
    for name, content in papers.items():
        write_whole(place / name, content)
    write_json(place / _RECORD, {name: _hash(content) for name, content in papers.items()})
    return [place / name for name in sorted(papers)]


def _papers(definition: Definition, plots: pd.DataFrame, study: Path) -> dict[str, bytes]:
    """Make every paper: from its file name to its content."""
    from wintersward import design, papers
    from wintersward.runs.pictures import svg

    paper = paper_for(definition.site.country)
    maps = {
        ground: svg(design.plot_map(plots, definition, True, ground)).decode("utf-8")
        for ground in definition.layout.ground_names
    }
    pages = {
        "labels.html": papers.labels_page(definition, plots, paper, study),
        "crew_card.html": papers.crew_card(definition, plots, paper, maps, study),
    }
    return {
        **papers.visit_books(definition, plots, paper),
        **papers.photo_lists(definition, plots, paper),
        **papers.reference_books(definition, paper),
        "crew_cover_log.xlsx": papers.cover_log(definition, plots, paper),
        "crew_pin_count.xlsx": papers.pin_count(definition, plots, paper),
        "calendar.ics": papers.trial_calendar(definition, plots),
        **{name: page.encode("utf-8") for name, page in pages.items()},
    }


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _record(place: Path) -> dict[str, str]:
    """Read the hashes; one that cannot be read is none, and every other paper is a person's."""
    try:
        told = read_json(place / _RECORD).items()
        # A name with a folder in it was never written here; nothing outside is touched.
        return {name: str(said) for name, said in told if Path(name).name == name}
    except (json.JSONDecodeError, UnicodeDecodeError, AttributeError):
        return {}


def _changed(path: Path, content: bytes, record: dict[str, str]) -> bool:
    """Tell whether what lies there is neither what is to be written nor what was written."""
    if not path.exists():
        return False
    found = sha256(path)
    return found not in (_hash(content), record.get(path.name))
