"""What the calendar of a trial asks for, and of that what is not there yet."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wintersward.errors import WinterswardError
from wintersward.trial import Definition, Diary, read_diary
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import LoggerMeasure

if TYPE_CHECKING:
    import pandas as pd

    from wintersward.study import Trial

__all__ = ["COVERS", "Due", "Known", "all_due", "covers_told", "day_words", "known_of"]

COVERS = {"covers_on": "went on", "covers_off": "came off"}
"""Days of work that the diary tells of, with how it says so."""


@dataclass(frozen=True)
class Due:
    """Something that the calendar asks for.

    Parameters
    ----------
    day : date
        When.
    kind : {'visit', 'work', 'pins'}
        Whether something is observed, or done, or pins are to be found.
    what : str
        A few words: ``visit``, ``covers on``.
    state : {'overdue', 'incomplete', 'today', 'coming'}
        A visit is overdue while nothing of its measures is there, and incomplete while some is;
        covers are overdue until the diary tells of them, pins from the day the covers are off
        until all are counted out. Other work is never overdue: nothing tells that it was done.
    lacking : mapping of str to int
        For each measure that is due, the number of plots that lack it and are not declared
        missing; empty for work.
    """

    day: dt.date
    kind: str
    what: str
    state: str
    lacking: Mapping[str, int]

    def measures(self, definition: Definition) -> str:
        """Name the measures, with the number of plots where some are there already."""
        said = []
        for name, many in self.lacking.items():
            label = definition.measures[name].label or name.replace("_", " ")
            label = label if label[1:2].isupper() else label[:1].lower() + label[1:]
            some = many < definition.plot_count
            plots = f" (of {many} {'plot' if many == 1 else 'plots'})" if some else ""
            said.append(label + plots)
        return " and ".join([", ".join(said[:-1]), said[-1]] if len(said) > 1 else said)

    def words(self, definition: Definition, today: dt.date) -> str:
        """Say it in a line."""
        what = f"{self.what}, {self.measures(definition)}" if self.lacking else self.what
        away = (self.day - today).days
        if self.state == "coming":
            near = "tomorrow" if away == 1 else f"in {away} days"
            return f"{day_words(self.day)}, {near}: {what}"
        if self.state == "today":
            return f"today: {what}"
        return f"{self.state}, {day_words(self.day)}: {what}"

    def as_dict(self) -> dict[str, Any]:
        """Give it as plain values for JSON."""
        return {
            "day": self.day.isoformat(),
            "kind": self.kind,
            "what": self.what,
            "state": self.state,
            "measures": [{"name": n, "plots_lacking": many} for n, many in self.lacking.items()],
        }


@dataclass(frozen=True)
class Known:
    """A study as far as it goes: without plots there is no trial, and nothing was seen."""

    definition: Definition
    diary: Diary
    trial: Trial | None
    seen: pd.DataFrame | None

    def lacking(self, measure: str, day: dt.date) -> int:
        """Count the plots that lack a measure on a day."""
        if self.trial is None or self.seen is None:
            return self.definition.plot_count
        from wintersward import records

        trial = self.trial
        return len(
            records.outstanding(self.seen, trial.definition, trial.diary, trial.plots, measure, day)
        )

    def begun(self, measure: str, day: dt.date) -> bool:
        """Tell whether any observation of a measure on a day is there."""
        if self.seen is None:
            return False
        here = (self.seen["measure"] == measure) & (self.seen["date"].dt.date == day)
        return bool(here.any())

    @property
    def waiting(self) -> int:
        """Plots that the primary question waits for."""
        primary = self.definition.analysis.primary
        return self.lacking(primary.measure, dates_meant(self.definition.dates, primary.on)[0])


def known_of(study: Path, definition: Definition) -> Known:
    """Read as much of a study as there is, without scoring a photo.

    Parameters
    ----------
    study : Path
        The study folder.
    definition : Definition
        Its definition.

    Returns
    -------
    Known
        Without plots, what definition and diary tell.

    Raises
    ------
    WinterswardError
        With everything that would stop a run.
    """
    if not (study / "plan" / "plots.csv").is_file():
        diary, problems = read_diary(study, definition)
        if problems:
            raise WinterswardError(problems)
        return Known(definition, diary, None, None)
    from wintersward.study import open_study, unscored

    trial = open_study(study)
    return Known(definition, trial.diary, trial, unscored(trial))


def covers_told(diary: Diary) -> tuple[dt.date | None, dt.date | None]:
    """Tell when the first cover went on, and when the last came off where all did."""
    spells = diary.covers
    on = min((spell.on for spell in spells), default=None)
    offs = [spell.off for spell in spells if spell.off is not None]
    return on, max(offs) if offs and len(offs) == len(spells) else None


def all_due(known: Known, today: dt.date) -> Iterator[Due]:
    """Go through the visits and the work of a trial that are not done, in no order.

    Parameters
    ----------
    known : Known
        The study.
    today : date
        Work of earlier days is left out, but for covers of which the diary does not tell.
    """
    definition = known.definition
    days: dict[dt.date, list[str]] = {}
    yield from _pins(known, today)
    for name, measure in definition.measures.items():
        if isinstance(measure, LoggerMeasure):
            continue  # its readings come by themselves; nobody visits for them
        for day in dates_meant(definition.dates, measure.dates):
            days.setdefault(day, []).append(name)
    for day, what in _work(definition, set(days)):
        if not _done(known.diary, what, today):
            told = what in COVERS
            if day >= today or told:
                yield Due(day, "work", what.replace("_", " "), _when(day, today), {})
    for day, names in days.items():
        what = "baseline visit" if day == definition.dates.get("baseline") else "visit"
        lacking = {name: many for name in names if (many := known.lacking(name, day))}
        begun = {name for name in lacking if known.begun(name, day)}
        late = day < today
        for state, chosen in (
            (_when(day, today), lacking.keys() - begun if late else lacking.keys()),
            ("incomplete", begun if late else set()),
        ):
            if chosen:
                held = {name: many for name, many in lacking.items() if name in chosen}
                yield Due(day, "visit", what, state, held)


def _pins(known: Known, today: dt.date) -> Iterator[Due]:
    """Ask for pins and staples that are not counted out of the turf although the covers are off."""
    off = covers_told(known.diary)[1]
    if known.trial is None or off is None or off > today or not known.diary.pins:
        return
    from wintersward.decisions.pins import MISSING, NEVER_OUT, pin_counts

    counts = pin_counts(known.trial)
    for one in counts[counts["plots"] == ""].to_dict("records"):
        if one["state"] in (MISSING, NEVER_OUT):
            lost = one["missing"] if one["state"] == MISSING else one["out"]
            what = f"{lost:g} of {one['out']:g} {one['what']} not counted out of the turf"
            yield Due(off, "pins", what, "overdue", {})


def _when(day: dt.date, today: dt.date) -> str:
    return "overdue" if day < today else "today" if day == today else "coming"


def _work(definition: Definition, observed: set[dt.date]) -> Iterator[tuple[dt.date, str]]:
    """List the days on which something is done: named, or standing by a factor alone."""
    applied = {
        dates_meant(definition.dates, factor.applied)[0]: name
        for name, factor in definition.treatments.items()
        if factor.applied is not None
    }
    for name, when in definition.dates.items():
        if isinstance(when, dt.date):
            always = name in (*COVERS, "aeration", "first_event") or when in applied
            if always or when not in observed:
                applied.pop(when, None)
                yield when, name
    for day, name in applied.items():
        yield day, f"work on the plots: {name}"


def _done(diary: Diary, what: str, today: dt.date) -> bool:
    """Tell whether the diary tells that covers went on or came off; of other work none tells."""
    on, off = covers_told(diary)
    if what == "covers_on":
        return on is not None and on <= today
    return what == "covers_off" and off is not None and off <= today


def day_words(day: dt.date) -> str:
    """Write a day so that it reads the same in every country.

    Examples
    --------
    >>> day_words(dt.date(2026, 3, 24))
    '24 March 2026'
    """
    return f"{day.day} {day:%B %Y}"
