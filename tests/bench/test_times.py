"""Times of the steps that a person waits for, printed; never a pass or a fail.

Run by ``make bench``. Each time is the best of a few; a baseline of the same machine stands beside
it where there is one, so that two machines can be compared.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from PIL import Image

from bench.timing import best, told
from e2e.example import EXAMPLE, copied
from wintersward import run, score_photo


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


def test_run_of_the_example_study(tmp_path: Path) -> None:
    study = copied(tmp_path / "example_study")
    first = best(lambda: run(study), 1)
    again = best(lambda: run(study), 1)
    assert (study / "report.html").exists()
    told("run of the example study", first, f"again, with scores kept {again * 1000:.0f} ms")
