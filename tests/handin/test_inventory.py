from __future__ import annotations

from pathlib import Path

import pytest

from wintersward import __version__
from wintersward.handin.holdings import (
    ROLES,
    Holding,
    made,
    media_type,
    run_holdings,
    study_holdings,
)
from wintersward.handin.inventory import inventory, unfit_names
from wintersward.runs.files import write_json

HASH = "0" * 64
FILES = {
    "trial.yaml": "definition",
    "diary.yaml": "diary",
    "plan/plots.csv": "plots",
    "plan/plot_values.csv": "plots",
    "plan/frozen/protocol.html": "frozen",
    "sheets/march/pulls.xlsx": "sheet",
    "photos/2026-03-10/101_1.JPG": "photo",
    "photos/2026-03-10/101_1.heic": "photo",
    "photos/index.csv": "photo_index",
    "photos/point_count.xlsx": "sheet",
    "photos/2026-03-10/index.txt": "other",
    "loggers/soil.csv": "logger",
    "earlier/2025/trial.yaml": "other",
    "plan/papers/point_count/key.csv": "other",
}


def test_every_input_of_a_run_has_its_role() -> None:
    told = {"bytes": 3, "sha256": HASH}
    own = {**told, "from": "the study's own copy", "changed": True}
    made_from = {
        "files": dict.fromkeys(FILES, told),
        "templates": {
            "notebooks/30-statistics.ipynb": own,
            "templates/reports/study/style.css": own,
            "notebooks/50-report.ipynb": {**own, "from": "wintersward"},
        },
    }
    held = {one.name: one for one in study_holdings(Path("study"), made_from)}
    roles = {f"study/{name}": role for name, role in FILES.items()}
    roles["study/notebooks/30-statistics.ipynb"] = "notebook"
    roles["study/templates/reports/study/style.css"] = "template"
    assert {name: one.role for name, one in held.items()} == roles
    assert all(one.about for one in held.values())
    assert held["study/trial.yaml"].path == Path("study/trial.yaml")


def test_a_run_lies_in_run_and_its_pages_on_top(tmp_path: Path) -> None:
    described = {"means": {"description": "Estimated means."}}
    drawn = {"answer": {"file": "answer.svg", "alt": "", "caption": "The answer."}}
    write_json(tmp_path / "results" / "tables.json", described)
    write_json(tmp_path / "figures" / "figures.json", drawn)
    for name in ("results/means.csv", "figures/answer.svg", "report.html", "warnings.txt"):
        (tmp_path / name).write_text(name)
    (tmp_path / "results" / ".means.csv.part").write_text("half")
    held = {one.name: one for one in run_holdings(tmp_path)}
    assert {name: (one.role, one.about) for name, one in held.items() if name[-4:] != "json"} == {
        "report.html": ("page", "the study report"),
        "run/results/means.csv": ("results", "Estimated means."),
        "run/figures/answer.svg": ("figure", "The answer."),
        "run/warnings.txt": ("other", "what the stages warned of"),
    }
    assert held["run/warnings.txt"].size == len("warnings.txt")


def test_it_holds_what_was_packed_left_out_and_changed() -> None:
    photo = Holding("study/photos/a.jpg", "photo", ROLES["photo"], 5, HASH)
    page = made("README.txt", "readme", "Größe\n")
    told = inventory("Our trial", "002", [page], [photo], ["study/trial.yaml: changed"])
    assert told == {
        "inventory": 1,
        "study": "Our trial",
        "run": "002",
        "made_by": f"wintersward {__version__}",
        "files": {
            "README.txt": {
                "bytes": 8,
                "sha256": page.sha256,
                "role": "readme",
                "media": "text/plain",
                "about": "how to verify the bundle",
            }
        },
        "left_out": {
            "study/photos/a.jpg": {"bytes": 5, "sha256": HASH, "why": "photos left out on request"}
        },
        "changed_on_request": ["study/trial.yaml: changed"],
    }


@pytest.mark.parametrize(
    "name",
    [
        *("study/photos/a\\b.jpg", "study/photos/C:/a.jpg", "study/photos/10:30.jpg", "a\x07b"),
        *("study/sheets/aux.csv", "study/sheets/a.csv ", "study/sheets/why?.csv", "a\u202eb"),
    ],
)
def test_a_name_that_some_computer_cannot_write(name: str) -> None:
    (problem,) = unfit_names([name])
    assert "a name that not every computer can write" in str(problem)
    assert str(problem).isprintable()


def test_names_alike() -> None:
    composed, apart = "study/photos/\u00e4.jpg", "study/photos/a\u0308.jpg"
    assert len(unfit_names([composed, apart])) == 1
    assert len(unfit_names(["study/Stra\u00dfe.csv", "study/STRASSE.csv"])) == 1
    assert (
        unfit_names(["study/photos/a.jpg", "study/photos/b.jpg", "study/photos/a b (1).jpg"]) == []
    )


def test_media_types_do_not_depend_on_the_computer() -> None:
    assert media_type("study/sheets/a.xlsx").endswith("spreadsheetml.sheet")
    assert media_type("run/notebooks/a.ipynb") == "application/x-ipynb+json"
    assert media_type("study/photos/IMG.HEIC") == "image/heic"
    assert media_type("study/notes") == "application/octet-stream"
