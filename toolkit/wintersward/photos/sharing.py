"""A pile of photographs shared out among processes."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from typing import Protocol, TypeVar

__all__ = ["Sized", "shared_out"]

_WORTH_WORKERS_BYTES = 24_000_000
"""Least that is left to do before further processes are started; that alone takes a second."""

_IDLE_SECONDS = 20
"""How long a process waits for more photos; one whose kernel was killed ends by itself then."""


class Sized(Protocol):
    """A job that names its file."""

    @property
    def path(self) -> str | os.PathLike[str]:
        """The photo."""


JobT = TypeVar("JobT", bound=Sized)
OutcomeT = TypeVar("OutcomeT")


def shared_out(
    work: Callable[[JobT], OutcomeT], jobs: Sequence[JobT], workers: int | None = None
) -> Iterator[OutcomeT]:
    """Do jobs, each as soon as there is a process for it.

    Parameters
    ----------
    work : callable
        Does one job; it and the jobs can be sent to another process.
    jobs : sequence
        What is to be done.
    workers : int, optional
        Processes; left out, one a processor where there is enough to do.

    Yields
    ------
    object
        What came of each, in the order in which they end.
    """
    count = _worth(jobs) if workers is None else workers
    if count <= 1 or len(jobs) <= 1:
        yield from map(work, jobs)
        return
    from joblib import Parallel, delayed

    pool = Parallel(
        n_jobs=min(count, len(jobs)),
        batch_size=1,
        return_as="generator_unordered",
        idle_worker_timeout=_IDLE_SECONDS,
    )
    yield from pool(delayed(work)(job) for job in jobs)


def _worth(jobs: Sequence[Sized]) -> int:
    """Tell how many processes to work with: as many as this one may use, if it pays."""
    total = 0
    for job in jobs:
        try:
            total += os.stat(job.path).st_size
        except OSError:
            continue  # told when its turn comes
    if total < _WORTH_WORKERS_BYTES:
        return 1
    from joblib import cpu_count

    return int(cpu_count())
