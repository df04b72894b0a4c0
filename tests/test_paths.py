from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

from wintersward import paths
from wintersward.errors import WinterswardError

ROOT = Path(__file__).resolve().parents[1]


def write(path: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("")
    return path


@pytest.fixture
def checkout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Let the package lie in a checkout that has two notebooks and a report template."""
    root = tmp_path / "checkout"
    module = write(root / "toolkit" / "wintersward" / "paths.py")
    write(root / "templates" / "notebooks" / "10-photos.ipynb")
    write(root / "templates" / "notebooks" / "start.ipynb")
    write(root / "templates" / "reports" / "study" / "index.html.j2")
    monkeypatch.setattr(paths, "__file__", str(module))
    return root


class TestTemplate:
    def test_from_the_checkout(self, checkout: Path) -> None:
        found = paths.template("notebooks", "start.ipynb")
        assert found == checkout / "templates" / "notebooks" / "start.ipynb"

    def test_a_folder_and_a_file_in_it(self, checkout: Path) -> None:
        folder = checkout / "templates" / "reports" / "study"
        assert paths.template("reports", "study") == folder
        assert paths.template("reports", "study/index.html.j2") == folder / "index.html.j2"

    def test_the_installed_one_goes_before_the_checkout(self, checkout: Path) -> None:
        installed = checkout / "toolkit" / "wintersward" / "templates" / "notebooks"
        write(installed / "start.ipynb")
        assert paths.template("notebooks", "start.ipynb") == installed / "start.ipynb"

    @pytest.mark.parametrize(
        ("kind", "own"), [("notebooks", "notebooks"), ("reports", "templates/reports")]
    )
    def test_the_study_s_own_copy_goes_first(
        self, checkout: Path, tmp_path: Path, kind: str, own: str
    ) -> None:
        name = {"notebooks": "start.ipynb", "reports": "study/index.html.j2"}[kind]
        study = tmp_path / "my_trial"
        shipped = checkout / "templates" / kind / name
        assert paths.template(kind, name, study) == shipped
        copy = write(study / own / name)
        assert paths.template(kind, name, study) == copy
        assert paths.template(kind, name) == shipped

    def test_an_unknown_name_lists_what_there_is(self, checkout: Path, tmp_path: Path) -> None:
        write(checkout / "templates" / "notebooks" / ".ipynb_checkpoints" / "x.ipynb")
        write(tmp_path / "my_trial" / "notebooks" / "40-mine.ipynb")
        with pytest.raises(WinterswardError) as error:
            paths.template("notebooks", "10-photo.ipynb", tmp_path / "my_trial")
        assert str(error.value) == (
            "no template '10-photo.ipynb' among the notebooks; there are: 10-photos.ipynb, "
            "40-mine.ipynb, start.ipynb; did you mean 10-photos.ipynb?"
        )

    @pytest.mark.parametrize(
        "name",
        ["", ".", "../reports/study", "..\\reports\\study", "/etc/hosts", "C:\\x", "study/../../x"],
    )
    def test_a_name_stays_below_its_folder(self, checkout: Path, name: str) -> None:
        with pytest.raises(WinterswardError, match="no template"):
            paths.template("notebooks", name)

    def test_an_unknown_kind(self, checkout: Path) -> None:
        with pytest.raises(
            WinterswardError, match="there are: notebooks, papers, reports, starter"
        ):
            paths.template("notebook", "start.ipynb")

    def test_an_installation_without_templates(self, checkout: Path) -> None:
        with pytest.raises(WinterswardError, match="starter templates are missing"):
            paths.template("starter", "trial.yaml")

    @pytest.mark.parametrize("kind", paths.KINDS)
    def test_this_checkout_has_every_kind(self, kind: str) -> None:
        folder = ROOT / "templates" / kind
        assert paths.template_folder(kind) == folder
        names = [path.name for path in folder.iterdir() if not path.name.startswith(".")]
        assert names
        for name in names:
            assert paths.template(kind, name) == folder / name


class TestCommand:
    @pytest.fixture(autouse=True)
    def nothing_said(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.delenv(paths.SAYS, raising=False)

    def test_a_folder_as_it_was_typed(self) -> None:
        assert paths.command("check", "my_trial") == "wintersward check my_trial"
        assert paths.command("check", "../my trial/") == "wintersward check '../my trial/'"
        assert paths.command("check") == "wintersward check"

    def test_a_folder_that_nobody_typed(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.chdir(tmp_path)
        assert paths.command("plan", tmp_path / "my_trial") == "wintersward plan my_trial"
        assert paths.command("plan", tmp_path) == "wintersward plan ."
        assert paths.command("plan", tmp_path.parent) == f"wintersward plan {tmp_path.parent}"

    def test_in_the_words_of_whatever_started_it(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv(paths.SAYS, "python3 toolkit/start.py")
        assert paths.command("run", "my_trial") == "python3 toolkit/start.py run my_trial"
        assert paths.command("run") == "python3 toolkit/start.py run ."

    def test_every_command_is_written_here(self) -> None:
        verbs = re.compile(r"wintersward (new|check|plan|run|season|lab)\b")
        told = []
        for path in (ROOT / "toolkit" / "wintersward").rglob("*.py"):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            documents = {
                ast.get_docstring(node, clean=False)
                for node in ast.walk(tree)
                if isinstance(node, (ast.Module, ast.ClassDef, ast.FunctionDef))
            }
            told += [
                f"{path.name}:{node.lineno}"
                for node in ast.walk(tree)
                if isinstance(node, ast.Constant)
                and isinstance(node.value, str)
                and node.value not in documents
                and verbs.search(node.value)
            ]
        assert told == []


class TestStudyFolder:
    def test_upward_from_a_file_or_folder_in_it(self, tmp_path: Path) -> None:
        study = write(tmp_path / "my_trial" / "trial.yaml").parent.resolve()
        photo = write(study / "photos" / "2026-03-10" / "01.jpg")
        for start in (study, study / "trial.yaml", photo.parent, photo, str(photo)):
            assert paths.study_folder(start) == study

    def test_the_nearest_one_counts(self, tmp_path: Path) -> None:
        write(tmp_path / "trial.yaml")
        inner = write(tmp_path / "later" / "trial.yaml").parent
        assert paths.study_folder(inner) == inner.resolve()

    def test_relative_to_where_the_person_stands(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        study = write(tmp_path / "my_trial" / "trial.yaml").parent
        (study / "sheets").mkdir()
        monkeypatch.chdir(study / "sheets")
        assert paths.study_folder(".") == study.resolve()

    def test_no_study(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        # A name that no folder above the temporary one can hold by chance.
        monkeypatch.setattr(paths, "DEFINITION", "not-there.yaml")
        with pytest.raises(WinterswardError, match="no not-there.yaml in it or in any folder abo"):
            paths.study_folder(tmp_path)

    def test_no_such_folder(self) -> None:
        with pytest.raises(WinterswardError, match="my_trail: no such file or folder"):
            paths.study_folder("my_trail")


class TestShown:
    def test_inside_and_outside(self, tmp_path: Path) -> None:
        study = tmp_path / "my_trial"
        assert paths.shown(study / "sheets" / "pulls.csv", study) == "sheets/pulls.csv"
        assert paths.shown(study, study) == "."
        outside = (tmp_path / "elsewhere.csv").resolve()
        assert paths.shown(outside, study) == outside.as_posix()

    def test_a_relative_study(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.chdir(tmp_path)
        assert paths.shown(tmp_path / "my_trial" / "diary.yaml", "my_trial") == "diary.yaml"


def test_importing_it_brings_no_library(tmp_path: Path) -> None:
    script = (
        "import sys\nimport wintersward.paths\n"
        "print(*sorted({'numpy', 'pandas', 'pydantic', 'ruamel'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() == ""
