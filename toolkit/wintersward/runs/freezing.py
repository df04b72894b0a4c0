"""Freeze the plan of a study: its protocol and copies of what was decided, kept for good."""

from __future__ import annotations

import datetime as dt
import hashlib
import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from wintersward import __version__
from wintersward.errors import WinterswardError
from wintersward.paths import command, study_folder
from wintersward.runs.advice import VALUES, known_values, written_values
from wintersward.runs.files import write_json
from wintersward.trial import Definition, Diary, read_diary
from wintersward.trial.changes import changes_since
from wintersward.trial.dates import dates_meant
from wintersward.trial.frozen import FOLDER, Frozen, document_hash, read_frozen, seal

if TYPE_CHECKING:
    from wintersward.study import Trial

__all__ = ["freeze", "freeze_lines", "late_words"]

Clock = Callable[[], dt.datetime]


def _now() -> dt.datetime:
    return dt.datetime.now().astimezone()


def freeze(folder: str | Path = "", clock: Clock = _now) -> Frozen:
    """Freeze the plan of a study into ``plan/frozen``; a plan is frozen once.

    Parameters
    ----------
    folder : str or Path
        The study folder, or anything in it; empty, the current folder.
    clock : callable
        Gives the time with its offset from UTC.

    Returns
    -------
    Frozen
        Copies of ``trial.yaml``, ``plots.csv`` and, where there is one, ``plot_values.csv``, the
        protocol, and ``frozen.json`` with time and hashes are there, all of them.

    Raises
    ------
    WinterswardError
        Where definition, diary or plots are not sound or not there, the values of the plots are
        not sound, or the plan is frozen already. Nothing is written then.

    Notes
    -----
    A plan may be frozen late, after the covers went on or when values are there; the freeze
    then says so, and so does every report.
    """
    study = study_folder(folder or Path.cwd())
    place = study / FOLDER
    _refuse_again(study)
    if not (study / "plan" / "plots.csv").is_file():
        raise WinterswardError(
            f"plan/plots.csv: there are no plots to freeze yet; run: {command('plan', folder)}"
        )
    from wintersward.study import open_study

    trial = open_study(study)
    now = clock()
    late = _late(trial, now)
    made = _made(trial, late)
    record = {
        "frozen_at": now.astimezone(dt.UTC).isoformat(timespec="seconds"),
        "wintersward": __version__,
        "files": _hashes(made),
        "late": late,
    }
    part = Path(tempfile.mkdtemp(prefix=".frozen-", dir=place.parent))
    try:
        for name, content in made.items():
            (part / name).write_bytes(content)
        write_json(part / "frozen.json", {**record, "seal": seal(record)})
        # A temporary folder is its owner's alone; this one is for everybody.
        part.chmod(0o755)
        os.rename(part, place)
    except BaseException as error:
        shutil.rmtree(part, ignore_errors=True)
        if isinstance(error, OSError):
            # Another freeze may have come first.
            _refuse_again(study)
        raise
    frozen, problems = read_frozen(study)
    if frozen is None:
        raise WinterswardError(problems)
    return frozen


def _refuse_again(study: Path) -> None:
    """Stop where there is a freeze: it stands, whole or damaged."""
    if not (study / FOLDER).exists():
        return
    frozen, problems = read_frozen(study)
    if frozen is None:
        raise WinterswardError(problems)
    raise WinterswardError(
        f"{FOLDER}: the plan was frozen on {frozen.when} and the freeze stands; trial.yaml may "
        "still be changed, with the reason under 'deviations' in diary.yaml: every report lists "
        "what was changed"
    )


def _made(trial: Trial, late: list[str]) -> dict[str, bytes]:
    """Make the files of a freeze besides its record."""
    from wintersward import design
    from wintersward.papers.protocol import protocol
    from wintersward.runs.paper_files import paper_for
    from wintersward.runs.pictures import svg

    made = {
        "trial.yaml": (trial.folder / "trial.yaml").read_bytes(),
        "plots.csv": (trial.folder / "plan" / "plots.csv").read_bytes(),
    }
    if written_values(trial.folder, trial.plots) is not None:
        made[VALUES] = (trial.folder / "plan" / VALUES).read_bytes()
    page = protocol(
        trial.definition,
        trial.plots,
        svg(design.plot_map(trial.plots, trial.definition)),
        document_hash(_hashes(made)),
        late,
        paper_for(trial.definition.site.country),
        trial.folder,
        known_values(trial.folder, trial.plots, trial.definition),
    )
    return {**made, "protocol.html": page.encode("utf-8")}


def _hashes(files: dict[str, bytes]) -> dict[str, str]:
    return {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}


def _late(trial: Trial, now: dt.datetime) -> list[str]:
    """Say what had happened already; days are those of the clock's own place."""
    planned = dates_meant(trial.definition.dates, "covers_on")[0]
    on = min((spell.on for spell in trial.diary.covers), default=planned)
    said = []
    if now.date() > on:
        said.append(f"after the covers went on ({_day(on)})")
    elif now.date() == on:
        said.append(f"on the day on which the covers went on ({_day(on)})")
    if there := _gathered(trial.folder):
        said.append(f"when {there} already there")
    return said


def _day(day: dt.date) -> str:
    return f"{day.day} {day:%B %Y}"


def _gathered(study: Path) -> str:
    """Count the files that hold observations; empty where there is none."""
    from wintersward.study import gathered

    try:
        found = gathered(study)
    except WinterswardError:
        # What cannot be read yet is there all the same.
        return "sheets or photos that cannot be read yet were"
    counts = [(found.sheets, "sheet"), (found.photos, "photo")]
    said = [f"{n} {what}" if n == 1 else f"{n} {what}s" for n, what in counts if n]
    one = found.sheets + found.photos == 1
    return f"{' and '.join(said)} {'was' if one else 'were'}" if said else ""


def late_words(frozen: Frozen) -> str:
    """Say that a plan was frozen late, and what that costs; empty where it was in good time.

    Parameters
    ----------
    frozen : Frozen
        The plan as it was frozen.
    """
    if not frozen.late:
        return ""
    return (
        f"this is late: the plan was frozen {' and '.join(frozen.late)}; it cannot show that the "
        "question came before what was known by then, and the protocol and every report say so"
    )


def freeze_lines(study: Path, definition: Definition, diary: Diary | None = None) -> list[str]:
    """Say how the plan stands to its freeze, a line each; nothing where it was never frozen.

    Parameters
    ----------
    study : Path
        The study folder.
    definition : Definition
        As it is now.
    diary : Diary, optional
        For the reasons of changes; left out, it is read.

    Returns
    -------
    list of str
        When the plan was frozen and every change since, or what is damaged.
    """
    frozen, problems = read_frozen(study)
    if problems:
        return [f"the frozen plan is damaged: {problem}" for problem in problems]
    if frozen is None:
        return []
    diary = diary or read_diary(study, definition)[0]
    changes = changes_since(frozen, study, definition, diary.deviations)
    late = f", {' and '.join(frozen.late)}" if frozen.late else ""
    said = f"the plan was frozen on {frozen.when}{late}"
    if not changes:
        return [f"{said}; nothing was changed since"]
    touching = sum(bool(one.touches) for one in changes)
    many = f"{len(changes)} line was" if len(changes) == 1 else f"{len(changes)} lines were"
    said += f"; {many} changed since"
    said += (
        "; the report calls exploratory what that touches:"
        if touching
        else ", nothing an answer rests on:"
    )
    return [said, *(f"  {one}" for one in changes)]
