"""The example without photos: its primary question is the colour rating."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from ruamel.yaml import YAML

from e2e.example import EXAMPLE
from logged_study import changed, drawn_with, opened_with
from wintersward.analysis import analyse, climate_tables
from wintersward.study import Trial, open_study

RATED = """\
measures:
  colour_rating:
    from: sheet
    scale: 1-9
    raters: [te, rx]
    dates: [baseline, visits]
  pull_force: {from: sheet, unit: lbf, per_plot: 3, dates: [2026-03-24, 2026-04-17]}
analysis:
  primary: {measure: colour_rating, on: 2026-03-24, compare: [fleece, open], matters_from: 1}
  caught_up_within: 0.5
"""
Rated = Callable[..., Path]


def write_rated(folder: Path, exclusions: str = "", measures: str = RATED) -> Path:
    """Write the study, with exclusions of its own in the diary."""
    # What people counted belongs to the photos, which are not here.
    shutil.copytree(EXAMPLE / "plan", folder / "plan", ignore=shutil.ignore_patterns("papers"))
    # Nor is the sheet of holes, which no measure here is about.
    holes = "sheets/closure.csv"
    shutil.copytree(EXAMPLE / "sheets", folder / "sheets", ignore=lambda *_: [Path(holes).name])
    text = (EXAMPLE / "trial.yaml").read_text(encoding="utf-8")
    (folder / "trial.yaml").write_text(text[: text.index("measures:")] + measures, encoding="utf-8")
    diary = (EXAMPLE / "diary.yaml").read_text(encoding="utf-8")
    diary = diary[: diary.index(f"  - file: {holes}")] + exclusions
    (folder / "diary.yaml").write_text(diary, encoding="utf-8")
    return folder


def colours_alone(study: Path) -> Path:
    """Take the pulls out of a rated study: what is looked at does not need them."""
    (study / "sheets" / "pulls.csv").unlink()
    lines = (study / "trial.yaml").read_text(encoding="utf-8").splitlines(keepends=True)
    kept = [line for line in lines if not line.startswith("  pull_force:")]
    assert len(kept) == len(lines) - 1
    (study / "trial.yaml").write_text("".join(kept), encoding="utf-8")
    yaml = YAML()
    diary = yaml.load(study / "diary.yaml")
    for name in ("sheets", "missing", "exclusions"):
        told = diary.get(name, [])
        diary[name] = [one for one in told if "pull_force" not in str(dict(one))]
    yaml.dump(diary, study / "diary.yaml")
    return study


@pytest.fixture(scope="session")
def rated() -> Rated:
    return write_rated


@pytest.fixture(scope="session")
def rated_trial(tmp_path_factory: pytest.TempPathFactory) -> Trial:
    return open_study(write_rated(tmp_path_factory.mktemp("rated")))


@pytest.fixture(scope="session")
def rated_tables(rated_trial: Trial) -> dict[str, pd.DataFrame]:
    return analyse(rated_trial)


@pytest.fixture(scope="session")
def logged_plan(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return drawn_with(tmp_path_factory.mktemp("plan"), changed())


@pytest.fixture(scope="session")
def logged_trial(logged_plan: dict[str, bytes], tmp_path_factory: pytest.TempPathFactory) -> Trial:
    return opened_with(logged_plan, tmp_path_factory.mktemp("logged"))


@pytest.fixture(scope="session")
def logged_tables(logged_trial: Trial) -> dict[str, pd.DataFrame]:
    return climate_tables(logged_trial)
