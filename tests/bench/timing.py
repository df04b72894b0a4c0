"""How the benches take and tell a time."""

from __future__ import annotations

import time
from collections.abc import Callable


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
