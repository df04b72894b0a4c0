"""The one runner: every stage in its order, into a folder that is there whole or not at all."""

from __future__ import annotations

import datetime as dt
import re
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from wintersward.errors import WinterswardError, disk_reason, listed
from wintersward.paths import command, study_folder
from wintersward.runs.failure import Failure, StageFailed, exception_line
from wintersward.runs.files import write_json, write_whole
from wintersward.runs.latest import hand_out
from wintersward.runs.stages import REPORT, Stage, own_page, stages_of, unused_copies

if TYPE_CHECKING:
    from wintersward.trial import Definition

__all__ = ["NOISE", "render_pages", "run", "run_stages"]

NOISE = "warnings.txt"
_UNFINISHED = ".unfinished-"

Progress = Callable[[str], None]
Finish = Callable[[Path, Path], None]


class _Interrupted(KeyboardInterrupt):
    """An interruption that is told in ``failure.txt`` already."""


def run(folder: str | Path = "", progress: Progress | None = None) -> Path:
    """Run a study: check it, execute the stages, write the report.

    Parameters
    ----------
    folder : str or Path
        The study folder, or anything in it; empty, the current folder.
    progress : callable, optional
        Called with one line a stage, with lines that tell how far its photos are, and at the end
        with what the stages wrote to stderr.

    Returns
    -------
    Path
        The new ``runs/NNN``; its report and its brief are also the study's ``report.html`` and
        ``brief.html``.

    Raises
    ------
    WinterswardError
        With everything that is wrong in the study, before anything is executed.
    StageFailed
        Where a stage stopped; ``runs/.unfinished-NNN`` then holds ``failure.txt`` and the
        notebook as far as it came, and no ``runs/NNN`` is left.
    """
    study = study_folder(folder or Path.cwd())
    if not (study / "plan" / "plots.csv").is_file():
        raise WinterswardError(
            f"plan/plots.csv: the plots are not drawn yet; run: {command('plan', folder)}"
        )
    from wintersward.study import record_problems
    from wintersward.trial import read_definition

    problems = record_problems(study)
    definition, wrong = read_definition(study)
    if problems or definition is None:
        raise WinterswardError(problems or wrong)
    stages, tell = stages_of(definition), progress or _silent
    _tell_freeze(study, definition, tell)
    if unused := unused_copies(study, stages):
        names = listed(stage.name for stage in stages)
        tell(
            f"not used, since layout.kind is '{definition.layout.kind}': {listed(unused)}; "
            f"its stages are: {names}"
        )
    made = run_stages(study, stages, progress, render_pages)
    hand_out(study)
    return made


def _tell_freeze(study: Path, definition: Definition, tell: Progress) -> None:
    """Say in one line whether the frozen plan still is what the definition says."""
    from wintersward.runs.freezing import freeze_lines

    for line in freeze_lines(study, definition)[:1]:
        tell(line.rstrip(":"))


def run_stages(
    study: Path,
    stages: Sequence[Stage],
    progress: Progress | None = None,
    finish: Finish | None = None,
) -> Path:
    """Execute stages of a study folder into the next ``runs/NNN``.

    Parameters
    ----------
    study : Path
        The study folder, absolute.
    stages : sequence of Stage
        In their order.
    progress : callable, optional
        Called with one line a stage, with lines that tell how far its photos are, and at the end
        with what the stages wrote to stderr.
    finish : callable, optional
        Called after the last stage with the study folder and the folder of the run.

    Returns
    -------
    Path
        ``runs/NNN``, complete.

    Raises
    ------
    StageFailed
        Where a stage stopped or the inputs changed meanwhile.
    KeyboardInterrupt
        Where it was stopped from the keyboard; the unfinished folder is kept as for a failure.

    Notes
    -----
    A number follows the highest that exists, unfinished runs among them, so that a number in
    a message or a letter never comes to mean another run. Unfinished folders are kept.
    """
    tell = progress or _silent
    made = _new_folder(study / "runs")
    noise: list[str] = []
    try:
        made = _completed(study, made, stages, tell, noise, finish)
    finally:
        # Only now is it sure what the folder is called.
        for said in noise:
            tell(f"      {said} ({_named(made)}/{NOISE})")
    return made


def _completed(
    study: Path,
    place: Path,
    stages: Sequence[Stage],
    tell: Progress,
    noise: list[str],
    finish: Finish | None,
) -> Path:
    """Execute the stages and give the folder its final name, or tell there what stopped it."""
    try:
        _execute_all(study, place, stages, tell, noise, finish)
        (place / "failure.txt").unlink()
        return place.rename(place.with_name(_number(place)))
    except (StageFailed, _Interrupted):
        raise
    except KeyboardInterrupt:
        _fail(place, Failure("", "stopped", "stopped from the keyboard"))
        raise
    except Exception as error:
        failure = _failure(error)
        # On a full disk the words that the stage began with have to do.
        with suppress(OSError):
            _fail(place, failure)
        raise StageFailed(failure, _named(place)) from error


def _failure(error: Exception) -> Failure:
    """Tell what sort of failure an error outside the cells is."""
    if isinstance(error, WinterswardError):
        return Failure("", "study", str(error))
    # A template that is not found is an OSError too, without a number from the system.
    if isinstance(error, OSError) and error.errno:
        return Failure("", "disk", disk_reason(error))
    return Failure("", "fault", exception_line(type(error).__name__, str(error)))


def _execute_all(
    study: Path,
    place: Path,
    stages: Sequence[Stage],
    tell: Progress,
    noise: list[str],
    finish: Finish | None,
) -> None:
    from wintersward.runs.execution import execute
    from wintersward.runs.kernels import surroundings
    from wintersward.runs.provenance import changed_inputs, circumstances, inputs, stamps
    from wintersward.runs.watching import watched

    start = dt.datetime.now().astimezone()
    before = stamps(study)
    # Where the study and the run lie is no input; these words stand for it.
    where = {"study": "the study folder", "run_folder": "the folder of the run"}
    made_from = inputs(study, stages, where)
    write_json(place / "inputs.json", made_from)
    passed = {"study": str(study), "run_folder": str(place)}
    seconds: dict[str, float] = {}
    written: list[str] = []
    for number, stage in enumerate(stages, 1):
        tell(f"[{number}/{len(stages)}] {stage.name}: {stage.does}")
        _fail(place, Failure(stage.name, "broke off", "the run broke off in this stage"))
        began = time.monotonic()
        with surroundings(), watched(tell):
            done = execute(stage, study, place / "notebooks", passed)
        seconds[stage.name] = time.monotonic() - began
        noise += [f"{stage.name} warns, {said.splitlines()[0]}" for said in done.noise]
        written += [f"{stage.name}, {said}" for said in done.noise]
        if written:
            write_whole(place / NOISE, "\n".join(written) + "\n")
        if done.failure is not None:
            _stop(place, done.failure)
    if finish is not None:
        _finish(study, place, finish)
    changed = changed_inputs(study, before, made_from["files"])
    if changed:
        reason = f"changed while the run went: {', '.join(changed)}"
        _stop(place, Failure("", "changed", reason))
    end = dt.datetime.now().astimezone()
    write_json(place / "provenance.json", circumstances(_number(place), start, end, seconds))


def _finish(study: Path, place: Path, finish: Finish) -> None:
    """Finish a run; a mistake in a page that the study wrote itself is no fault of wintersward."""
    try:
        finish(study, place)
    except Exception as error:
        failure = _failure(error)
        if failure.kind != "fault" or not own_page(study):
            raise
        failure = _fail(place, replace(failure, kind="own copy"))
        raise StageFailed(failure, _named(place)) from error


def _stop(place: Path, failure: Failure) -> None:
    """Leave the run unfinished."""
    _fail(place, failure)
    if failure.kind == "stopped":
        raise _Interrupted
    raise StageFailed(failure, _named(place))


def _fail(place: Path, failure: Failure) -> Failure:
    write_whole(place / "failure.txt", failure.text())
    return failure


def _new_folder(runs: Path) -> Path:
    """Make the folder of the next run; two runs at once get two numbers."""
    runs.mkdir(exist_ok=True)
    while True:
        taken = [
            int(match[1])
            for entry in runs.iterdir()
            if (match := re.fullmatch(rf"(?:{re.escape(_UNFINISHED)})?(\d+)", entry.name))
        ]
        place = runs / f"{_UNFINISHED}{max(taken, default=0) + 1:03d}"
        try:
            place.mkdir()
        except FileExistsError:
            continue
        return place


def _number(place: Path) -> str:
    return place.name.removeprefix(_UNFINISHED)


def _named(place: Path) -> str:
    return f"runs/{place.name}"


def _silent(line: str) -> None:
    """Take a line and say nothing."""


def render_pages(study: Path, place: Path) -> None:
    """Render the report notebook of a run, and its brief."""
    from wintersward.report.brief import brief_page
    from wintersward.report.page import report_page
    from wintersward.report.rendering import render
    from wintersward.runs.record import open_record
    from wintersward.study import open_study

    render(place / "notebooks" / REPORT.file, place / "report.html", study)
    trial = open_study(study)
    made = brief_page(report_page(trial, open_record(trial, place)))
    (place / "brief.html").write_bytes(made.encode("utf-8"))
