"""A pile that is broken off loses the photo in hand, and no other."""

from __future__ import annotations

import subprocess
import sys
import textwrap
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from wintersward.photos.batch import score_photos
from wintersward.photos.scoring import score_file

MANY, BEFORE = 12, 3
# As a person would press Ctrl-C, or the system end the process: within a photo.
SCORING = f"""
    import _thread, os, signal, sys, threading
    from pathlib import Path
    from wintersward.photos.batch import score_photos

    def broken_off(done, *_):
        print(done, flush=True)
        if done == {BEFORE}:
            stop = _thread.interrupt_main if sys.argv[3] == "Ctrl-C" else lambda: os._exit(9)
            threading.Timer(0.02, stop).start()

    # What is started in the background may ignore it.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    paths = sorted(Path(sys.argv[1]).iterdir())
    score_photos(paths, cache=sys.argv[2], progress=broken_off, workers=int(sys.argv[4]))
"""


@pytest.mark.parametrize("stop", ["Ctrl-C", "killed"])
@pytest.mark.parametrize("workers", [1, 2])
def test_what_was_scored_is_kept(
    tmp_path: Path,
    sharp_turf: Image.Image,
    monkeypatch: pytest.MonkeyPatch,
    stop: str,
    workers: int,
) -> None:
    place, kept = tmp_path / "photos", tmp_path / "kept"
    place.mkdir()
    for number in range(MANY):
        turf = sharp_turf.copy()
        turf.paste((20 * number, 40, 40), (0, 0, 32, 32))
        turf.save(place / f"{number}.jpg", quality=85)
    code = textwrap.dedent(SCORING)
    command = [sys.executable, "-P", "-c", code, place, kept, stop, str(workers)]
    said = tmp_path / "said"
    with said.open("w") as told_to:  # a pipe would be held open by workers that are left
        done = subprocess.run(command, stdout=told_to, stderr=told_to, timeout=120, check=False)
    told = sum(line.isdigit() for line in said.read_text().splitlines())
    assert done.returncode != 0
    assert BEFORE <= told < MANY
    anew: list[object] = []

    def score(path: Path, *rest: Any) -> Any:
        anew.append(path)
        return score_file(path, *rest)

    monkeypatch.setattr("wintersward.photos.work.score_file", score)
    paths = sorted(place.iterdir())
    scores, problems = score_photos(paths, cache=kept, workers=1)
    assert 0 < len(anew) <= MANY - told
    assert (len(scores), problems) == (MANY, [])
    whole, _ = score_photos(paths, workers=1)
    assert scores.equals(whole)
