"""Times of the steps that a person waits for, printed; never a pass or a fail.

Run by ``make bench``. Each time is the best of a few; a baseline of the same machine stands beside
it where there is one, so that two machines can be compared.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from PIL import Image

from e2e.example import EXAMPLE, copied
from wintersward import fit_mixed, run, score_photo


def best(work: Callable[[], object], repeats: int = 5) -> float:
    """Time a call [s], the best of several."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def told(what: str, seconds: float, beside: str = "") -> None:
    print(f"{what}: {seconds * 1000:.0f} ms{'; ' + beside if beside else ''}")


def test_check_of_definition_and_diary(tmp_path: Path) -> None:
    for name in ("trial.yaml", "diary.yaml"):
        (tmp_path / name).write_bytes((EXAMPLE / name).read_bytes())
    command = [sys.executable, "-m", "wintersward", "check", str(tmp_path)]
    done = subprocess.run(command, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr
    bare = best(lambda: subprocess.run([sys.executable, "-c", ""], check=True))
    seconds = best(lambda: subprocess.run(command, capture_output=True, check=True))
    told(
        "check of definition and diary, whole process", seconds, f"bare Python {bare * 1000:.0f} ms"
    )


def test_score_of_a_12_megapixel_photo(tmp_path: Path) -> None:
    path = tmp_path / "large.jpg"
    with Image.open(next((EXAMPLE / "photos").rglob("*_1.jpg"))) as small:
        small.resize((4000, 3000), Image.Resampling.BICUBIC).save(path, quality=90)

    def decode() -> None:
        with Image.open(path) as image:
            image.load()

    assert score_photo(path).pixels == 12_000_000
    decoded = best(decode, 3)
    seconds = best(lambda: score_photo(path), 3)
    told("score of a 12-megapixel photo", seconds, f"decoding alone {decoded * 1000:.0f} ms")


@pytest.mark.parametrize("blocks", [6, 30, 140])
def test_fit_of_a_split_plot(blocks: int) -> None:
    rng = np.random.default_rng(1)
    cells = [(f"b{b}", f"c{c}", f"a{a}") for b in range(blocks) for c in range(3) for a in range(4)]
    data = pd.DataFrame(cells, columns=["block", "cover", "aeration"])
    data["y"] = rng.normal(0, 1, len(data)) + data["block"].map(
        dict(zip(data["block"].unique(), rng.normal(0, 2, blocks), strict=True))
    )

    def fit() -> None:
        made = fit_mixed(
            data, response="y", fixed="cover * aeration", random=["block", "block:cover"]
        )
        assert len(made.anova()) == 3
        assert len(made.pairs(["cover"], by=["aeration"])) == 12

    told(f"split plot of {len(data)} rows: fit, Kenward-Roger tests, Tukey pairs", best(fit, 3))


def test_run_of_the_example_study(tmp_path: Path) -> None:
    study = copied(tmp_path / "example_study")
    first = best(lambda: run(study), 1)
    again = best(lambda: run(study), 1)
    assert (study / "report.html").exists()
    told("run of the example study", first, f"again, with scores kept {again * 1000:.0f} ms")
