"""One Chromium for all tests, and the pages of one run of the example study."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

import wintersward
from browser.chromium import PICTURES, chromium
from e2e.example import EXAMPLE, copied
from report.briefs import all_pages
from wintersward.report.brief import brief_page
from wintersward.runs.freezing import freeze

FROZEN_AT = dt.datetime(2026, 1, 12, 14, 5, tzinfo=dt.UTC)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    PICTURES.mkdir(parents=True, exist_ok=True)
    with chromium() as started:
        yield started


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Run the example study, and freeze its plan in another folder in good time."""
    folder = tmp_path_factory.mktemp("pages")
    study = copied(folder / "study")
    wintersward.run(study)
    planned = folder / "planned"
    (planned / "plan").mkdir(parents=True)
    for name in ("trial.yaml", "plan/plots.csv"):
        shutil.copy(EXAMPLE / name, planned / name)
    freeze(planned, lambda: FROZEN_AT)
    return {
        "report": study / "report.html",
        "brief": study / "brief.html",
        "protocol": planned / "plan" / "frozen" / "protocol.html",
    }


@pytest.fixture(scope="session")
def briefs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Write a brief of every state of a study."""
    folder = tmp_path_factory.mktemp("briefs")
    made = {}
    for name, page in all_pages(folder / "shown").items():
        made[name] = folder / f"{name.replace(', ', '-').replace(' ', '_')}.html"
        made[name].write_text(brief_page(page), encoding="utf-8")
    return made
