"""The environment that start.py works in: which Python it is made with, and what is in it.

Like start.py it needs the standard library alone and keeps to what Python 3.6 understands:
annotations stand in quotes, so that an old Python does not try to make sense of them.
"""

import hashlib
import json
import os
import re
import subprocess
import sys
import time
from collections import deque
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
ON_WINDOWS = os.name == "nt"
NAMED = "WINTERSWARD_PYTHON"
OLDEST = (3, 11)
# The releases for which the pinned libraries have ready-made files. A newer Python is taken
# only when none of these is found.
KNOWN = ((3, 14), (3, 13), (3, 12), (3, 11))
# The base interpreter counts: start.py may itself run inside the environment it rebuilds.
PROBE = (
    "import sys; sys.stdout.write('%d.%d %s' % (sys.version_info[0], sys.version_info[1], "
    "getattr(sys, '_base_executable', None) or sys.executable))"
)


class Stop(Exception):
    """Something a person can put right; said in plain words, without a traceback.

    Parameters
    ----------
    said : str
        What is wrong and what to do about it.
    code : int
        What the process returns: 2 where the request cannot be carried out, 1 where it failed.
    """

    def __init__(self, said: str, code: int = 2) -> None:
        super().__init__(said)
        self.code = code


def say(*lines: str) -> None:
    """Print lines now, ahead of whatever a child process prints next."""
    for line in lines:
        print(line, flush=True)


def dotted(version: "tuple[int, int]") -> str:
    """Write a version as people do.

    Examples
    --------
    >>> dotted((3, 11))
    '3.11'
    """
    return f"{version[0]}.{version[1]}"


def probe(command: "list[str]") -> "tuple[tuple[int, int], str] | None":
    """Ask an interpreter for its version and its path; None when it does not start."""
    try:
        done = subprocess.run(
            [*command, "-c", PROBE],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            timeout=60,
        )
    except (OSError, ValueError, subprocess.SubprocessError):
        return None
    told = re.match(r"(\d+)\.(\d+) (.+)", done.stdout.decode("utf-8", "replace").strip())
    if done.returncode or not told:
        return None
    path = told.group(3)
    return (int(told.group(1)), int(told.group(2))), path if Path(path).is_file() else command[0]


def candidates() -> "list[list[str]]":
    """List the commands that may start a Python, the likeliest first."""
    if os.environ.get(NAMED):
        return [[os.environ[NAMED]]]
    commands = [[sys.executable]] if sys.executable else []
    for version in KNOWN:
        commands.append(["python" + dotted(version)])
        if ON_WINDOWS:
            commands.append(["py", "-" + dotted(version)])
    return [*commands, ["python3"], ["python"]]


def find_python(only: "tuple[int, int] | None" = None) -> "tuple[tuple[int, int], str]":
    """Find a Python that is new enough.

    Parameters
    ----------
    only : tuple of int, optional
        The one version that will do.

    Returns
    -------
    tuple
        Version and path. One of the known releases goes before a newer one.

    Raises
    ------
    Stop
        Where there is none, with what was found instead.
    """
    found: list[tuple[tuple[int, int], str]] = []
    for command in candidates():
        answer = probe(command)
        if answer is None or answer in found:
            continue
        if answer[0] == only or (only is None and answer[0] in KNOWN):
            return answer
        found.append(answer)
    newer = [answer for answer in found if only is None and answer[0] > OLDEST]
    if newer:
        return newer[0]
    raise Stop(missing_python(found, only))


def missing_python(
    found: "list[tuple[tuple[int, int], str]]", only: "tuple[int, int] | None"
) -> str:
    """Say which Python is needed, which were found, and how to name another."""
    needed = dotted(only) if only else f"{dotted(OLDEST)} or newer"
    seen = ", ".join(f"{dotted(version)} ({path})" for version, path in found)
    told = f"found: {seen or 'none'}"
    if os.environ.get(NAMED):
        is_one = dotted(found[0][0]) if found else "no Python that starts"
        told = f"{NAMED} names {os.environ[NAMED]}, which is {is_one}"
    example = r"set {}=C:\Python312\python.exe" if ON_WINDOWS else "export {}=/path/to/python3.12"
    return (
        f"wintersward needs Python {needed}; {told}.\n"
        f"Install one, or name one that is installed already:  {example.format(NAMED)}"
    )


def run_quietly(
    command: "list[str]", cwd: "Path | None" = None, log: "Path | None" = None
) -> "tuple[int, str]":
    """Run a command and return its code and the last lines it printed.

    Parameters
    ----------
    command : list of str
        Program and arguments.
    cwd : Path, optional
        Folder to run in.
    log : Path, optional
        File to which all that is printed is added.

    Returns
    -------
    tuple
        Code and text.
    """
    tail: deque[str] = deque(maxlen=15)
    # A user's own pip settings for other projects must not lead the install elsewhere.
    env = dict(os.environ, PIP_DISABLE_PIP_VERSION_CHECK="1", PIP_USER="0", PIP_NO_INPUT="1")
    child = subprocess.Popen(
        command,
        cwd=str(cwd) if cwd else None,
        env=env,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
    )
    kept = log.open("ab") if log else None
    try:
        for line in child.stdout or ():
            tail.append(line.decode("utf-8", "replace").rstrip())
            if kept:
                kept.write(line)
            if kept and sys.stdout.isatty() and tail[-1].startswith("Collecting "):
                print(tail[-1].split(" (")[0][:70].ljust(70), end="\r", flush=True)
        return child.wait(), "\n".join(tail)
    finally:
        if child.poll() is None:
            child.kill()
            child.wait()
        if child.stdout:
            child.stdout.close()
        if kept:
            kept.close()


class Environment:
    """The environment in ``.venv`` of a checkout.

    A stamp in it says what it was made from; it is written last, so that an install that was
    broken off leaves none.

    Parameters
    ----------
    root : Path
        The checkout's folder.
    """

    def __init__(self, root: Path = ROOT) -> None:
        self.root = Path(root)
        self.folder = self.root / ".venv"
        self.pins = self.root / "toolkit" / "constraints.txt"
        self.log = self.folder / "setup.log"
        self.python = self.program("python")

    def program(self, name: str) -> Path:
        """Return the path of one of the environment's programs."""
        return self.folder / (f"Scripts/{name}.exe" if ON_WINDOWS else f"bin/{name}")

    def stamp(self, extra: str) -> Path:
        """Return the file that says the environment is complete for ``run`` or for ``dev``."""
        return self.folder / f"ready-{extra}.json"

    def wanted(self, version: "tuple[int, int]", extra: str) -> "dict[str, str]":
        """Return what a valid stamp holds; that of a copied or moved checkout differs."""
        files = hashlib.sha256()
        for path in (self.root / "pyproject.toml", self.pins):
            files.update(hashlib.sha256(path.read_bytes()).digest())
        return {
            "root": str(self.root),
            "python": dotted(version),
            "extra": extra,
            "files": files.hexdigest(),
        }

    def stamped(self, extra: str) -> "dict[str, str]":
        """Read a stamp; empty when there is none or it cannot be read."""
        try:
            held = json.loads(self.stamp(extra).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        return held if isinstance(held, dict) else {}

    def version(self) -> "tuple[int, int] | None":
        """Ask the environment's Python for its version; None when it is gone or will not do."""
        answer = probe([str(self.python)]) if self.python.is_file() else None
        if answer is None or answer[0] < OLDEST:
            return None
        if os.environ.get(NAMED) and find_python()[0] != answer[0]:
            return None
        return answer[0]

    def ready(self, extra: str) -> bool:
        """Tell whether nothing needs to be set up; ``dev`` serves for ``run`` too."""
        version = self.version()
        return version is not None and any(
            self.stamped(name) == self.wanted(version, name) for name in (extra, "dev")
        )

    def usable(self) -> bool:
        """Tell whether a set-up may go on top of what is there, or must begin afresh."""
        version = self.version()
        if version is None:
            return False
        here = (str(self.root), dotted(version))
        for held in (self.stamped("run"), self.stamped("dev")):
            if held and (held.get("root"), held.get("python")) != here:
                return False
        return run_quietly([str(self.python), "-m", "pip", "--version"])[0] == 0

    def prepare(self, extra: str) -> None:
        """Set up what is missing, so that recipes of ``run`` or ``dev`` can start."""
        if self.ready(extra):
            return
        started = time.time()
        say("Setting up in .venv, once: it takes some minutes, a network and 1 GB of disk.")
        if not self.usable():
            self.make()
        for name in ("run", "dev"):
            if self.stamp(name).exists():
                self.stamp(name).unlink()
        # The build backend is pinned like the rest, so the build does not fetch its own.
        self.install("hatchling")
        self.install("--no-build-isolation", "--editable", ".[dev]" if extra == "dev" else ".")
        held = json.dumps(self.wanted(self.version() or OLDEST, extra), indent=1)
        draft = self.folder / "ready.draft"
        draft.write_text(held + "\n", encoding="utf-8")
        os.replace(str(draft), str(self.stamp(extra)))
        say(f"Set up in {time.time() - started:.0f} s.".ljust(70))

    def make(self) -> None:
        """Make the environment, with no library in it yet."""
        version, python = find_python()
        if self.folder.exists() and not self.folder.is_dir():
            raise Stop(f"{self.folder} is where the environment goes; move that file away.")
        inside = list(self.folder.iterdir()) if self.folder.is_dir() else []
        if inside and not (self.folder / "pyvenv.cfg").is_file():
            raise Stop(f"{self.folder} is where the environment goes; move that folder away.")
        if run_quietly([python, "-c", "import ensurepip, venv"])[0]:
            raise Stop(
                f"Python {dotted(version)} ({python}) came without what makes an environment. "
                f"On Debian or Ubuntu:  sudo apt install python{dotted(version)}-venv"
            )
        code, tail = run_quietly([python, "-m", "venv", "--clear", str(self.folder)])
        if code:
            raise Stop(f"could not make the environment in {self.folder}:\n{tail}", 1)

    def install(self, *wanted: str) -> None:
        """Install with pip, held to the pinned releases."""
        code, tail = run_quietly(
            [str(self.python), "-m", "pip", "install", "-c", str(self.pins), *wanted],
            cwd=self.root,
            log=self.log,
        )
        if not code:
            return
        version = self.version()
        newer = ""
        if version and version > KNOWN[0]:
            newer = f" Python {dotted(version)} may be too new; {NAMED} can name an older one."
        raise Stop(
            "pip could not install what wintersward needs. Set-up needs a network this once; "
            f"run it again when there is one.{newer}\n"
            f"All that pip said is in {self.log}; the end of it:\n{tail}",
            1,
        )
