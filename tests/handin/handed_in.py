"""A small study with a complete run that nobody executed: everything that a bundle reads."""

from __future__ import annotations

import datetime as dt
import json
import tempfile
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import nbformat
import pandas as pd
from matplotlib.figure import Figure
from PIL import Image

from drawn_study import drawn_files, laid_out
from runs.conftest import DEFINITION
from wintersward.runs.files import write_json
from wintersward.runs.provenance import circumstances, inputs
from wintersward.runs.record import Record
from wintersward.runs.stages import STAGES

__all__ = ["TEXT", "completed", "finish", "gathered", "read"]

TEXT = DEFINITION.replace(
    "analysis:\n",
    "  green: {from: photos, dates: [2026-03-24]}\n"
    "  pull: {from: sheet, unit: lbf, dates: [2026-03-24]}\nanalysis:\n",
).replace("  turf:", "  latitude: 43.1234  # 43.1234 N\n  longitude: -77.5678\n  turf:")
_ZONE = dt.timezone(dt.timedelta(hours=-5))
_START = dt.datetime(2026, 3, 25, 8, 0, 0, tzinfo=_ZONE)
_SECONDS = {"10-photos": 20.4, "30-statistics": 39.2, "50-report": 9.5}
_DAY = pd.Timestamp("2026-03-24")
DIARY = """\
covers: [{on: 2026-01-19, off: 2026-03-09}]
management: [{date: 2026-03-20, what: mowing, amount: 1.5 in, note: R. Example; dry}]
"""


@cache
def _drawn(text: str) -> Mapping[str, bytes]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "definition.yaml"
        path.write_text(text, encoding="utf-8", newline="")
        return drawn_files(path, Path(folder))


def gathered(folder: Path, text: str = TEXT) -> Path:
    """Write a study with its plots, a diary, a sheet, a logger file and two photos."""
    folder.mkdir(parents=True)
    study = laid_out(_drawn(text), folder)
    for name, content in {
        "diary.yaml": DIARY,
        "sheets/colour.csv": "date,plot,rater,colour\n2026-03-24,101,rx,6\n",
        "loggers/station.csv": "date,low\n2026-01-20,-4\n",
    }.items():
        (study / name).parent.mkdir(exist_ok=True)
        (study / name).write_text(content, encoding="utf-8", newline="")
    (study / "photos" / "2026-03-24").mkdir(parents=True)
    for number in (101, 102):
        picture = Image.new("RGB", (64, 48), (60, 40 * (number - 99), 40))
        picture.save(study / "photos" / "2026-03-24" / f"{number}_1.jpg")
    return study


def finish(study: Path, number: str = "001") -> Path:
    """Give a study a complete run, as if its stages had been executed."""
    run = study / "runs" / number
    run.mkdir(parents=True)
    write_json(run / "inputs.json", inputs(study, STAGES, {"study": "the study folder"}))
    took = dt.timedelta(seconds=75)
    write_json(run / "provenance.json", circumstances(number, _START, _START + took, _SECONDS))
    _fill(Record(run))
    for stage in STAGES:
        notebook = nbformat.v4.new_notebook(metadata={"title": stage.does})
        (run / "notebooks").mkdir(exist_ok=True)
        nbformat.write(notebook, run / "notebooks" / stage.file)
    for page in ("report.html", "brief.html"):
        (run / page).write_text(f"<!doctype html><title>{page}</title>", encoding="utf-8")
    return run


def _fill(record: Record) -> None:
    seen = {
        "date": [_DAY, _DAY],
        "plot": ["101", "101"],
        "measure": ["colour", "pull"],
        "sample": [1, 1],
        "rater": ["rx", ""],
        "value": [6.0, 120.5],
        "unit": ["rating 1-9", "N"],
        "source": ["sheets/colour.csv:2", "sheets/pull.csv:2"],
        "flags": ["", ""],
        "excluded": ["", ""],
    }
    counted = dict.fromkeys(("expected", "used"), [1, 1])
    counted |= dict.fromkeys(("excluded", "missing", "repeats"), [0, 0])
    record.write("observations", pd.DataFrame(seen))
    record.write(
        "counts",
        pd.DataFrame(
            {"measure": ["colour", "pull"], "date": [_DAY, _DAY], **counted, "due": "yes"}
        ),
    )
    margins = {"purpose": "see", "blocks": [4, 5], "margin": 1.0, "half_width": [1.2, 1.1]}
    table = record.tables["replication"]
    other = {c.name: "" if c.type == "text" else 0 for c in table.columns if c.name not in margins}
    record.write("replication", pd.DataFrame({**margins, **other}))
    variances = {"measure": ["pull"], "date": [_DAY], "term": ["residual"], "variance": [4.0]}
    record.write("variances", pd.DataFrame(variances))
    weather = record.tables["weather_gaps"]
    blank: dict[str, object] = {"date": pd.NaT, "text": ""}
    gap = {c.name: [blank.get(c.type, 0)] for c in weather.columns}
    record.write("weather_gaps", pd.DataFrame(gap))
    record.save_figure("plot_map", Figure(figsize=(1, 1)), "a map", "Plots as they were drawn.")
    record.save_figure("photo_overlay", Image.new("RGB", (8, 8)), "one photo", "A photo, outlined.")


def completed(folder: Path, text: str = TEXT) -> Path:
    """Write a study with one complete run."""
    study = gathered(folder, text)
    finish(study)
    return study


def read(path: Path) -> Any:
    """Read a JSON file."""
    return json.loads(path.read_text(encoding="utf-8"))
