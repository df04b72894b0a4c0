"""A trial with loggers: small, invented, its primary question the soil under the covers."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from ruamel.yaml import YAML

from drawn_study import drawn_files, laid_out
from wintersward.study import Trial, open_study

__all__ = [
    "COVERS",
    "DIARY",
    "changed",
    "drawn_with",
    "logger_entries",
    "opened_with",
    "write_loggers",
]

SOUND = Path(__file__).parent / "trial" / "sound.yaml"
ZONE = "America/New_York"
MEASURES = """\
measures:
  soil: {from: logger, what: soil temperature, depth: 4 in, band: [0 degC, 5 degC], dates: [visits]}
  canopy: {from: logger, what: canopy temperature, daily: maximum, dates: [visits]}
"""
PRIMARY = """\
analysis:
  primary: {measure: soil, on: 2026-03-10, compare: [fleece, open], matters_from: 1 degF}
"""
CLIMATE = """\
climate:
  degree_days: {measure: soil, base: 0 degC, method: integrated, from: covers_on}
  thermometer: [{reaches: 5 degC, over: 3 days, measure: soil}, {reaches: 100 degree days}]
  risks: {canopy_heat: {above: 15 degC, hours: 3}}
decisions:
  covers_off_when: {soil_temperature: 5 degC, days_in_a_row: 3, not_after: covers_off}
"""
SHADE = """\
  time_zone: America/New_York
  shade: [{name: stand, height: 30 ft, distance: 60 ft, bearing: 200}]
"""
COVERS = "covers:\n  - {on: 2026-01-19, off: 2026-03-09}\n"
DIARY = COVERS + "forecast: [{date: 2026-03-08, low: 30 degF, high: 52 degF}]\n"
# How much warmer the soil is under each cover [degC].
WARMER = {"open": 0.0, "fleece": 1.5, "woven": 0.8}


def changed(*changes: tuple[str, str], primary: str = PRIMARY, climate: str = CLIMATE) -> str:
    """Write the definition, with parts replaced."""
    text = SOUND.read_text(encoding="utf-8")
    text = text[: text.index("measures:")] + MEASURES + primary + climate
    text = text.replace("  plot_size:", "  north: 0\n  plot_size:")
    text = text.replace("  longitude: -77.6\n", f"  longitude: -77.6\n{SHADE}")
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    return text


def drawn_with(folder: Path, text: str) -> dict[str, bytes]:
    """Draw the plots of a definition."""
    folder.mkdir(parents=True, exist_ok=True)
    source = folder / "written.yaml"
    source.write_text(text, encoding="utf-8")
    return drawn_files(source, folder)


def readings(name: str, level: str, block: int, first: str, last: str) -> pd.DataFrame:
    """Draw soil and canopy of a whole plot, every two hours, on a clock that is never changed."""
    time = pd.date_range(first, last, freq="2h", tz="Etc/GMT+5", inclusive="left")
    local = time.tz_convert(ZONE)
    day = (time - pd.Timestamp("2026-01-19", tz="Etc/GMT+5")) / pd.Timedelta(days=1)
    noise = np.random.default_rng(list(name.encode())).normal(0, 0.05, len(time))
    swing = np.sin(2 * np.pi * (local.hour - 9) / 24)
    under = (local >= pd.Timestamp("2026-01-19", tz=ZONE)) & (
        local < pd.Timestamp("2026-03-09", tz=ZONE)
    )
    soil = 0.12 * day + 0.1 * block + swing + WARMER[level] * under + noise
    canopy = 0.15 * day + 6 * swing + 4 * WARMER[level] * under + noise
    shown = time.strftime("%m/%d/%Y %H:%M")
    return pd.DataFrame({"Time": shown, "Soil": soil.round(3), "Canopy": canopy.round(3)})


def _units(plots: pd.DataFrame) -> pd.Series:
    return plots["whole_plot"].where(plots["whole_plot"] != "", plots["plot"])


def logger_entries(plots: pd.DataFrame) -> list[dict[str, object]]:
    """Write the diary's entries, one a whole plot."""
    made: list[dict[str, object]] = []
    for whole in dict.fromkeys(_units(plots)):
        values = [
            {"column": heading, "measure": name, "plot": str(whole), "unit": "degC"}
            for heading, name in (("Soil", "soil"), ("Canopy", "canopy"))
        ]
        how = {"time": "Time", "format": "%m/%d/%Y %H:%M", "zone": "UTC-05:00"}
        made.append({"file": f"{whole}.csv", **how, "values": values})
    return made


def write_loggers(
    study: Path,
    first: str = "2026-01-16",
    last: str = "2026-04-19",
    diary: str = DIARY,
    blocks: Sequence[str] = (),
) -> None:
    """Write a file for every whole plot, or plot, of all blocks or of some, and the diary."""
    plots = pd.read_csv(study / "plan" / "plots.csv", dtype=str, keep_default_na=False)
    place = study / "loggers"
    place.mkdir(exist_ok=True)
    kept = plots[plots["block"].isin(blocks)] if blocks else plots
    for whole, own in kept.groupby(_units(kept)):
        block = int(own["block"].iloc[0] or 1)
        made = readings(str(whole), own["cover"].iloc[0], block, first, last)
        made.to_csv(place / f"{whole}.csv", index=False)
    stream = io.StringIO()
    YAML().dump({"loggers": logger_entries(kept)}, stream)
    (study / "diary.yaml").write_text(diary + stream.getvalue(), encoding="utf-8")


def opened_with(drawn: dict[str, bytes], folder: Path, **written: Any) -> Trial:
    """Lay a study out with its loggers, and open it."""
    study = laid_out(drawn, folder)
    write_loggers(study, **written)
    return open_study(study)
