#!/usr/bin/env python3
"""Sets up wintersward and carries out its recipes, on Windows, macOS and Linux.

    python toolkit/start.py report

It needs the standard library alone, and keeps to what Python 3.6 understands, so that a
computer with an old Python is told what is missing instead of being shown a syntax error.
"""

import json
import os
import re
import shlex
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from xml.etree import ElementTree

from start_browser import browser_recipe
from start_environment import (
    NAMED,
    OLDEST,
    ON_WINDOWS,
    Environment,
    Stop,
    dotted,
    find_python,
    run_quietly,
    say,
)

# Names the variable in which wintersward is told how a person types its commands.
SAYS = "WINTERSWARD_SAYS"
PIN = re.compile(r"^[a-z0-9]+(-[a-z0-9]+)*==[0-9][0-9a-z.!]*$")
CACHES = (
    "__pycache__",
    ".hypothesis",
    ".ipynb_checkpoints",
    ".mypy_cache",
    ".pytest_cache",
    ".ruff_cache",
)
PRODUCTS = ("build", "dist")
# R and what the live reference loads, under their names in Debian.
R_PACKAGES = (
    "r-base-core",
    "r-cran-emmeans",
    "r-cran-jsonlite",
    "r-cran-lme4",
    "r-cran-lmertest",
    "r-cran-nlme",
    "r-cran-pbkrtest",
)
R_LIBRARIES = "lme4, lmerTest, pbkrtest, emmeans, nlme and jsonlite"
VERSIONS = "tests/r_reference/versions.R"


def me() -> str:
    """Write how this script is called from the current folder."""
    script = Path(__file__).resolve()
    try:
        path = os.path.relpath(str(script))
    except ValueError:  # another drive
        path = str(script)
    return ("python " if ON_WINDOWS else "python3 ") + shlex.quote(Path(path).as_posix())


def call(command: "Sequence[object]", cwd: "Path | None" = None, **settings: str) -> int:
    """Run a command to its end; Ctrl-C is left for the command to answer.

    Parameters
    ----------
    command : sequence
        Program and arguments.
    cwd : Path, optional
        Folder to run in.
    **settings : str
        Environment variables to set for it.

    Returns
    -------
    int
        Its code; as shells have it, 128 and the signal's number where a signal ended it.
    """
    child = subprocess.Popen(
        [str(part) for part in command],
        cwd=str(cwd) if cwd else None,
        env=dict(os.environ, **settings),
    )
    # Ignored only once the child has started, since a child would inherit that.
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        code = child.wait()
    finally:
        signal.signal(signal.SIGINT, before)
    return code if code >= 0 else 128 - code


def pytest(home: Environment, *options: str) -> int:
    """Run pytest; a call in which no test ran has failed."""
    with tempfile.TemporaryDirectory() as folder:
        counts = Path(folder) / "tests.xml"
        command = [home.python, "-m", "pytest", "--junitxml", counts, *options]
        # Tests say what is said where nothing is named. Python starts often: compile once.
        code = call(command, home.root, MPLBACKEND="Agg", PYTHONDONTWRITEBYTECODE="", **{SAYS: ""})
        if code == 0 and not count_run(counts):
            code = 5
    if code == 5:
        raise Stop("failed: no test ran", 5)
    return code


def count_run(counts: Path) -> int:
    """Count the tests that ran, skipped ones apart, from the file that pytest leaves."""
    if not counts.is_file():
        return 0
    suites = ElementTree.parse(str(counts)).getroot().iter("testsuite")
    return sum(int(suite.get("tests", 0)) - int(suite.get("skipped", 0)) for suite in suites)


def checks(home: Environment) -> "list[str]":
    """Run the linter, the formatter's check and the type checker; return those that failed."""
    failed = []
    for name in ("ruff check", "ruff format --check", "mypy"):
        say("== " + name)
        if call([home.python, "-m", *name.split()], home.root):
            failed.append(name)
    return failed


def report(home: Environment, args: "list[str]") -> int:
    """Run the example study and say where its report is."""
    code = wintersward(home, ["run", "example_study", *args], home.root)
    if code:
        return code
    page = home.root / "example_study" / "report.html"
    if not page.is_file():
        raise Stop(f"the run ended, but {page} is not there", 1)
    say("", f"The report, for any browser:  {page}")
    say(f"A trial of your own:  {me()} new my_trial   (or: make new DIR=my_trial)")
    return 0


def wintersward(home: Environment, args: "list[str]", cwd: "Path | None" = None) -> int:
    """Set up what running needs and pass the arguments on to the wintersward command."""
    home.prepare("run")
    return call([home.program("wintersward"), *args], cwd, **{SAYS: me()})


def season(home: Environment, args: "list[str]") -> int:
    """Start the next season of a trial."""
    if not args:
        told = "next_trial --from my_trial --covers-on 2027-01-18"
        raise Stop(f"name the new folder, the old study and the day:  {me()} season {told}")
    return wintersward(home, ["season", *args])


def naming(
    name: str, what: str = "the folder of the study", example: str = "my_trial"
) -> "Callable[[Environment, list[str]], int]":
    """Make the recipe of a wintersward command that has to be told on what it works."""

    def recipe(home: Environment, args: "list[str]") -> int:
        if not args:
            raise Stop(f"name {what}:  {me()} {name} {example}")
        return wintersward(home, [name, *args])

    return recipe


def lab(home: Environment, args: "list[str]") -> int:
    """Open JupyterLab in a study folder; the example study where none is named."""
    named = bool(args) and not args[0].startswith("-")
    folder = Path(args[0]) if named else home.root / "example_study"
    if not folder.is_dir():
        raise Stop(f"{folder} is not a folder; name a study:  {me()} lab my_trial")
    home.prepare("run")
    return call([home.python, "-m", "jupyterlab", *args[int(named) :]], folder, **{SAYS: me()})


def run_tests(home: Environment, args: "list[str]") -> int:
    """Run every check and the tests; arguments go to pytest, whose last line comes last."""
    home.prepare("dev")
    failed = checks(home)
    say("== pytest")
    # On every core, the tests of one file on the same one.
    code = pytest(home, "-n", "auto", "--dist", "loadfile", *args)
    if failed:
        raise Stop("failed before the tests: " + ", ".join(failed), code or 1)
    return code


def lint(home: Environment, args: "list[str]") -> int:
    """Run the checks that need no test."""
    home.prepare("dev")
    failed = checks(home)
    if failed:
        raise Stop("failed: " + ", ".join(failed), 1)
    return 0


def bench(home: Environment, args: "list[str]") -> int:
    """Measure times and memory."""
    home.prepare("dev")
    return pytest(home, "tests/bench", "-s", *args)


def validity(home: Environment, args: "list[str]") -> int:
    """Check by simulation that the statistics keep their promises."""
    home.prepare("dev")
    return pytest(home, "tests/validity", "-s", *args)


def r_reference(home: Environment, args: "list[str]") -> int:
    """Fit models live with R and compare; R is installed first where it is missing."""
    home.prepare("dev")
    if r_versions(home) is None:
        install("R", R_PACKAGES, f"R and, in it, {R_LIBRARIES}")
    versions = r_versions(home)
    if versions is None:
        raise Stop("R or one of its packages does not start; try:  Rscript " + VERSIONS, 1)
    say(versions)
    return pytest(home, "tests/r_reference", "-s", *args)


def r_versions(home: Environment) -> "str | None":
    """Ask R for its version and those of its packages; None where one is missing."""
    rscript = shutil.which("Rscript")
    if rscript is None:
        return None
    code, told = run_quietly([rscript, VERSIONS], home.root)
    return None if code else told


def install(what: str, packages: "Sequence[str]", by_hand: str) -> None:
    """Install packages of Debian; where that cannot be, say what to install by hand."""
    wanted = " ".join(packages)
    if shutil.which("apt-get") is None:
        raise Stop(f"needs {what}; there is no apt-get here, so install by hand {by_hand}")
    if os.geteuid() != 0:
        raise Stop(f"needs {what}, and only root may install it:  sudo apt-get install {wanted}")
    say(f"Installing {what}, once: it takes some minutes, a network and 500 MB of disk.")
    update = ["apt-get", "update", "-qq"]
    step = ["apt-get", "install", "-qq", "--no-install-recommends", *packages]
    if any(call(one, DEBIAN_FRONTEND="noninteractive") for one in (update, step)):
        told = f"apt-get could not install {what}; it needs a network:  apt-get install {wanted}"
        raise Stop(told, 1)


def office(home: Environment, args: "list[str]") -> int:
    """Save the sheets anew with LibreOffice and read them; it is installed where it is missing."""
    home.prepare("dev")
    if shutil.which("soffice") is None:
        install("LibreOffice", ("libreoffice-calc",), "LibreOffice Calc")
    return pytest(home, "tests/office", "-s", *args)


def clean(home: Environment, args: "list[str]") -> int:
    """Remove caches and build products, never anything in a study folder."""
    if args not in ([], ["--venv"]):
        raise Stop("clean takes --venv or nothing")
    doomed = [home.root / name for name in PRODUCTS]
    doomed += [home.folder] if args else []
    for folder, names, _ in os.walk(str(home.root)):
        for name in list(names):
            path = Path(folder) / name
            if name in CACHES or name.endswith(".egg-info"):
                doomed.append(path)
            elif name not in (".git", ".venv") and not (path / "trial.yaml").is_file():
                continue
            names.remove(name)
    for path in doomed:
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(str(path))
            say("removed " + path.relative_to(home.root).as_posix())
    if home.folder.exists():
        say(f"kept .venv; to remove it too:  {me()} clean --venv")
    return 0


def lock(home: Environment, args: "list[str]") -> int:
    """Renew the pinned releases from what a fresh install would take today.

    They are those that suit the first release of the oldest Python supported, so that they
    suit all later ones; many systems stay with an early release for years.
    """
    python = find_python(OLDEST)[1]
    with tempfile.TemporaryDirectory() as folder:
        fresh, told = Environment(Path(folder)), Path(folder) / "report.json"
        resolve = ("install", "-q", "--dry-run", "--ignore-installed", "--report", str(told))
        extras = ".[dev,browser]"
        suited = ("--only-binary=:all:", "--python-version", dotted(OLDEST) + ".0")
        steps = (
            [python, "-m", "venv", str(fresh.folder)],
            [str(fresh.python), "-m", "pip", *resolve, *suited, "--target", folder, extras],
        )
        for step in steps:
            code, tail = run_quietly(step, home.root)
            if code:
                raise Stop("could not find which releases to pin:\n" + tail, 1)
        found = json.loads(told.read_text(encoding="utf-8"))["install"]
    pins = pinned((dist["metadata"]["name"], dist["metadata"]["version"]) for dist in found)
    home.pins.write_bytes("".join(pin + "\n" for pin in pins).encode("ascii"))
    say(f"{len(pins)} releases pinned in {home.pins.relative_to(home.root).as_posix()}")
    return 0


def pinned(releases: "Iterable[tuple[str, str]]") -> "list[str]":
    """Write releases as sorted pins, wintersward itself apart.

    Parameters
    ----------
    releases : iterable of (str, str)
        Names and versions.

    Raises
    ------
    Stop
        Where a release is a build of one machine, which no other could install.

    Examples
    --------
    >>> pinned([("ruamel.yaml", "0.19.1"), ("Jinja2", "3.1.6"), ("wintersward", "0.1.0")])
    ['jinja2==3.1.6', 'ruamel-yaml==0.19.1']
    """
    pins = []
    for name, version in releases:
        pin = re.sub(r"[-_.]+", "-", name).lower() + "==" + version
        if not PIN.match(pin):
            raise Stop(f"cannot pin '{pin}': it is not a plain release", 1)
        if not pin.startswith("wintersward=="):
            pins.append(pin)
    return sorted(pins, key=lambda pin: pin.split("=="))


RECIPES = {
    "report": (report, "", "set up, run the example study, say where its report is"),
    "new": (
        naming("new", "the folder of the new study"),
        "DIR",
        "start a trial of your own in a new folder",
    ),
    "check": (naming("check"), "STUDY", "say what is wrong with a study's files"),
    "plan": (naming("plan"), "STUDY", "draw the plots and make the map"),
    "papers": (naming("papers"), "STUDY", "make the papers for the field"),
    "run": (naming("run"), "STUDY", "run a study's notebooks and write its report"),
    "runs": (naming("runs"), "STUDY", "list a study's runs, or compare two"),
    "bundle": (naming("bundle"), "STUDY", "put the newest run into one file to hand in"),
    "verify": (
        naming("verify", "the bundle", "bundle-001.zip"),
        "BUNDLE",
        "check a bundle that was handed in, and run it again",
    ),
    "season": (season, "DIR ARGS...", "start the next season of a trial in a new folder"),
    "wintersward": (wintersward, "ARGS...", "any other wintersward command"),
    "lab": (lab, "[STUDY]", "open JupyterLab in a study folder"),
    "test": (run_tests, "[ARGS...]", "lint, check types and run the tests"),
    "lint": (lint, "", "lint and check types"),
    "bench": (bench, "", "measure times and memory"),
    "validity": (validity, "", "check the statistics by simulation (long)"),
    "r-reference": (r_reference, "[ARGS...]", "compare mixed models live with R"),
    "office": (office, "[ARGS...]", "check that LibreOffice opens and saves the sheets"),
    "browser": (browser_recipe(pytest, install), "[ARGS...]", "look at the pages in Chromium"),
    "clean": (clean, "[--venv]", "remove caches and build products"),
    "lock": (lock, "", "renew toolkit/constraints.txt"),
}


def show_help() -> int:
    """Print the recipes."""
    say(f"usage: {me()} RECIPE [ARGS...]", "")
    for name, (_, takes, does) in RECIPES.items():
        say("  {:<24}{}".format((name + " " + takes).strip(), does))
    say("", f"{NAMED} may name the Python to use ({dotted(OLDEST)} or newer).")
    return 0


def main(argv: "list[str]", home: "Environment | None" = None) -> int:
    """Carry out one recipe and return the code of the process."""
    if not argv or argv[0] in ("help", "-h", "--help"):
        return show_help()
    if argv[0] not in RECIPES:
        print(f"no recipe '{argv[0]}'; there are: {', '.join(RECIPES)}", file=sys.stderr)
        return 2
    try:
        return RECIPES[argv[0]][0](home or Environment(), argv[1:])
    except Stop as stop:
        print(stop, file=sys.stderr)
        return stop.code
    except KeyboardInterrupt:
        print("stopped; run it again to go on", file=sys.stderr)
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
