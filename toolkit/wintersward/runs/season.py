"""Start the next season of a trial: the same definition, later dates, a fresh seed."""

from __future__ import annotations

import csv
import datetime as dt
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wintersward.errors import WinterswardError
from wintersward.paths import study_folder
from wintersward.runs.damage import files_told
from wintersward.runs.files import sha256
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
from wintersward.trial.dates import dates_meant, shift_dates
from wintersward.trial.reading import Place, read_yaml

__all__ = ["Season", "Shift", "new_season"]

_MEANS = Path("results") / "plot_means.csv"


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
    earlier : list of str
        Seasons whose values were taken along into ``earlier/``, to be analysed together.
    left_behind : str
        Why the values of the old season itself are not among them; empty where they are.
    """

    study: Path
    days: int
    shifts: list[Shift]
    title: str
    own_notebooks: list[str]
    earlier: list[str]
    left_behind: str


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
        old season are left behind, and a fresh diary is put in place. What the seasons are
        analysed together from goes into ``earlier/SEASON/``: definition and plots of the old
        season and the plot means of its newest complete run, and the same of those before it.

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
        earlier, left_behind = _take_along(before, made, definition)
    own = sorted(found.name for found in (before / "notebooks").glob("*.ipynb"))
    return Season(target, days, shifts, definition.title, own, earlier, left_behind)


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
    covariate = content["analysis"].get("covariate")
    if isinstance(covariate, dict):
        yield from _below(("analysis", "covariate", "on"), covariate.get("on"))
    # A limit and the first day of a sum may stand by a date of their own.
    for section in ("decisions", "climate"):
        yield from _below((section,), content.get(section))


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


def _take_along(before: Path, made: Path, definition: Definition) -> tuple[list[str], str]:
    """Copy what the seasons are analysed together from.

    Returns
    -------
    list of str
        Names of the seasons.
    str
        Why the old season itself is not among them; empty where it is.
    """
    from wintersward.analysis.seasons import EARLIER, season_of

    target = made / EARLIER
    for folder in sorted((before / EARLIER).glob("*")):
        if folder.is_dir() and not folder.name.startswith("."):
            shutil.copytree(folder, target / folder.name)
    name, run = season_of(definition), _newest(before / "runs")
    if run is None:
        why = "it has no complete run yet"
    elif (target / name).exists():
        why = f"a season {name} is in its folder {EARLIER} already"
    else:
        why = _unfit(before, run, definition)
    if run is not None and not why:
        (target / name).mkdir(parents=True)
        shutil.copyfile(before / "trial.yaml", target / name / "trial.yaml")
        shutil.copyfile(before / "plan" / "plots.csv", target / name / "plots.csv")
        shutil.copyfile(run / _MEANS, target / name / _MEANS.name)
    return sorted(folder.name for folder in target.glob("*")), why


def _newest(runs: Path) -> Path | None:
    """Find the complete run with the highest number."""
    complete = [
        folder
        for folder in runs.glob("*")
        if folder.name.isdecimal() and (folder / "report.html").is_file()
    ]
    return max(complete, key=lambda folder: int(folder.name), default=None)


def _unfit(before: Path, run: Path, definition: Definition) -> str:
    """Say why the plot means of a run cannot stand for the old season; empty where they can."""
    again = "run it again, then start the season anew"
    if not (run / _MEANS).is_file():
        return f"runs/{run.name} holds no plot means; {again}"
    made_from = files_told(run)
    for name in ("trial.yaml", "plan/plots.csv"):
        path = before / name
        if not path.is_file() or made_from.get(name, {}).get("sha256") != sha256(path):
            return f"{name} is another one since runs/{run.name}; {again}"
    primary = definition.analysis.primary
    asked = (primary.measure, dates_meant(definition.dates, primary.on)[0].isoformat())
    try:
        with (run / _MEANS).open(encoding="utf-8", newline="") as file:
            rows = [row for row in csv.DictReader(file) if (row["measure"], row["date"]) == asked]
    except (UnicodeDecodeError, KeyError):
        return f"the plot means of runs/{run.name} cannot be read; {again}"
    factor = definition.factor_of(primary.levels[0])
    if not rows or not all(row.get(factor) for row in rows):
        return f"the primary question had no complete data in runs/{run.name}; {again}"
    return ""
