"""Start the next season of a trial: the same definition, later dates, a fresh seed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wintersward.errors import WinterswardError
from wintersward.paths import study_folder
from wintersward.runs.new import (
    SEED,
    SEED_WRITTEN,
    fresh_folder,
    fresh_seed,
    put_starter,
    sound,
)
from wintersward.runs.rewriting import rewritten
from wintersward.trial import Definition, read_definition
from wintersward.trial.dates import shift_dates
from wintersward.trial.reading import Place, read_yaml

__all__ = ["Season", "Shift", "new_season"]


@dataclass(frozen=True)
class Shift:
    """One date that was shifted.

    Parameters
    ----------
    field : str
        Field of the definition.
    old, new : date
        Before and after.
    """

    field: str
    old: dt.date
    new: dt.date


@dataclass(frozen=True)
class Season:
    """The next season of a trial.

    Parameters
    ----------
    study : Path
        The new study folder.
    days : int
        Number of days that every date was shifted by.
    shifts : list of Shift
        Every date of the definition.
    title : str
        Title of the definition, which is left as it was.
    own_notebooks : list of str
        Notebooks that the old study had changed; they are not taken along.
    """

    study: Path
    days: int
    shifts: list[Shift]
    title: str
    own_notebooks: list[str]


def new_season(new: str | Path, old: str | Path, covers_on: dt.date) -> Season:
    """Start the next season in a new folder.

    Parameters
    ----------
    new : str or Path
        A folder that is not there yet, or an empty one.
    old : str or Path
        The study folder of the season before; it is only read.
    covers_on : date
        Day on which the covers go on; every other date keeps its distance from it.

    Returns
    -------
    Season
        The definition is copied with comments and all; plan, diary, photos and sheets of the
        old season are left behind, and a fresh diary is put in place.

    Raises
    ------
    WinterswardError
        Where there is something in the new folder, something is wrong in the old definition,
        or a date would leave the calendar.
    """
    before = study_folder(old)
    definition, problems = read_definition(before)
    if definition is None:
        raise WinterswardError(problems)
    days = (covers_on - _covers_on(definition)).days
    path = before / "trial.yaml"
    content = read_yaml(path, "trial.yaml").content
    dates = dict(_dates(content))
    old_days = {_field(place): day for place, day in dates.items()}
    new_days = shift_dates(old_days, days)
    shifts = [Shift(field, day, new_days[field]) for field, day in old_days.items()]
    seed = str(content["layout"]["seed"])
    changes: dict[Place, tuple[str, str]] = {SEED: (SEED_WRITTEN, str(fresh_seed(seed)))}
    for (place, day), shift in zip(dates.items(), shifts, strict=True):
        changes[place] = (day.isoformat(), shift.new.isoformat())
    with fresh_folder(new) as (made, target):
        put_starter(made, leave_out=("trial.yaml",))
        (made / "trial.yaml").write_bytes(rewritten(path, "trial.yaml", changes))
        sound(made)
    own = sorted(found.name for found in (before / "notebooks").glob("*.ipynb"))
    return Season(target, days, shifts, definition.title, own)


def _covers_on(definition: Definition) -> dt.date:
    day = definition.dates["covers_on"]
    if isinstance(day, list):
        raise WinterswardError("trial.yaml: dates.covers_on: found a list; allowed: one date")
    return day


def _dates(content: Any) -> Iterator[tuple[Place, dt.date]]:
    """Find every date by which the trial goes; names that refer to one need no change."""
    yield from _below(("dates",), content["dates"])
    for factor, treatment in content["treatments"].items():
        yield from _below(("treatments", factor, "applied"), treatment.get("applied"))
    for name, measure in content["measures"].items():
        yield from _below(("measures", name, "dates"), measure["dates"])
    yield from _below(("analysis", "primary", "on"), content["analysis"]["primary"]["on"])


def _below(place: Place, found: Any) -> Iterator[tuple[Place, dt.date]]:
    if isinstance(found, dict):
        for key, value in found.items():
            yield from _below((*place, key), value)
    elif isinstance(found, list):
        for index, value in enumerate(found):
            yield from _below((*place, index), value)
    elif isinstance(found, str):
        try:
            yield place, dt.datetime.strptime(found, "%Y-%m-%d").date()
        except ValueError:
            return


def _field(place: Place) -> str:
    """Write the path of an entry as a person counts: list entries from 1."""
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in place)
