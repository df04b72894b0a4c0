from __future__ import annotations

from threadpoolctl import threadpool_info

from wintersward.models.threads import one_thread


def threads() -> list[int]:
    return [pool["num_threads"] for pool in threadpool_info() if pool["user_api"] == "blas"]


def test_one_thread_within_and_as_before_after() -> None:
    before = threads()
    assert before
    with one_thread():
        assert threads() == [1] * len(before)
    assert threads() == before


def test_as_a_decorator_again_and_again() -> None:
    limited = one_thread()(threads)
    assert set(limited()) == {1}
    assert set(limited()) == {1}
