"""Where a trial stands: its stage, what is due by the calendar, and what to do next."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wintersward.errors import WinterswardError, listed
from wintersward.paths import command, study_folder
from wintersward.records.photo_files import PHOTO_ENDINGS
from wintersward.runs.due import COVERS, Due, Known, all_due, covers_told, day_words, known_of
from wintersward.runs.files import sha256
from wintersward.runs.latest import latest_run
from wintersward.trial import Definition, read_definition
from wintersward.trial.dates import dates_meant
from wintersward.trial.frozen import FOLDER
from wintersward.trial.schema import LoggerMeasure

__all__ = ["AHEAD", "STAGES", "Standing", "standing"]

STAGES = ("planned", "covered", "collecting", "ready", "reported")
AHEAD = 7
"""How far the calendar is looked ahead [days]."""


@dataclass(frozen=True)
class Standing:
    """Where a trial stands on a day. Nothing in it tells of treatments, nor compares them.

    Parameters
    ----------
    study : Path
        The study folder.
    definition : Definition
        The trial.
    today : date
        The day it is told for.
    stage : str
        One of `STAGES`.
    drawn, frozen : bool
        Whether the plots are drawn, and whether there is a frozen plan.
    covers : tuple of (date or None)
        When the first cover went on and the last came off, by the diary.
    waiting : int
        Plots that the primary question still waits for.
    due : tuple of Due
        Overdue, of today and of the next `AHEAD` days; by day.
    later : Due or None
        The next thing after that.
    run : str
        The latest complete run; empty for none.
    current : bool
        Whether that run was made from everything that is there now.
    next : str
        What to do next, in one sentence.
    """

    study: Path
    definition: Definition
    today: dt.date
    stage: str
    drawn: bool
    frozen: bool
    covers: tuple[dt.date | None, dt.date | None]
    waiting: int
    due: tuple[Due, ...]
    later: Due | None
    run: str
    current: bool
    next: str

    def words(self) -> list[str]:
        """Say it in lines for a person: the stage, a line for each thing that is due, the next."""
        lines = [f"{day_words(self.today)}: {_stage_words(self)}"]
        lines += [f"  {one.words(self.definition, self.today)}" for one in self.due]
        return [*lines, f"next: {self.next}"]

    def as_dict(self) -> dict[str, Any]:
        """Give it as plain values for JSON: the same keys always, dates by ISO 8601."""
        primary = self.definition.analysis.primary
        on, off = (day.isoformat() if day else None for day in self.covers)
        return {
            "today": self.today.isoformat(),
            "stage": self.stage,
            "plots": {
                "number": self.definition.plot_count,
                "drawn": self.drawn,
                "frozen": self.frozen,
            },
            "covers": {"on": on, "off": off},
            "primary": {
                "measure": primary.measure,
                "on": dates_meant(self.definition.dates, primary.on)[0].isoformat(),
                "plots_lacking": self.waiting,
            },
            "due": [one.as_dict() for one in self.due],
            "later": self.later.as_dict() if self.later else None,
            "run": {"number": self.run, "up_to_date": self.current} if self.run else None,
            "next": self.next,
        }


def standing(
    folder: str | Path = "", today: dt.date | None = None, known: Known | None = None
) -> Standing:
    """Tell where a trial stands.

    Parameters
    ----------
    folder : str or Path
        The study folder, or anything in it; empty, the current folder.
    today : date, optional
        The day to tell it for; left out, that of the clock.
    known : Known, optional
        The study as it was read just before; left out, it is read.

    Returns
    -------
    Standing
        Stage, what is due, what to do next.

    Raises
    ------
    WinterswardError
        With everything that would stop a run.

    Notes
    -----
    No photo is scored. A run is up to date where its ``inputs.json`` names the files that are
    there: all are compared by size, photos by SHA-256 only where they are newer than the report.
    """
    today = today or dt.date.today()
    study = study_folder(folder or Path.cwd())
    known = known or _read(study)
    definition = known.definition
    due = sorted(all_due(known, today), key=lambda one: one.day)
    soon = today + dt.timedelta(days=AHEAD)
    run = latest_run(study / "runs")
    current = run is not None and _is_current(study, run)
    stage = _stage(known, today, current)
    now = tuple(one for one in due if one.day <= soon)
    later = next((one for one in due if one.day > soon), None)
    frozen = (study / FOLDER).exists()
    typed = folder if isinstance(folder, str) else study
    asked = [one for one in (*now, *([later] if later else [])) if one.kind != "pins"]
    todo = _search(now) + _next(known, stage, frozen, asked, today, typed)
    return Standing(
        study,
        definition,
        today,
        stage,
        known.trial is not None,
        frozen,
        covers_told(known.diary),
        known.waiting,
        now,
        later,
        run.name if run else "",
        current,
        todo,
    )


def _read(study: Path) -> Known:
    definition, problems = read_definition(study)
    if definition is None:
        raise WinterswardError(problems)
    return known_of(study, definition)


def _stage(known: Known, today: dt.date, current: bool) -> str:
    if known.trial is None or known.seen is None:
        return "planned"
    if not known.waiting:
        return "reported" if current else "ready"
    on = covers_told(known.diary)[0]
    # What is observed on the day the covers go on comes first, as everywhere.
    begun = on or dates_meant(known.definition.dates, "covers_on")[0]
    # Loggers read day and night under the covers; a visit is what begins the collecting.
    logged = [n for n, one in known.definition.measures.items() if isinstance(one, LoggerMeasure)]
    visited = known.seen[~known.seen["measure"].isin(logged)]
    if bool((visited["date"].dt.date > begun).any()):
        return "collecting"
    return "covered" if on is not None and on <= today else "planned"


def _is_current(study: Path, run: Path) -> bool:
    """Tell whether a run was made from the files that are there now."""
    # Imported only now: what knows of notebooks takes longer than all of the above.
    from wintersward.runs.damage import files_told
    from wintersward.runs.provenance import input_files

    files = files_told(run)
    there = {path.relative_to(study).as_posix(): path for path in input_files(study)}
    if there.keys() != files.keys():
        return False
    made = (run / "report.html").stat().st_mtime_ns
    for name, path in there.items():
        found = path.stat()
        if found.st_size != files[name]["bytes"]:
            return False
        old_photo = path.suffix.lower() in PHOTO_ENDINGS and found.st_mtime_ns <= made
        if not old_photo and sha256(path) != files[name]["sha256"]:
            return False
    return True


def _search(due: Iterable[Due]) -> str:
    """Say before all else that pins are to be found; they harm people and machines."""
    lost = [one.what for one in due if one.kind == "pins"]
    if not lost:
        return ""
    return (
        f"search where the covers lay: {listed(lost)}; nobody plays, trains, mows, rolls or "
        "aerates there until they are found and counted in diary.yaml, under 'pins', or until "
        "whoever answers for the field has had the ground searched and decides; then: "
    )


def _next(
    known: Known,
    stage: str,
    frozen: bool,
    due: list[Due],
    today: dt.date,
    folder: str | Path,
) -> str:
    """Say what to do next, in one sentence."""
    definition = known.definition
    on = dates_meant(definition.dates, "covers_on")[0]
    if known.trial is None:
        return f"draw the plots: {command('plan', folder)}"
    if stage == "planned" and not frozen and today <= on:
        return f"freeze the plan before the covers go on, {day_words(on)}: " + command(
            "plan --freeze", folder
        )
    for state in ("today", "overdue", "incomplete"):
        one = next((one for one in due if one.state == state), None)
        if one is not None:
            return _do(definition, one)
    if stage == "ready":
        return f"{_named(definition)} has its observations; make the report: " + command(
            "run", folder
        )
    ahead = next(iter(due), None)
    if ahead is None:
        return (
            "nothing more is planned; read report.html"
            if stage == "reported"
            else (
                f"nothing more is planned, and {_named(definition)} lacks observations: tell in "
                "diary.yaml, under 'missing', of those that were never made"
            )
        )
    begun = "the report is up to date; " if stage == "reported" else ""
    return f"{begun}nothing is to be done today; {ahead.words(definition, today)}"


def _named(definition: Definition) -> str:
    """Name the question; that of a demonstration is left open, and none is primary."""
    return "the primary question" if definition.layout.tested else "the question"


def _do(definition: Definition, one: Due) -> str:
    """Say what to do about something that is due today or was before."""
    if one.kind == "work":
        name = one.what.replace(" ", "_")
        if one.state == "overdue":
            return (
                f"write into diary.yaml, under 'covers', when the covers {COVERS[name]}; it was "
                f"planned for {day_words(one.day)}"
            )
        return f"today: {one.what}" + (", and write it into diary.yaml" if name in COVERS else "")
    measures = one.measures(definition)
    if one.state == "today":
        return f"today: {one.what}, {measures}"
    lacks = "nothing" if one.state == "overdue" else "not everything"
    return (
        f"bring in what was observed on {day_words(one.day)}, {measures}: {lacks} is there; "
        "what was never taken belongs under 'missing' in diary.yaml"
    )


def _stage_words(at: Standing) -> str:
    """Say the stage, with what a person would ask about it first."""
    on, off = at.covers
    if at.stage == "planned":
        if not at.drawn:
            return "planned, the plots not drawn yet"
        return f"planned, the plots drawn, the plan {'frozen' if at.frozen else 'not frozen yet'}"
    if at.stage == "covered":
        if off is not None and off <= at.today:
            return f"the covers came off on {day_words(off)}; nothing observed since is there yet"
        return f"covered since {day_words(on)}" if on else "covered"
    if at.stage == "collecting":
        return (
            f"collecting; {_named(at.definition)} waits for {at.waiting} of "
            f"{at.definition.plot_count} plots"
        )
    if at.stage == "ready":
        old = f"; run {at.run} is older than what is there now" if at.run else ""
        return f"ready, {_named(at.definition)} has its observations{old}"
    return f"reported, run {at.run} holds everything that is there"
