"""The packages import one another in one direction only."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "toolkit" / "wintersward"

# Each line may import from the lines above it, never from its own line or below.
LAYERS = (
    ("errors", "lazy"),
    ("units", "paths"),
    ("trial",),
    ("design", "records", "photos", "climate"),
    ("scored", "logged"),
    ("gathering",),
    ("study",),
    ("analysis",),
    ("decisions",),
    ("report",),
    ("papers",),
    ("runs",),
    ("handin",),
    ("cli",),
    ("__main__",),
)
# Statistics only: it knows of no turf and no trial, and stands beside the third line.
BESIDE = {"models": {"errors", "lazy", "units"}}


def allowed(part: str) -> set[str]:
    """Tell which other parts of the package a part may import."""
    if part in BESIDE:
        return BESIDE[part]
    above: set[str] = set()
    for layer in LAYERS:
        if part in layer:
            sees_models = "study" in above or part == "study"
            return above | (set(BESIDE) if sees_models else set())
        above |= set(layer)
    raise KeyError(part)


def module_name(path: Path, package: Path) -> list[str]:
    """Return the dotted parts of a module, the package's own name first."""
    parts = [package.name, *path.relative_to(package).with_suffix("").parts]
    return parts[:-1] if parts[-1] == "__init__" else parts


def imported(tree: ast.AST, path: Path, package: Path) -> list[tuple[int, list[str]]]:
    """List line and dotted parts of everything of the package that a module imports."""
    own = module_name(path, package)
    found: list[tuple[int, list[str]]] = []
    for node in ast.walk(tree):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = node.module.split(".") if node.module else []
            if node.level:
                folder = own if path.name == "__init__.py" else own[:-1]
                base = folder[: len(folder) - node.level + 1] + base
            names = [".".join([*base, alias.name]) for alias in node.names]
        elif isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] in (
            "import_module",
            "__import__",
        ):
            names = [
                argument.value
                for argument in node.args
                if isinstance(argument, ast.Constant) and isinstance(argument.value, str)
            ]
        found += [
            (node.lineno, name.split(".")) for name in names if name.split(".")[0] == package.name
        ]
    return found


def violations(package: Path) -> list[str]:
    """List every import of the package that goes the wrong way."""
    wrong = []
    for path in sorted(package.rglob("*.py")):
        own = module_name(path, package)
        if len(own) == 1:
            continue
        where = path.relative_to(package.parent).as_posix()
        try:
            may = allowed(own[1])
        except KeyError:
            wrong.append(f"{where}: {own[1]} has no place in the order")
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for line, parts in imported(tree, path, package):
            target = parts[1] if len(parts) > 1 else ""
            if target not in {own[1], "__version__"} | may:
                wrong.append(f"{where}:{line}: {own[1]} imports {'.'.join(parts)}")
    return wrong


def test_imports_run_one_way() -> None:
    assert violations(PACKAGE) == []


def test_the_public_face_imports_nothing_until_it_is_asked() -> None:
    path = PACKAGE / "__init__.py"
    tree = ast.parse(path.read_text(encoding="utf-8"))
    # What only type checkers read, and what stands in functions, costs nothing at import.
    tree.body = [
        node
        for node in tree.body
        if not isinstance(node, ast.FunctionDef)
        and not (isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test))
    ]
    for _, parts in imported(tree, path, PACKAGE):
        assert parts[1] in ("errors", "lazy")


class TestTheCheckItself:
    @pytest.fixture
    def package(self, tmp_path: Path) -> Path:
        return tmp_path / "wintersward"

    def write(self, package: Path, name: str, text: str) -> None:
        path = package / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)

    @pytest.mark.parametrize(
        ("name", "text"),
        [
            ("errors.py", "from wintersward import units"),
            ("units.py", "import wintersward.trial.dates"),
            ("photos/colour.py", "from wintersward.climate.sun import height"),
            ("photos/colour.py", "from ..records import sheets"),
            ("photos/__init__.py", "from ..records import sheets"),
            ("models/means.py", "from wintersward.trial import schema"),
            ("design/layouts.py", "from wintersward.models import reml"),
            ("analysis/power.py", "def f():\n    from wintersward.report import figures"),
            ("report/figures.py", "if TYPE_CHECKING:\n    from wintersward.runs import runner"),
            ("report/figures.py", "importlib.import_module('wintersward.papers')"),
            ("report/figures.py", "from wintersward import plan"),
            ("report/figures.py", "import wintersward"),
            ("gathering.py", "from wintersward import study"),
            ("weather.py", ""),
        ],
    )
    def test_wrong_ways_are_seen(self, package: Path, name: str, text: str) -> None:
        self.write(package, name, text)
        assert len(violations(package)) == 1

    @pytest.mark.parametrize(
        ("name", "text"),
        [
            ("__init__.py", "from wintersward.cli import main"),
            ("units.py", "from wintersward.errors import WinterswardError"),
            ("photos/colour.py", "from wintersward.photos import quality"),
            ("photos/colour.py", "from . import quality"),
            ("photos/batch/jobs.py", "from ..colour import hue"),
            ("models/means.py", "from wintersward.units import convert"),
            ("study.py", "from wintersward.models import reml"),
            ("study.py", "from wintersward.gathering import read_records"),
            ("analysis/power.py", "from wintersward.models.reml import fit"),
            ("cli.py", "import numpy, wintersward.runs.runner"),
            ("runs/provenance.py", "from wintersward import __version__"),
        ],
    )
    def test_right_ways_pass(self, package: Path, name: str, text: str) -> None:
        self.write(package, name, text)
        assert violations(package) == []
