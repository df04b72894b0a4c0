"""House rules of the source tree, in a clone and in an unpacked archive alike."""

from __future__ import annotations

import ast
import fnmatch
import re
import subprocess
import tomllib
from pathlib import Path

import nbformat
import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

import start

ROOT = Path(__file__).resolve().parents[1]
TOP = {
    ".ci",
    ".gitattributes",
    ".gitignore",
    "DEVELOPERS.md",
    "LICENSE",
    "Makefile",
    "README.md",
    "example_study",
    "pyproject.toml",
    "templates",
    "tests",
    "toolkit",
}
LONGEST_MODULE = 400
LONGEST_FUNCTION = 60
LONGEST_CELL = 10
# Paths that lead somewhere on one machine only. A letter or dot before the slash makes it a
# part of some other path or address; a '<' makes it a closing tag. 'me' stands for anybody.
ON_ONE_MACHINE = re.compile(
    r"(?<![\w.<~*/-])/(?:work|root|home/(?!me\b)\w+|Users/\w+|tmp/\w+|mnt/\w+)\b|\b[A-Z]:\\Users\\"
)
INDEX_HOST = re.compile(r"https?://[\w.-]*(?:pypi|pythonhosted|npmjs|registry|simple)\b[\w./-]*")


def git_files() -> list[Path] | None:
    """List what git holds or would take; None outside a clone."""
    if not (ROOT / ".git").exists():
        return None
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        check=True,
    ).stdout.decode()
    return [ROOT / name for name in sorted(set(listed.split("\0"))) if name]


def walked_files() -> list[Path]:
    """List what an unpacked archive holds, leaving out what .gitignore names."""
    lines = (ROOT / ".gitignore").read_text(encoding="utf-8").split()
    patterns = [line.rstrip("/") for line in lines if not line.startswith("#")]

    def ignored(path: Path) -> bool:
        name = path.relative_to(ROOT).as_posix()
        return any(
            fnmatch.fnmatch(name if "/" in pattern else path.name, pattern.lstrip("/"))
            for pattern in patterns
        )

    def below(folder: Path) -> list[Path]:
        held = [path for path in sorted(folder.iterdir()) if not ignored(path)]
        return [found for path in held for found in (below(path) if path.is_dir() else [path])]

    return [path for path in below(ROOT) if path.relative_to(ROOT).parts[0] != ".git"]


def is_own_study(path: Path) -> bool:
    """Tell files of a study that somebody started inside the checkout; they are theirs."""
    top = path.relative_to(ROOT).parts[0]
    return top != "example_study" and (ROOT / top / "trial.yaml").is_file()


def tree_files() -> list[Path]:
    """List the files of the product."""
    files = git_files()
    return [
        path
        for path in (walked_files() if files is None else files)
        if path.is_file() and not is_own_study(path)
    ]


FILES = tree_files()
PYTHON = [path for path in FILES if path.suffix == ".py"]
SHIPPED = [path for path in PYTHON if path.is_relative_to(ROOT / "toolkit")]
NOTEBOOKS = [path for path in FILES if path.is_relative_to(ROOT / "templates" / "notebooks")]


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def texts() -> list[tuple[str, str]]:
    """Read every file that is text, with its name; notebooks, sheets and pages among them."""
    found = []
    for path in FILES:
        data = path.read_bytes()
        if b"\0" not in data:
            found.append((name_of(path), data.decode("utf-8", "replace")))
    return found


class TestTopLevel:
    def test_only_the_allowed_names(self) -> None:
        assert {path.relative_to(ROOT).parts[0] for path in FILES} - TOP == set()

    def test_every_name_is_there(self) -> None:
        assert TOP - {path.relative_to(ROOT).parts[0] for path in FILES} == set()

    def test_a_walk_finds_what_git_finds(self) -> None:
        files = git_files()
        walked = {path for path in walked_files() if not is_own_study(path)}
        assert walked
        if files is not None:
            held = {path for path in files if path.is_file() and not is_own_study(path)}
            assert walked ^ held == set()


class TestModules:
    def test_no_module_is_longer_than_allowed(self) -> None:
        lengths = {name_of(path): path.read_bytes().count(b"\n") for path in PYTHON}
        assert {name: n for name, n in lengths.items() if n > LONGEST_MODULE} == {}

    def test_no_function_is_longer_than_allowed(self) -> None:
        long = {}
        for path in SHIPPED:
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
                    # A description may be as long as it needs to be.
                    described = ast.get_docstring(node, clean=False) or ""
                    last = node.end_lineno or node.lineno
                    length = last - node.lineno - described.count("\n")
                    if length > LONGEST_FUNCTION:
                        long[f"{name_of(path)}:{node.name}"] = length
        assert long == {}

    def test_everything_public_is_described(self) -> None:
        bare = []
        for path in SHIPPED:
            tree = ast.parse(path.read_text(encoding="utf-8"))
            scopes: list[ast.Module | ast.ClassDef] = [tree]
            if not ast.get_docstring(tree):
                bare.append(name_of(path))
            while scopes:
                for node in scopes.pop().body:
                    if not isinstance(
                        node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)
                    ) or node.name.startswith("_"):
                        continue
                    if not ast.get_docstring(node):
                        bare.append(f"{name_of(path)}:{node.lineno}: {node.name}")
                    if isinstance(node, ast.ClassDef):
                        scopes.append(node)
        assert bare == []

    def test_no_star_imports(self) -> None:
        found = [
            f"{name_of(path)}:{node.lineno}"
            for path in PYTHON
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
            if isinstance(node, ast.ImportFrom) and node.names[0].name == "*"
        ]
        assert found == []


class TestTexts:
    def test_no_paths_of_one_machine(self) -> None:
        found = [
            f"{name}: {match.group()}"
            for name, text in texts()
            for match in ON_ONE_MACHINE.finditer(text)
        ]
        assert found == []

    def test_no_package_index_is_named(self) -> None:
        found = [
            f"{name}: {match.group()}"
            for name, text in texts()
            for match in INDEX_HOST.finditer(text)
        ]
        assert found == []

    @pytest.mark.parametrize(
        "text", ["open('/" + "work/x.csv')", "/" + "home/ann/trial", "C:" + "\\Users\\ann"]
    )
    def test_such_a_path_is_seen(self, text: str) -> None:
        assert ON_ONE_MACHINE.search(text)

    @pytest.mark.parametrize(
        "text", ["field/work/plan", "a.org/home/x", "</root>", "~/work", "/home/me/x"]
    )
    def test_other_paths_are_left_alone(self, text: str) -> None:
        assert not ON_ONE_MACHINE.search(text)


class TestNotebooks:
    def test_there_are_some_and_nothing_else(self) -> None:
        assert NOTEBOOKS
        assert {path.suffix for path in NOTEBOOKS} == {".ipynb"}

    @pytest.mark.parametrize("path", NOTEBOOKS, ids=name_of)
    def test_is_a_clean_template(self, path: Path) -> None:
        notebook = nbformat.read(path, as_version=4)
        nbformat.validate(notebook)
        assert (notebook.nbformat, notebook.nbformat_minor >= 5) == (4, True)
        assert notebook.metadata.kernelspec.name == "python3"
        assert notebook.metadata.title.strip()
        tagged = [cell for cell in notebook.cells if "parameters" in cell.metadata.get("tags", [])]
        assert [cell.cell_type for cell in tagged] == ["code"]

    @pytest.mark.parametrize("path", NOTEBOOKS, ids=name_of)
    def test_cells_are_named_by_hand(self, path: Path) -> None:
        names = [cell.id for cell in nbformat.read(path, as_version=4).cells]
        assert len(set(names)) == len(names)
        # Editors draw eight hexadecimal digits, or more; a name given by hand stays.
        assert [name for name in names if re.fullmatch(r"[0-9a-f-]{8,}", name)] == []
        assert [name for name in names if not re.fullmatch(r"[a-z][a-z0-9-]*", name)] == []

    @pytest.mark.parametrize("path", NOTEBOOKS, ids=name_of)
    def test_code_cells_are_short_calls_never_run(self, path: Path) -> None:
        for cell in nbformat.read(path, as_version=4).cells:
            if cell.cell_type != "code":
                continue
            assert cell.outputs == []
            assert cell.execution_count is None
            assert len(cell.source.splitlines()) <= LONGEST_CELL, cell.id
            # A magic is no Python, so that it cannot be read.
            defined = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef, ast.Lambda)
            assert not any(isinstance(node, defined) for node in ast.walk(ast.parse(cell.source)))


class TestPins:
    @pytest.fixture
    def pins(self) -> dict[str, str]:
        data = (ROOT / "toolkit" / "constraints.txt").read_bytes()
        assert data.endswith(b"\n")
        lines = data.decode("ascii").split("\n")[:-1]
        assert [line for line in lines if not start.PIN.match(line)] == []
        assert lines == sorted(lines, key=lambda line: line.split("=="))
        pins = dict(line.split("==") for line in lines)
        assert len(pins) == len(lines)
        return pins

    def test_everything_asked_for_is_pinned_within_its_range(self, pins: dict[str, str]) -> None:
        project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
        asked = [*project["dependencies"], *project["optional-dependencies"]["dev"]]
        assert asked
        for line in asked:
            wanted = Requirement(line)
            name = canonicalize_name(wanted.name)
            assert name in pins, f"{name} is not pinned; run: make lock"
            assert wanted.specifier.contains(pins[name], prereleases=True), line

    def test_nothing_for_one_kind_of_machine(self, pins: dict[str, str]) -> None:
        odd = re.compile(r"nvidia|cuda|torch|triton|tensorflow|^jax|^wintersward$")
        assert [name for name in pins if odd.search(name)] == []


class TestRecipes:
    def test_makefile_targets_are_recipes(self) -> None:
        text = (ROOT / "Makefile").read_text(encoding="utf-8")
        targets = {
            name
            for line in text.splitlines()
            if re.match(r"[a-z][a-z -]*:(?!=)", line)
            for name in line.split(":")[0].split()
        }
        (phony,) = re.findall(r"^\.PHONY:(.*)$", text, re.MULTILINE)
        assert targets == set(phony.split())
        # Any other wintersward command is typed to start.py itself.
        assert targets == {"help", *start.RECIPES} - {"wintersward"}
        assert ".DEFAULT_GOAL := help" in text

    def test_ci_runs_make_test(self) -> None:
        script = ROOT / ".ci" / "run"
        assert script.read_text(encoding="utf-8").startswith("#!/usr/bin/env bash\n")
        assert " test </dev/null" in script.read_text(encoding="utf-8")
