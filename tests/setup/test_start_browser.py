"""The recipe that looks at pages in a browser; programs and registries are stood in for."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import start_browser
from setup.ready import Ready
from start_environment import Stop


class Stood:
    """What the recipe asked for, and what there is."""

    def __init__(self) -> None:
        self.there = {"chromium", "npm"}
        self.imports = 0
        self.npm = 0
        self.ran: list[list[str]] = []
        self.installed: list[tuple[str, list[str]]] = []
        self.tested: list[tuple[str, ...]] = []

    def run(self, command: list[str], cwd: Path | None = None) -> tuple[int, str]:
        if command[1] == "-c":
            return self.imports, ""
        self.ran.append(command)
        if self.npm == 0:
            held(Path(command[command.index("--prefix") + 1]), start_browser.AXE[1])
        return self.npm, "npm said something"

    def install(self, what: str, packages: list[str], by_hand: str) -> None:
        self.installed.append((what, packages))

    def test(self, home: Ready, *options: str) -> int:
        self.tested.append(options)
        return 0


def held(tools: Path, version: str) -> None:
    folder = tools / "node_modules" / "axe-core"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "package.json").write_text(json.dumps({"version": version}), encoding="utf-8")


@pytest.fixture
def stood(monkeypatch: pytest.MonkeyPatch) -> Stood:
    made = Stood()
    monkeypatch.setattr(start_browser, "run_quietly", made.run)
    monkeypatch.setattr(
        start_browser.shutil, "which", lambda name: f"/bin/{name}" if name in made.there else None
    )
    return made


def look(home: Ready, stood: Stood, *args: str) -> int:
    return start_browser.browser_recipe(stood.test, stood.install)(home, list(args))


def test_where_all_is_there_the_tests_run_at_once(home: Ready, stood: Stood) -> None:
    held(home.root / "build" / "browser", start_browser.AXE[1])
    assert look(home, stood, "-k", "brief") == 0
    assert home.prepared == ["dev"]
    assert (stood.ran, stood.installed) == ([], [])
    assert stood.tested == [("tests/browser", "-s", "-k", "brief")]


def test_what_is_missing_is_fetched_first(
    home: Ready, stood: Stood, monkeypatch: pytest.MonkeyPatch
) -> None:
    fetched: list[str] = []
    monkeypatch.setattr(home, "install", lambda *wanted: fetched.extend(wanted))
    stood.there = {"npm"}
    stood.imports = 1
    assert look(home, stood) == 0
    assert stood.installed == [("Chromium", ["chromium"])]
    assert fetched == ["playwright"]
    (command,) = stood.ran
    assert command[:2] == ["/bin/npm", "install"]
    assert command[-1] == "axe-core@" + start_browser.AXE[1]
    assert "--ignore-scripts" in command
    assert start_browser.axe_version(home.root / "build" / "browser") == start_browser.AXE[1]


def test_another_release_is_replaced(home: Ready, stood: Stood) -> None:
    held(home.root / "build" / "browser", "1.0.0")
    assert look(home, stood) == 0
    assert len(stood.ran) == 1


@pytest.mark.parametrize("missing", [True, False])
def test_where_it_cannot_be_fetched_that_is_told(home: Ready, stood: Stood, missing: bool) -> None:
    stood.npm = 1
    if missing:
        stood.there.remove("npm")
    told = "needs npm to fetch axe-core" if missing else "it needs a network:\nnpm said something"
    with pytest.raises(Stop, match=told):
        look(home, stood)
    assert stood.tested == []


def test_where_it_goes_git_does_not_look() -> None:
    root = Path(__file__).resolve().parents[2]
    ignored = (root / ".gitignore").read_text(encoding="utf-8").splitlines()
    assert start_browser.TOOLS[0] + "/" in ignored
