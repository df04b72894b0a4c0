"""What holds for every test."""

from __future__ import annotations

import gc
from collections.abc import Iterator

import pytest


def pytest_collection_finish() -> None:
    """Search for garbage seldom.

    Most tests read and draw with libraries of some hundred thousand objects, and a tenth of their
    time went into walking over these again and again.
    """
    _search()
    gc.set_threshold(100_000, 50, 100)


@pytest.fixture(scope="module", autouse=True)
def _left_behind() -> Iterator[None]:
    """Search after each module, so that a file which it left open is told there, as an error."""
    yield
    _search()


def _search() -> None:
    """Search for garbage, and leave what stays out of every later search."""
    gc.collect()
    gc.freeze()
