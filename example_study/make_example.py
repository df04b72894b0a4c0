"""Draw the photos and write sheets and weather of the example study. Everything is invented.

Run it in an environment that has wintersward: ``python example_study/make_example.py``, with
``--no-photos`` where the photos are to stay. It needs ``plan/plots.csv`` (``wintersward plan
example_study``) and writes ``photos/``, ``sheets/``, ``loggers/``, ``truth/`` and what two people
counted on photos, whose key lies in ``plan/papers``: the same files from the same seed and the
pinned versions. The diary is written by hand; what it tells of the
weather, of exclusions and of what is missing must agree with what is written here.
"""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from PIL import Image

from wintersward.design import read_plots
from wintersward.papers.looks import looks
from wintersward.trial import read_definition

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))

from field_model import (  # noqa: E402
    DATES,
    SEED,
    FieldTruth,
    draw_second_looks,
    draw_truth,
    effect_table,
    rater_table,
    tine_table,
)
from heat_balance import draw_temperatures  # noqa: E402
from hole_closing import closure_table, draw_closure, write_closure  # noqa: E402
from kept_sheets import (  # noqa: E402
    BLURRED,
    MISSING,
    SHADOWED,
    blemish_table,
    write_pulls,
    write_ratings,
)
from logger_files import blemish_table as logger_blemishes  # noqa: E402
from logger_files import write_loggers  # noqa: E402
from point_counting import write_counts  # noqa: E402
from season_weather import write_weather  # noqa: E402
from temperature_truth import daily_table, gain_table, reached_table  # noqa: E402
from turf_painter import paint_mapped, save_photo  # noqa: E402

LATE = "2026-03-16"  # photographed from eleven o'clock on, not from ten

# Open aeration holes of two inch spacing at the painter's 2 pixels a millimetre: (spacing,
# diameter) [px], closing with time, sooner where turf was covered.
_SPACING_PX = 102.0
_HOLES_PX = {
    ("hollow", "open"): {"2026-04-04": 34.0, "2026-04-17": 25.0},
    ("hollow", "covered"): {"2026-04-04": 28.0, "2026-04-17": 13.0},
    ("solid", "open"): {"2026-04-04": 10.0},
    ("solid", "covered"): {"2026-04-04": 7.0},
}


def main(arguments: list[str]) -> None:
    """Write the example study's photos, unless told not to, and everything else."""
    plots = pd.read_csv(HERE / "plan" / "plots.csv", dtype=str)
    truth = draw_truth(plots)
    write_records(HERE, truth, plots)
    write_temperatures(HERE, plots)
    if arguments != ["--no-photos"]:
        _write(_photos(truth), HERE / "truth" / "photos.csv")
    rows = truth.cover.set_index(["date", "plot"], drop=False)
    write_counts(HERE, lambda date, plot: map_plot(rows.loc[(date, plot)])[1])


def write_records(folder: Path, truth: FieldTruth, plots: pd.DataFrame) -> None:
    """Write sheets, weather and truth tables: everything but the photos.

    Parameters
    ----------
    folder : Path
        Gets ``sheets/``, ``loggers/`` and ``truth/``; the same files each time.
    truth : FieldTruth
        The field as `field_model.draw_truth` gives it.
    plots : DataFrame
        ``plan/plots.csv`` as text.
    """
    walk = plots.sort_values("walk", key=lambda column: column.astype(int))["plot"].tolist()
    again = draw_second_looks(truth.ratings, planned_second_looks(truth))
    write_ratings(folder / "sheets" / "colour_ratings.xlsx", truth, again, walk)
    write_pulls(folder / "sheets" / "pulls.csv", truth)
    write_closure(folder / "sheets" / "closure.csv", draw_closure(plots, SEED))
    write_weather(folder / "loggers" / "station.csv")
    tables = {"effects": effect_table(), "tines": tine_table(), "raters": rater_table()}
    tables["hole_closure"] = closure_table()
    for name, table in {**tables, "blemishes": blemish_table(truth)}.items():
        _write(table, folder / "truth" / f"{name}.csv")


def write_temperatures(folder: Path, plots: pd.DataFrame) -> None:
    """Write the files of the loggers of soil and canopy, and what is true of these.

    Parameters
    ----------
    folder : Path
        Gets files in ``loggers/`` and ``truth/``; the same each time.
    plots : DataFrame
        ``plan/plots.csv`` as text.
    """
    truth = draw_temperatures(plots)
    write_loggers(folder, truth)
    daily = daily_table(truth)
    tables = {
        "temperatures": daily,
        "temperature_gains": gain_table(daily),
        "soil_reached": reached_table(truth, daily),
        "logger_blemishes": logger_blemishes(truth),
    }
    for name, table in tables.items():
        _write(table, folder / "truth" / f"{name}.csv")


def planned_second_looks(truth: FieldTruth) -> pd.DataFrame:
    """List what the plan has raters look at twice.

    Parameters
    ----------
    truth : FieldTruth
        Its ratings name the visits and the raters.

    Returns
    -------
    DataFrame
        Columns date, plot, rater; visit by visit and rater by rater, in walking order.
    """
    definition, problems = read_definition(HERE)
    if definition is None:
        raise SystemExit("\n".join(map(str, problems)))
    plots, _ = read_plots(HERE / "plan" / "plots.csv", definition)
    measures = {"colour_rating": definition.measures["colour_rating"]}
    found = []
    for date, rater in truth.ratings[["date", "rater"]].drop_duplicates().itertuples(index=False):
        seen = looks(definition, plots, dt.date.fromisoformat(date), rater, measures)
        seen = seen.loc[seen["repeat"], ["plot"]]
        found.append(seen.assign(date=date, rater=rater)[["date", "plot", "rater"]])
    return pd.concat(found, ignore_index=True)


def _write(table: pd.DataFrame, path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    table.to_csv(path, index=False, lineterminator="\n")


def paint_plot(row: pd.Series) -> tuple[Image.Image, float]:
    """Paint the photo of one plot on one day.

    Parameters
    ----------
    row : Series
        plot, date, cover, aeration, wanted [%].

    Returns
    -------
    image : PIL.Image.Image
    true_cover : float [%]
    """
    image, living = map_plot(row)
    return image, 100 * float(living.mean())


def map_plot(row: pd.Series) -> tuple[Image.Image, NDArray[np.bool_]]:
    """Paint the photo of one plot on one day, and tell where its living green is.

    Parameters
    ----------
    row : Series
        As that of `paint_plot`.

    Returns
    -------
    image : PIL.Image.Image
    living : (height, width) bool
        Pixels painted as living green; a shadow over them changes nothing.
    """
    key = (row["date"], row["plot"])
    rng = np.random.default_rng([SEED, DATES.index(row["date"]), int(row["plot"])])
    side = "open" if row["cover"] == "open" else "covered"
    diameter = _HOLES_PX.get((row["aeration"], side), {}).get(row["date"])
    vigour = 0.2 + 0.06 * DATES.index(row["date"])
    if side == "covered" and row["date"] > "2026-02":
        vigour += 0.06
    image, living = paint_mapped(
        row["wanted"],
        rng,
        vigour=vigour,
        holes=(_SPACING_PX, diameter) if diameter else None,
        blur=4.0 if key == BLURRED else 0.0,
    )
    return (_with_shadow(image) if key == SHADOWED else image), living


def _with_shadow(image: Image.Image) -> Image.Image:
    """Lay a person's shadow over the right half of a photo."""
    pixels = np.asarray(image, dtype=np.float32).copy()
    height, width = pixels.shape[:2]
    edge = width * 0.45 + 0.12 * np.arange(height)[:, None]
    depth = np.clip((np.arange(width)[None, :] - edge) / 12, 0, 1)[..., None]
    pixels *= 1 - 0.72 * depth
    pixels += depth * np.array([0.0, 2.0, 14.0], dtype=np.float32)  # skylight is blue
    return Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8))


def _photos(truth: FieldTruth) -> pd.DataFrame:
    rows = []
    for _, row in truth.cover.iterrows():
        if (row["date"], row["plot"]) == MISSING:
            continue
        image, true_cover = paint_plot(row)
        path = HERE / "photos" / row["date"] / f"{row['plot']}_1.jpg"
        path.parent.mkdir(parents=True, exist_ok=True)
        start = 11 if row["date"] == LATE else 10
        minutes = start * 60 + len(rows) % 36 * 2
        taken = dt.datetime.fromisoformat(row["date"]) + dt.timedelta(minutes=minutes)
        save_photo(image, path, taken)
        rows.append((row["date"], row["plot"], round(true_cover, 4)))
    return pd.DataFrame(rows, columns=["date", "plot", "true_cover"])


if __name__ == "__main__":
    main(sys.argv[1:])
