"""Times and memory of scoring photos, printed; never a pass or a fail.

Each photo is decoded by the image library alone in the same run, in turn with the scoring, so
that what else the machine does weighs on both.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from joblib import cpu_count
from PIL import Image

from bench.timing import told
from e2e.example import EXAMPLE
from wintersward import score_photo, score_photos

SIZE = (4000, 3000)


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Eight photos of 12 megapixels, from bare to green, as a camera saves them."""
    folder = tmp_path_factory.mktemp("large")
    paths = []
    sources = sorted((EXAMPLE / "photos").rglob("*_1.jpg"))
    for source in sources[:: len(sources) // 8][:8]:
        paths.append(folder / f"{len(paths)}.jpg")
        with Image.open(source) as small:
            small.resize(SIZE, Image.Resampling.BICUBIC).save(paths[-1], quality=90)
    return paths


def decode(path: Path) -> None:
    with Image.open(path) as image:
        image.load()


def seconds(work: Callable[[], object], clock: Callable[[], float]) -> float:
    start = clock()
    work()
    return clock() - start


@pytest.mark.parametrize("clock", [time.perf_counter, time.process_time])
def test_score_of_12_megapixels_against_decoding(
    large: list[Path], clock: Callable[[], float]
) -> None:
    score_photo(large[0])
    scored, decoded = [], []
    for path in large:
        rounds = [
            (
                seconds(lambda p=path: decode(p), clock),
                seconds(lambda p=path: score_photo(p), clock),
            )
            for _ in range(5)
        ]
        decoded.append(min(first for first, _ in rounds))
        scored.append(min(second for _, second in rounds))
    ratios = [score / alone for score, alone in zip(scored, decoded, strict=True)]
    told(
        f"score of a 12-megapixel photo ({clock.__name__})",
        statistics.mean(scored),
        f"decoding alone {statistics.mean(decoded) * 1000:.0f} ms; ratio "
        f"{min(ratios):.2f} to {max(ratios):.2f}, mean {statistics.mean(ratios):.2f}",
    )


def test_a_pile_on_all_processors_against_one(large: list[Path]) -> None:
    pile = large * 4
    score_photos(pile[:2], workers=cpu_count())  # workers are there from now on
    alone, shared = [], []
    for _ in range(3):
        alone.append(seconds(lambda: score_photos(pile, workers=1), time.perf_counter))
        shared.append(seconds(lambda: score_photos(pile), time.perf_counter))
    told(
        f"pile of {len(pile)} photos on {cpu_count()} processors",
        min(shared),
        f"on one {min(alone) * 1000:.0f} ms: {min(alone) / min(shared):.2f} times as fast",
    )


def test_scores_kept_from_earlier(large: list[Path], tmp_path: Path) -> None:
    time.sleep(2.5)  # a file that has just been written is not believed to stay
    first = seconds(lambda: score_photos(large, cache=tmp_path), time.perf_counter)
    again = seconds(lambda: score_photos(large, cache=tmp_path), time.perf_counter)
    told("pile of 8 photos with scores kept", again, f"the first time {first * 1000:.0f} ms")


# A process of its own that does what a worker does, and tells the most memory it held [kB].
WORKER = """
import resource, sys
from pathlib import Path
import joblib
from wintersward.photos.colour import GREEN
from wintersward.photos.work import Job, done
for _ in range(3):
    assert done(Job(0, Path(sys.argv[1])), GREEN, None, None).score is not None
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


@pytest.mark.parametrize("orientation", [1, 6])
def test_memory_of_a_worker(large: list[Path], tmp_path: Path, orientation: int) -> None:
    path = tmp_path / "held.jpg"
    exif = Image.Exif()
    exif[0x0112] = orientation
    with Image.open(large[4]) as image:
        image.save(path, quality=90, exif=exif)
    command = [sys.executable, "-c", WORKER, str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    held = int(done.stdout) / 1024
    print(f"memory of a worker, 12 megapixels, orientation {orientation}: {held:.0f} MB")
