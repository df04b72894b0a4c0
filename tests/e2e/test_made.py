"""The committed example study is what its generator makes, and it says that it is invented."""

from __future__ import annotations

import subprocess
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from PIL import Image

import field_model
import make_example
from e2e.example import CHECKOUT, EXAMPLE
from wintersward import design
from wintersward.trial import read_definition


@pytest.fixture(scope="module")
def truth() -> field_model.FieldTruth:
    return field_model.draw_truth(pd.read_csv(EXAMPLE / "plan" / "plots.csv", dtype=str))


def test_the_plan_is_what_the_seed_draws() -> None:
    definition, _ = read_definition(EXAMPLE)
    assert definition is not None
    plots, problems = design.read_plots(EXAMPLE / "plan" / "plots.csv", definition)
    assert problems == []
    assert plots is not None
    columns = ["plot", "cover", "aeration"]
    assert plots[columns].astype(str).equals(design.draw(definition)[columns].astype(str))
    assert definition.layout.seed == field_model.SEED == 20260119


@pytest.mark.parametrize(
    "place", [("2026-01-15", "101"), ("2026-03-24", "302"), ("2026-04-04", "503")]
)
def test_photos_are_what_the_painter_paints(
    truth: field_model.FieldTruth, place: tuple[str, str]
) -> None:
    date, plot = place
    rows = truth.cover.set_index(["date", "plot"], drop=False)
    image, true_cover = make_example.paint_plot(rows.loc[place])
    told = pd.read_csv(EXAMPLE / "truth" / "photos.csv", dtype={"plot": str})
    told = told.set_index(["date", "plot"])["true_cover"]
    assert true_cover == pytest.approx(told[place], abs=0.01)
    with Image.open(EXAMPLE / "photos" / date / f"{plot}_1.jpg") as kept:
        difference = np.asarray(image, float) - np.asarray(kept.convert("RGB"), float)
    assert np.abs(difference).mean() < 12  # what JPEG takes of a picture full of blades


def test_what_is_committed_is_at_most_25_megabytes() -> None:
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--", "example_study"],
        cwd=CHECKOUT,
        capture_output=True,
        text=True,
        check=False,
    ).stdout.split("\0")
    files = [CHECKOUT / name for name in listed if name]
    if not files:  # a source tree without git: everything but what a run makes
        made = {"runs", ".cache", "__pycache__"}
        files = [p for p in EXAMPLE.rglob("*") if p.is_file() and not made & set(p.parts)]
    assert 0 < sum(path.stat().st_size for path in files) <= 25_000_000


def test_it_says_everywhere_that_it_is_invented() -> None:
    code = ("make_example.py", "field_model.py", "season_weather.py", "kept_sheets.py")
    for name in ("trial.yaml", "diary.yaml", *code):
        assert "invented" in Path(EXAMPLE / name).read_text(encoding="utf-8").lower(), name


def test_effects_lie_within_the_stated_bounds() -> None:
    # Bounds (from memory): green-up 7 to 21 days earlier; colour one to two units better early.
    open_cover = field_model._OPEN
    days = pd.to_datetime(pd.Series(field_model.DATES[1:4])).astype("int64") / 86_400e9
    days = days / (days.iloc[1] - days.iloc[0]) * 6  # six days between the first two visits
    for cover in ("fleece", "woven"):
        greens = [open_cover[d] + field_model.EFFECTS[cover][d] for d in field_model.DATES[1:4]]
        reached = np.interp(open_cover["2026-03-24"], greens, days)
        assert 7 <= days.iloc[2] - reached <= 21
    assert 1 <= field_model._COLOUR_GAIN["2026-03-10"] <= 2
    assert field_model._COLOUR_GAIN["2026-04-17"] <= 0.3
