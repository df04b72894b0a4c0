"""The ``wintersward`` command: one verb a step of a trial, each of them a thin one."""

from __future__ import annotations

import datetime as dt
import json
import sys
import traceback
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from wintersward.errors import DISK_ADVICE, WinterswardError, disk_reason
from wintersward.paths import command, study_folder

if TYPE_CHECKING:
    from wintersward.runs.checking import Checked
    from wintersward.trial import Definition

__all__ = ["main"]

_DEBUG = "wintersward.debug"
_WRONG, _BROKEN, _STOPPED = 2, 1, 130


class _Verbs(click.Group):
    """A group whose commands end in one line for each thing that is wrong."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; tell what went wrong without a traceback, unless one is asked for."""
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
            raise
        except KeyboardInterrupt:
            click.echo("stopped; what was complete before is untouched", err=True)
            code = _STOPPED
        except WinterswardError as error:
            _trace(ctx)
            for problem in error.problems:
                click.echo(str(problem), err=True)
            code = _code(error)
        except Exception as error:
            _trace(ctx)
            if isinstance(error, OSError) and error.errno:
                click.echo(f"{disk_reason(error)}; {DISK_ADVICE}", err=True)
                return ctx.exit(_BROKEN)
            said = " ".join(str(error).split())
            told = f"{type(error).__name__}: {said}" if said else type(error).__name__
            click.echo(f"wintersward broke off ({told}); run again with --debug", err=True)
            code = _BROKEN
        return ctx.exit(code)


def _trace(ctx: click.Context) -> None:
    if ctx.meta.get(_DEBUG):
        click.echo(traceback.format_exc(), err=True)


def _code(error: WinterswardError) -> int:
    """Tell apart what the person can put right in the study and what broke by itself."""
    failure = getattr(error, "failure", None)
    return _WRONG if failure is None or failure.kind == "study" else _BROKEN


def _remember(ctx: click.Context, _option: click.Parameter, value: bool) -> None:
    if value:
        ctx.meta[_DEBUG] = True


_debug = click.option(
    "--debug",
    is_flag=True,
    expose_value=False,
    callback=_remember,
    help="Show where in the code something went wrong.",
)
_study = click.argument("study", default="", metavar="[STUDY]")


@click.group(cls=_Verbs, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="wintersward", prog_name="wintersward")
@_debug
def main() -> None:
    """Formal winter-cover trials on sports turf, from plan to report.

    STUDY is a study folder; left out, it is the current folder. What is to be done stands in
    its trial.yaml and diary.yaml: no option here changes it.
    """


@main.command()
@click.argument("folder")
@_debug
def new(folder: str) -> None:
    """Start a study in FOLDER, with a commented trial.yaml to change."""
    from wintersward.runs.new import new_study

    new_study(folder)
    click.echo(f"{Path(folder).as_posix()} is there; its trial.yaml holds an example")
    click.echo(
        "next: write your own trial into trial.yaml, line by line, then: "
        + command("check", folder)
    )


@main.command()
@_study
@click.option("--json", "as_json", is_flag=True, help="Say where the trial stands, for a program.")
@_debug
def check(study: str, as_json: bool) -> None:
    """Check everything that is written and gathered; say where the trial stands."""
    from wintersward.runs.checking import check as checked
    from wintersward.runs.standing import standing

    if as_json:
        _check_for_a_program(study)
        return
    _say_which(study)
    found = checked(study)
    if found.diary:
        click.echo("trial.yaml and diary.yaml are sound")
    else:
        click.echo("trial.yaml is sound; there is no diary.yaml yet")
    for line in [*_summary(found), *found.words()]:
        click.echo(line)
    if not (found.frozen or found.sheets or found.photos):
        _advise(study)
    for line in standing(study, known=found.known).words():
        click.echo(line)


def _check_for_a_program(study: str) -> None:
    """Say as JSON where a trial stands and what was gathered, or else what is wrong."""
    from wintersward.runs.checking import check as checked
    from wintersward.runs.collected import problems_dict
    from wintersward.runs.standing import standing

    try:
        found = checked(study)
        told = {**standing(study, known=found.known).as_dict(), **found.as_dict()}
    except WinterswardError as error:
        click.echo(json.dumps(problems_dict(error), indent=2, ensure_ascii=False))
        raise
    click.echo(json.dumps(told, indent=2, ensure_ascii=False))


@main.command()
@_study
@click.option("--freeze", is_flag=True, help="Keep the plan as the protocol, for good.")
@_debug
def plan(study: str, freeze: bool) -> None:
    """Draw the plots, once, and their maps; say what the plan can see."""
    from wintersward.runs.planning import plan as planned

    _say_which(study)
    made = planned(study)
    click.echo(made.said)
    for name, what in made.written.items():
        click.echo(f"plan/{name}: {what}")
    if not made.complete:
        return
    _advise(study)
    if freeze:
        from wintersward.runs.freezing import freeze as frozen
        from wintersward.runs.freezing import late_words

        kept = frozen(study)
        click.echo(f"plan/frozen: the protocol as it stands, frozen {kept.when}")
        if late := late_words(kept):
            click.echo(late)
        click.echo(f"next: {command('papers', study)}")


def _advise(study: str) -> None:
    """Say what a plan can be expected to see, and what to think about before it is frozen."""
    from wintersward.runs.advice import advice

    found = advice(study)
    for heading, lines in (
        ("what you can expect", found.expected),
        ("think about", found.concerns),
        ("blocks", found.blocking),
    ):
        if lines:
            click.echo(f"{heading}:")
        for line in lines:
            click.echo(f"  - {line}")


@main.command()
@_study
@_debug
def papers(study: str) -> None:
    """Make the papers for the field: sheets, labels, lists, calendar, crew card, point count."""
    from wintersward.runs.paper_files import write_papers
    from wintersward.runs.point_counts import write_point_count

    _say_which(study)
    written = write_papers(study)
    for path in written:
        click.echo(f"plan/papers/{path.name}")
    if said := write_point_count(study):
        click.echo(said)
    click.echo("raters get their sheets and the map without treatments, and nothing else")


@main.command()
@_study
@_debug
def run(study: str) -> None:
    """Execute every stage into runs/NNN and write the report."""
    from wintersward.runs.runner import run as execute

    _say_which(study)
    made = execute(study, click.echo)
    click.echo(f"runs/{made.name} is complete; read {made.parents[1] / 'report.html'}")


@main.command()
@_study
@click.option("--compare", nargs=2, metavar="A B", help="Say how runs A and B differ.")
@_debug
def runs(study: str, compare: tuple[str, str] | None) -> None:
    """List the runs of a study and what each found; or compare two of them."""
    from wintersward.runs.history import compare as compared
    from wintersward.runs.history import runs_of

    _say_which(study)
    if compare:
        for line in compared(study, *compare):
            click.echo(line)
        return
    found = runs_of(study)
    for one in found:
        for line in one.words():
            click.echo(line)
    if not found:
        click.echo(f"no run yet; next: {command('run', study)}")


@main.command()
@_study
@click.option("--without-photos", is_flag=True, help="Leave the photos out; list their hashes.")
@click.option("--without-people", is_flag=True, help="Leave names of people out.")
@click.option("--rounded-place", is_flag=True, help="Round the position of the site to 0.1 degree.")
@_debug
def bundle(study: str, without_photos: bool, without_people: bool, rounded_place: bool) -> None:
    """Put the newest run and all it was made from into one zip file, to hand in."""
    from wintersward.handin.bundle import bundle as bundled

    _say_which(study)
    made = bundled(
        study, not without_photos, not without_people, not rounded_place, progress=click.echo
    )
    click.echo(f"{made} is there; whoever gets it types: {command('verify', made.name)}")


@main.command()
@click.argument("bundle", metavar="BUNDLE")
@click.option(
    "--with-own-copies",
    is_flag=True,
    help="Execute notebooks and templates that the bundle brings along: programs of its maker.",
)
@_debug
def verify(bundle: str, with_own_copies: bool) -> None:
    """Check a bundle that was handed in, and run it again: a line for each thing, PASS or FAIL.

    Exit code 0: every line passed; 1: one failed; 2: there is no such bundle.
    """
    from wintersward.handin.plain_names import spelled
    from wintersward.handin.verifying import verify as verified

    found = verified(bundle, lambda line: click.echo(line, err=True), with_own_copies)
    for line in found.lines:
        click.echo(spelled(str(line), sys.stdout.encoding))
    click.echo(found.said)
    if not found.passed:
        click.get_current_context().exit(_BROKEN)


@main.command()
@click.argument("new_folder")
@click.option("--from", "old", default=".", metavar="STUDY", help="Season before; else here.")
@click.option("--covers-on", required=True, metavar="DATE", help="Day the covers go on.")
@_debug
def season(new_folder: str, old: str, covers_on: str) -> None:
    """Start the next season of a trial in NEW_FOLDER: later dates, a fresh seed."""
    from wintersward.runs.season import new_season

    made = new_season(new_folder, old, _day(covers_on))
    click.echo(f"{Path(new_folder).as_posix()} is there; every date moved by {made.days} days:")
    wide = max(len(shift.field) for shift in made.shifts)
    for shift in made.shifts:
        click.echo(
            f"  {shift.field:{wide}}  {shift.old:%Y-%m-%d (%a)} -> {shift.new:%Y-%m-%d (%a)}"
        )
    click.echo("the seed is fresh; plan, diary, sheets and photos of the old season stay there")
    if made.own_notebooks:
        names = ", ".join(made.own_notebooks)
        click.echo(f"changed notebooks of the old season stay there too: {names}")
    if made.earlier:
        names = ", ".join(made.earlier)
        click.echo(f"taken along in 'earlier', to be analysed together: {names}")
    if made.left_behind:
        click.echo(f"the old season's own values stay behind: {made.left_behind}")
    click.echo(f"check in trial.yaml what no date tells, the title first: {made.title}")
    click.echo(f"next: {command('check', new_folder)}")


def _say_which(study: str) -> None:
    """Say which study is meant, since a folder above the one that was typed may be it."""
    from wintersward.trial import read_definition

    folder = study_folder(study or Path.cwd())
    definition, _ = read_definition(folder)
    click.echo(f"{folder}: {' '.join(definition.title.split())}" if definition else f"{folder}")


def _summary(found: Checked) -> list[str]:
    """Say what a study holds, for a person to compare with what was meant."""
    definition = found.definition
    factors = " x ".join(
        f"{len(factor.levels)} {name}" for name, factor in definition.treatments.items()
    )
    lines = [
        f"  {definition.layout.kind}: {definition.replication}, {factors}, "
        f"{found.plots} plots" + (", drawn" if found.planned else ", not drawn yet"),
        f"  measures: {', '.join(definition.measures)}",
        _asked(definition),
    ]
    if found.planned:
        counted = [_counted(found.sheets, "sheet"), _counted(found.photos, "photo")]
        counted += [_counted(found.loggers, "logger file")] if found.loggers else []
        lines.append("  " + ", ".join(counted))
        lines.append(_waiting(found))
    elif found.unread:
        there = "1 sheet was" if found.unread == 1 else f"{found.unread} sheets were"
        lines.append(f"  {there} not looked at; that is done once the plots are drawn")
    return [*lines, *(f"  {line}" for line in found.protocol)]


def _asked(definition: Definition) -> str:
    """Say what the trial asks; a demonstration leaves it open."""
    question = definition.analysis.primary
    said = f"{question.measure} on {question.on}, " + ", ".join(
        f"{left} against {right}" for left, right in question.pairs
    )
    if definition.layout.tested:
        return f"  primary question: {said}"
    return f"  question: {said}; a demonstration shows it and leaves it open"


def _waiting(found: Checked) -> str:
    """Say whether the primary question has all its observations."""
    if not found.definition.layout.tested:
        if not found.waiting:
            return "  the values of that day are there: a run shows them"
        return (
            f"  the values of that day are still missing on {found.waiting} of {found.plots} "
            "plots; until then a run tells of no treatment (what is lost for good belongs under "
            "'missing' in the diary)"
        )
    if not found.waiting:
        return "  the primary question has its observations: a run answers it"
    return (
        f"  the primary question waits for {found.waiting} of {found.plots} plots; until then no "
        "treatments are compared (what is lost for good belongs under 'missing' in the diary)"
    )


def _counted(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _day(text: str) -> dt.date:
    try:
        return dt.datetime.strptime(text, "%Y-%m-%d").date()
    except ValueError:
        raise click.BadParameter(
            f"found {text!r}; allowed: a date such as 2027-01-18", param_hint="--covers-on"
        ) from None
