"""Photo lists: the names in them are those that the photos are read by."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest
from PIL import Image

from papers.trial_papers import opened, sound
from wintersward.papers import photo_lists
from wintersward.records import photo_index
from wintersward.trial import Definition


def test_photos_named_as_listed_are_read(
    definition: Definition, plots: pd.DataFrame, tmp_path: Path
) -> None:
    made = photo_lists(definition, plots, "letter")
    assert list(made) == [
        f"2026-{day}_photos.xlsx" for day in ("01-15", "03-10", "03-16", "03-24", "04-04", "04-17")
    ]
    for name, content in made.items():
        folder = tmp_path / "photos" / name[:10]
        folder.mkdir(parents=True)
        tab = opened(content).worksheets[0]
        assert tab.oddHeader.right.text == f"Folder photos/{name[:10]}"
        for row in tab.iter_rows(min_row=2, values_only=True):
            Image.new("RGB", (1, 1)).save(folder / str(row[3]))
    index, problems = photo_index(tmp_path, definition, plots)
    assert problems == []
    assert len(index) == 6 * 36


def test_plots_come_in_walking_order_with_every_photo(plots: pd.DataFrame) -> None:
    definition = sound("green_cover", per_plot=2, quadrat=["3 ft", "2 ft"])
    book = opened(photo_lists(definition, plots, "a4")["2026-03-24_photos.xlsx"])
    tab, told = book.worksheets
    rows = [row[1:4] for row in tab.iter_rows(min_row=2, values_only=True)]
    walk = list(plots.sort_values("walk")["plot"])
    assert rows == [(plot, n, f"{plot}_{n}.jpg") for plot in walk for n in (1, 2)]
    said = [str(cell.value) for cell in told["B"]]
    assert (
        "Each photo shows 3 ft by 2 ft: the 2 of a plot lie side by side around its middle, "
        "number 1 at the left, as on the map's enlarged plot."
    ) in said
    assert "Leave out the outer 1 ft along each side of a plot." in said


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"quadrat": ["3 ft", "2 ft"]}, "A photo shows 3 ft by 2 ft in the middle of the plot."),
        (
            {"quadrat": ["3 ft", "2 ft"], "per_plot": 4},
            "Each photo shows 3 ft by 2 ft: the 4 of a plot lie side by side around its middle, "
            "number 1 at the lower left, row by row upwards, as on the map's enlarged plot.",
        ),
        (
            {"per_plot": 3},
            "The 3 photos of a plot lie side by side around the middle of the plot, number 1 at "
            "the left, the same spots on each visit.",
        ),
    ],
)
def test_where_photos_lie_in_the_plot(
    plots: pd.DataFrame, fields: dict[str, object], told: str
) -> None:
    made = photo_lists(sound("green_cover", **fields), plots, "a4")["2026-03-24_photos.xlsx"]
    assert told in [str(cell.value) for cell in opened(made).worksheets[1]["B"]]


@pytest.mark.parametrize(
    "matter",
    ["One camera throughout", "same height", "middle of the plot", "10 and 14 h", "overcast"]
    + ["exposure and white balance", "grey card", "days ago the turf was mown", "frost, dew, snow"]
    + ["standing water, cores or sand", "stay out of photos", "common practice, no source"],
)
def test_what_makes_photos_comparable_is_told(
    definition: Definition, plots: pd.DataFrame, matter: str
) -> None:
    content = photo_lists(definition, plots, "letter")["2026-03-24_photos.xlsx"]
    said = " ".join(str(cell.value) for cell in opened(content).worksheets[1]["B"])
    assert matter in said


def test_the_ground_stands_beside_the_plot(definition: Definition, plots: pd.DataFrame) -> None:
    ground = plots["block"].map(lambda block: "upper" if int(block) <= 3 else "lower")
    made = photo_lists(definition, plots.assign(ground=ground), "a4")["2026-03-24_photos.xlsx"]
    tab = opened(made).worksheets[0]
    assert [cell.value for cell in tab["C"]] == ["ground"] + ["upper"] * 18 + ["lower"] * 18


def test_no_treatment_is_named(definition: Definition, plots: pd.DataFrame) -> None:
    levels = [one for factor in definition.treatments.values() for one in factor.levels.items()]
    for content in photo_lists(definition, plots, "letter").values():
        book = opened(content)
        said = " ".join(
            str(value) for tab in book for row in tab.iter_rows(values_only=True) for value in row
        ).casefold()
        for name, level in levels:
            assert name not in said.split()
            assert level.label.casefold() not in said


def test_without_a_measure_from_photos_there_is_no_list(
    definition: Definition, plots: pd.DataFrame
) -> None:
    ratings = {"colour_rating": definition.measures["colour_rating"]}
    told = definition.model_copy(update={"measures": ratings})
    assert photo_lists(told, plots, "letter") == {}
