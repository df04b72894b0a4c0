from __future__ import annotations

import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", folder, ROOT],
        check=True,
        stdout=subprocess.DEVNULL,
    )
    (path,) = folder.glob("wintersward-*.whl")
    return path


@pytest.fixture(scope="module")
def site(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Install the wheel in a folder of its own."""
    folder = tmp_path_factory.mktemp("site")
    options = ("--no-deps", "--no-index", "--disable-pip-version-check", "--quiet")
    subprocess.run(
        [sys.executable, "-m", "pip", "install", *options, "--target", folder, wheel], check=True
    )
    return folder


def shipped(folder: Path, below: str) -> dict[str, bytes]:
    """Read the files that belong in the wheel, by their name in it."""
    return {
        f"{below}/{path.relative_to(folder).as_posix()}": path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and not {"__pycache__", ".ipynb_checkpoints"} & set(path.parts)
    }


def test_the_wheel_holds_every_module_and_template(wheel: Path) -> None:
    expected = shipped(ROOT / "toolkit" / "wintersward", "wintersward")
    expected |= shipped(ROOT / "templates", "wintersward/templates")
    with zipfile.ZipFile(wheel) as packed:
        held = {
            name: packed.read(name)
            for name in packed.namelist()
            if not name.split("/")[0].endswith(".dist-info")
        }
    assert sorted(held) == sorted(expected)
    assert held == expected


def test_templates_are_found_in_the_installed_package(site: Path, tmp_path: Path) -> None:
    names = {
        kind: sorted(path.name for path in (ROOT / "templates" / kind).glob("[!._]*"))
        for kind in ("notebooks", "reports", "starter")
    }
    script = (
        "import json, sys\n"
        "from wintersward import paths\n"
        "for kind, names in json.loads(sys.argv[1]).items():\n"
        "    for name in names:\n"
        "        print(paths.template(kind, name))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, json.dumps(names)],
        env={**os.environ, "PYTHONPATH": str(site)},
        cwd=tmp_path,
        capture_output=True,
        text=True,
    )
    assert done.stderr == ""
    assert [Path(line) for line in done.stdout.splitlines()] == [
        site.resolve() / "wintersward" / "templates" / kind / name
        for kind, held in names.items()
        for name in held
    ]
    assert all(names.values())
