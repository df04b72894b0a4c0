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
from itertools import product
from pathlib import Path

import pytest
from joblib import cpu_count
from PIL import Image

from bench.timing import told
from e2e.example import EXAMPLE
from wintersward import score_photo, score_photos

SIZE = (4000, 3000)
SOURCES = sorted((EXAMPLE / "photos").rglob("*_1.jpg"))


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Eight photos of 12 megapixels, from bare to green: painted ones side by side.

    Each pixel is as painted, so that the files hold as much detail as a camera's.
    """
    folder = tmp_path_factory.mktemp("large")
    paths = []
    for first in range(0, len(SOURCES), len(SOURCES) // 8):
        canvas = Image.new("RGB", SIZE)
        tiles = [Image.open(path) for path in SOURCES[first : first + 12]]
        places = product(range(0, SIZE[1], tiles[0].height), range(0, SIZE[0], tiles[0].width))
        for number, (top, left) in enumerate(places):
            canvas.paste(tiles[number % len(tiles)], (left, top))
        paths.append(folder / f"{len(paths)}.jpg")
        canvas.save(paths[-1], quality=90)
    return paths[:8]


@pytest.fixture(scope="module")
def soft(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """The same number enlarged from 0.3 megapixels: hardly any detail, and soon decoded."""
    folder = tmp_path_factory.mktemp("soft")
    paths = []
    for source in SOURCES[:: len(SOURCES) // 8][:8]:
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


@pytest.mark.parametrize("kind", ["large", "soft"])
@pytest.mark.parametrize("clock", [time.perf_counter, time.process_time])
def test_score_of_12_megapixels_against_decoding(
    kind: str, clock: Callable[[], float], request: pytest.FixtureRequest
) -> None:
    photos: list[Path] = request.getfixturevalue(kind)
    score_photo(photos[0])
    scored, decoded = [], []
    for path in photos:
        rounds = [
            (
                seconds(lambda p=path: decode(p), clock),
                seconds(lambda p=path: score_photo(p), clock),
            )
            for _ in range(9)
        ]
        decoded.append(min(first for first, _ in rounds))
        scored.append(min(second for _, second in rounds))
    ratios = [score / alone for score, alone in zip(scored, decoded, strict=True)]
    size = statistics.mean(path.stat().st_size for path in photos) / 1e6
    told(
        f"score of a 12-megapixel photo of {size:.1f} MB ({clock.__name__})",
        statistics.mean(scored),
        f"decoding alone {statistics.mean(decoded) * 1000:.0f} ms; ratio "
        f"{min(ratios):.2f} to {max(ratios):.2f}, mean {statistics.mean(ratios):.2f}",
    )


# Decodes its photos and does nothing else.
DECODER = """
import sys
from PIL import Image
for path in sys.argv[1:]:
    with Image.open(path) as image:
        image.load()
"""


def decoded_by(processes: int, pile: list[Path]) -> None:
    """Decode a pile, shared out among processes of their own."""
    started = [
        subprocess.Popen([sys.executable, "-c", DECODER, *map(str, pile[first::processes])])
        for first in range(processes)
    ]
    assert [process.wait() for process in started] == [0] * processes


def test_a_pile_on_all_processors_against_one(large: list[Path]) -> None:
    """How much faster the machine itself is just then stands beside it: others may keep it busy."""
    pile, processors = large * 4, cpu_count()
    score_photos(pile[:2], workers=processors)  # workers are there from now on
    works: dict[str, Callable[[], object]] = {
        "one": lambda: score_photos(pile, workers=1),
        "all": lambda: score_photos(pile),
        "decoded by one": lambda: decoded_by(1, pile),
        "decoded by all": lambda: decoded_by(processors, pile),
    }
    rounds = [{k: seconds(w, time.perf_counter) for k, w in works.items()} for _ in range(3)]
    best = {name: min(one[name] for one in rounds) for name in works}
    told(
        f"pile of {len(pile)} photos on {processors} processors",
        best["all"],
        f"on one {best['one'] * 1000:.0f} ms: {best['one'] / best['all']:.2f} times as fast; "
        f"processes that only decode: {best['decoded by one'] / best['decoded by all']:.2f} times",
    )


def test_scores_kept_from_earlier(large: list[Path], tmp_path: Path) -> None:
    time.sleep(2.5)  # a file that has just been written is not believed to stay
    first = seconds(lambda: score_photos(large, cache=tmp_path), time.perf_counter)
    again = seconds(lambda: score_photos(large, cache=tmp_path), time.perf_counter)
    told("pile of 8 photos with scores kept", again, f"the first time {first * 1000:.0f} ms")


# A process of its own that does what a worker does, and tells the most memory it held [kB]. On
# Linux ru_maxrss will not do: it also knows of the process that started this one.
WORKER = """
import resource, sys
from pathlib import Path
import joblib
from wintersward.photos.colour import GREEN
from wintersward.photos.work import Job, done
for _ in range(3):
    assert done(Job(0, Path(sys.argv[1])), GREEN, None, None).score is not None
status = Path("/proc/self/status")
lines = status.read_text().splitlines() if status.exists() else []
told = [line.split()[1] for line in lines if line.startswith("VmHWM:")]
print(*told or [resource.getrusage(resource.RUSAGE_SELF).ru_maxrss])
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
    held = int(done.stdout) * 1024 / 1e6
    print(f"memory of a worker, 12 megapixels, orientation {orientation}: {held:.0f} MB")
