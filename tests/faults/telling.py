"""What a broken case is: files as a person might leave them, and the lines that are told of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from openpyxl import Workbook

UNREAD = "the sheets were not looked at; that is done once diary.yaml is sound"
# A tab is rows of cells; a workbook is tabs by their names.
Tabs = Mapping[str, Sequence[Sequence[Any]]]
Content = str | bytes | Tabs


@dataclass(frozen=True)
class Case:
    """Files that are put into a study, and all that a check then tells.

    Parameters
    ----------
    files : mapping of str to str, bytes or tabs
        From the path within the study folder to what stands there.
    told : sequence of str
        The lines, in order: what is wrong, then what became of the rows of faulty tables.
    diary : str or bytes
        Content of ``diary.yaml``; empty where there is none.
    """

    files: Mapping[str, Content]
    told: Sequence[str]
    diary: str | bytes = ""


def put(study: Path, case: Case) -> None:
    """Write the files of a case into a study folder."""
    files = {**case.files, **({"diary.yaml": case.diary} if case.diary else {})}
    for name, content in files.items():
        path = study / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if isinstance(content, Mapping):
            _save(path, content)
        else:
            path.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)


def _save(path: Path, tabs: Tabs) -> None:
    book = Workbook()
    book.remove(book.active)
    for name, rows in tabs.items():
        tab = book.create_sheet(name)
        for row in rows:
            tab.append(list(row))
    book.save(path)


def lines(*rows: str) -> str:
    """Join rows to the text of a file."""
    return "".join(f"{row}\n" for row in rows)


def pulls(*rows: str) -> dict[str, Content]:
    """Make a sheet of pulls: headings, a sound row, and these."""
    head = "date,plot,sample,pull_force"
    return {"sheets/pulls.csv": lines(head, "2026-03-24,304,1,44", *rows)}


def ratings(*rows: str) -> dict[str, Content]:
    """Make a sheet of ratings: headings, a sound row, and these."""
    head = "date,plot,rater,colour_rating"
    return {"sheets/ratings.csv": lines(head, "2026-03-24,304,rx,5", *rows)}


def mould(*rows: str) -> dict[str, Content]:
    """Make a sheet of shares of the plot: headings, a sound row, and these."""
    return {"sheets/mould.csv": lines("date,plot,mould", "2026-03-24,304,5", *rows)}


def season(pull: str) -> dict[str, Content]:
    """Make a sheet of every pull of plots at two visits, a little apart, but for one pull."""
    rows = [
        f"{day},{block}0{place},{sample},{40 + 3 * block + at + (place * sample + block * at) % 4}"
        for at, day in enumerate(("2026-03-24", "2026-04-17"))
        for block in (1, 2, 3)
        for place in (1, 2, 3, 4)
        for sample in (1, 2, 3)
    ]
    place = pull[: pull.rindex(",") + 1]
    changed = [pull if row.startswith(place) else row for row in rows]
    return {"sheets/pulls.csv": lines("date,plot,sample,pull_force", *changed)}
