"""The recipe that looks at pages in a browser, and what it fetches where that is missing.

Like start.py it needs the standard library alone and keeps to what Python 3.6 understands.
"""

import json
import shutil
from collections.abc import Callable, Sequence
from pathlib import Path

from start_environment import Environment, Stop, run_quietly, say

# The browser and npm, under their names as programs, which are those of Debian's packages too.
PROGRAMS = {"chromium": "Chromium", "npm": "npm"}
# One fixed release: a newer one may hold something else against the same page.
AXE = ("axe-core", "4.14.1")
TOOLS = ("build", "browser")


def browser_recipe(
    pytest: "Callable[..., int]", install: "Callable[[str, Sequence[str], str], None]"
) -> "Callable[[Environment, list[str]], int]":
    """Make the recipe.

    Parameters
    ----------
    pytest : callable
        Runs pytest with an environment and its arguments.
    install : callable
        Installs packages of Debian: what they are called, the packages, what to install by hand.
    """

    def recipe(home: Environment, args: "list[str]") -> int:
        home.prepare("dev")
        missing = [name for name in PROGRAMS if shutil.which(name) is None]
        if missing:
            told = " and ".join(PROGRAMS[name] for name in missing)
            install(told, missing, told)
        if run_quietly([str(home.python), "-c", "import playwright"])[0]:
            say("Installing Playwright, once.")
            home.install("playwright")
        fetch_axe(home.root.joinpath(*TOOLS))
        return pytest(home, "tests/browser", "-s", *args)

    return recipe


def fetch_axe(tools: Path) -> None:
    """Install axe-core with npm into a folder, unless that release is there already.

    Parameters
    ----------
    tools : Path
        Below it, ``node_modules/axe-core`` holds the release.

    Raises
    ------
    Stop
        Where npm is missing or cannot install it.
    """
    name, version = AXE
    if axe_version(tools) == version:
        return
    npm = shutil.which("npm")
    if npm is None:
        raise Stop(f"needs npm to fetch {name}; install npm and run it again")
    tools.mkdir(parents=True, exist_ok=True)
    say(f"Fetching {name} {version}, once.")
    quiet = ("--silent", "--no-audit", "--no-fund", "--ignore-scripts")
    wanted = f"{name}@{version}"
    code, tail = run_quietly([npm, "install", *quiet, "--prefix", str(tools), wanted], tools)
    if code or axe_version(tools) != version:
        raise Stop(f"npm could not install {wanted}; it needs a network:\n{tail}", 1)


def axe_version(tools: Path) -> str:
    """Read which release of axe-core is installed; empty where there is none."""
    try:
        text = (tools / "node_modules" / AXE[0] / "package.json").read_text(encoding="utf-8")
        return str(json.loads(text)["version"])
    except (OSError, ValueError, KeyError):
        return ""
