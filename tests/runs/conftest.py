"""A study folder small enough to run stages in, and a definition to start from."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from wintersward.runs.stages import Stage

NOTEBOOKS = Path(__file__).resolve().parents[1] / "notebooks"

DEFINITION = """\
# our own trial
title: Covers on the Alder Road ground, 2026
question: Does a cover bring more green?
units: us
people: [{name: R. Example, role: groundskeeper, initials: rx}]
site:
  name: Alder Road ground
  country: US
  turf: {species: [Poa pratensis], established: 2025-10-06}
dates:
  baseline: 2026-01-15   # before any cover
  covers_on: '2026-01-19'
  covers_off: 2026-03-09
  visits: [2026-03-10, 2026-03-24]
treatments:
  cover:
    control: open
    levels: {open: {label: No cover}, fleece: {label: Fleece}}
  aeration:
    applied: 2026-03-12
    control: none
    levels: {none: {label: No aeration}, solid: {label: Solid tine}}
layout:
  kind: split plot
  whole_plot: cover
  subplot: aeration
  blocks: 4
  plot_size: [10 ft, 6 ft]
  alley: 2 ft
  edge_left_out: 1 ft
  seed: 0042 # drawn
measures:
  colour: {from: sheet, scale: 1-9, raters: [rx], dates: [baseline, visits, 2026-02-28]}
analysis:
  primary: {measure: colour, on: 2026-03-24, compare: [fleece, open], matters_from: 1}
"""


@pytest.fixture
def study(tmp_path: Path) -> Path:
    """A study folder with a definition; its name holds what paths may hold."""
    folder = tmp_path / "our {trial} 1"
    folder.mkdir()
    (folder / "trial.yaml").write_text(DEFINITION, encoding="utf-8", newline="")
    return folder


@pytest.fixture
def stage(study: Path) -> Callable[..., Stage]:
    """Make a stage of a notebook in tests/notebooks, as the study's own copy."""

    def make(name: str, cell_limit: int = 60) -> Stage:
        (study / "notebooks").mkdir(exist_ok=True)
        shutil.copy(NOTEBOOKS / f"{name}.ipynb", study / "notebooks")
        return Stage(name, f"try {name}", cell_limit)

    return make
