"""Draw the photos and write the sheets of the example study. Everything is invented.

Run it in an environment that has wintersward: ``python example_study/make_example.py``. It needs
``plan/plots.csv`` (``wintersward plan example_study``) and writes ``photos/``, ``sheets/`` and
``truth/``: the same files from the same seed and the pinned versions.
"""

from __future__ import annotations

import datetime as dt
import io
import sys
import zipfile
from pathlib import Path

import numpy as np
import pandas as pd
from openpyxl import Workbook
from PIL import Image

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))

from field_model import DATES, SEED, FieldTruth, draw_truth, effect_table, tine_table  # noqa: E402
from turf_painter import paint_turf, save_photo  # noqa: E402

MISSING = ("2026-03-16", "204")
BLURRED = ("2026-04-04", "503")
SHADOWED = ("2026-03-24", "302")
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


def main() -> None:
    """Write the example study's photos, sheets and truth tables."""
    plots = pd.read_csv(HERE / "plan" / "plots.csv", dtype=str)
    truth = draw_truth(plots)
    painted = _photos(truth)
    _sheets(truth)
    folder = HERE / "truth"
    folder.mkdir(exist_ok=True)
    painted.to_csv(folder / "photos.csv", index=False, lineterminator="\n")
    effect_table().to_csv(folder / "effects.csv", index=False, lineterminator="\n")
    tine_table().to_csv(folder / "tines.csv", index=False, lineterminator="\n")


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
    key = (row["date"], row["plot"])
    rng = np.random.default_rng([SEED, DATES.index(row["date"]), int(row["plot"])])
    side = "open" if row["cover"] == "open" else "covered"
    diameter = _HOLES_PX.get((row["aeration"], side), {}).get(row["date"])
    vigour = 0.2 + 0.06 * DATES.index(row["date"])
    if side == "covered" and row["date"] > "2026-02":
        vigour += 0.06
    image, true_cover = paint_turf(
        row["wanted"],
        rng,
        vigour=vigour,
        holes=(_SPACING_PX, diameter) if diameter else None,
        blur=4.0 if key == BLURRED else 0.0,
    )
    return (_with_shadow(image) if key == SHADOWED else image), true_cover


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


def _sheets(truth: FieldTruth) -> None:
    folder = HERE / "sheets"
    folder.mkdir(exist_ok=True)
    pulls = truth.pulls.rename(columns={"force": "peak lbf"})
    pulls.to_csv(folder / "pulls.csv", index=False, lineterminator="\n")
    book = Workbook()
    page = book.active
    page.title = "Ratings"
    page.append(["Day", "Plot", "Rated by", "Colour 1-9"])
    for row in truth.ratings.itertuples():
        page.append([dt.date.fromisoformat(row.date), int(row.plot), row.rater, row.rating])
    page.freeze_panes = "A2"
    stamp = dt.datetime(2026, 4, 17, 12, 0, 0)
    book.properties.created = book.properties.modified = stamp
    book.properties.creator = "wintersward example study"
    held = io.BytesIO()
    book.save(held)
    (folder / "colour_ratings.xlsx").write_bytes(_same_bytes(held.getvalue(), stamp))


def _same_bytes(book: bytes, stamp: dt.datetime) -> bytes:
    """Repack a workbook with fixed times, so that the same sheet is the same file."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(book)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            content = old.read(name)
            if name == "docProps/core.xml":
                now = content.split(b"<dcterms:modified")[1].split(b">")[1].split(b"<")[0]
                content = content.replace(now, stamp.isoformat().encode() + b"Z")
            entry = zipfile.ZipInfo(name, stamp.timetuple()[:6])
            entry.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(entry, content)
    return out.getvalue()


if __name__ == "__main__":
    main()
