"""One thread for linear algebra while a model is fitted."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from contextlib import contextmanager

from threadpoolctl import ThreadpoolController

__all__ = ["one_thread"]


@functools.cache
def _controller() -> ThreadpoolController:
    return ThreadpoolController()


@contextmanager
def one_thread() -> Iterator[None]:
    """Limit the linear algebra libraries to one thread; a context or, called, a decorator.

    Notes
    -----
    Matrices here are small: more threads only wait for one another, and sums depend on how many
    there are.
    """
    with _controller().limit(limits=1, user_api="blas"):
        yield
