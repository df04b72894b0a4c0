"""Arrangements: counted, listed once each, drawn evenly."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pytest

from wintersward.analysis.arrangements import (
    EXACT_UP_TO,
    Exchange,
    Square,
    deal_count,
    redraw_count,
    smallest_share,
    square_count,
)


def rows(made: np.ndarray) -> set[tuple[int, ...]]:
    return {tuple(row) for row in made.tolist()}


@pytest.mark.parametrize(
    ("labels", "groups", "count"),
    [
        ([0, 1] * 4, [0, 0, 1, 1, 2, 2, 3, 3], 16),
        ([0, 0, 0, 1, 1], [""] * 5, math.comb(5, 3)),
        ([0, 1, 2] * 2, [0, 0, 0, 1, 1, 1], 36),
        ([0, 1, 2, 0, 1, 2], [0, 0, None, 1, 1, None], 4),
        ([0, 1, 0], [0, 0, 1], 2),
    ],
)
def test_every_arrangement_is_listed_once(
    labels: list[int], groups: list[object], count: int
) -> None:
    exchange = Exchange(np.array(labels), groups)
    listed = np.concatenate(list(exchange.every(chunk=7)))
    assert exchange.count == count == len(listed) == len(rows(listed))
    assert tuple(labels) in rows(listed)
    for group in set(groups):
        members = [i for i, it in enumerate(groups) if it == group]
        kept = listed[:, members] if group is not None else listed[:, members] - labels[2]
        assert (np.sort(kept, axis=1) == np.sort(kept[0])).all()


def test_draws_are_even_and_repeat_from_their_seed() -> None:
    exchange = Exchange(np.array([0, 1, 0, 1, 1]), [0, 0, 1, 1, 1])
    drawn = np.concatenate(list(exchange.drawn(12_000, np.random.default_rng(1))))
    again = np.concatenate(list(exchange.drawn(12_000, np.random.default_rng(1))))
    assert (drawn == again).all()
    counted = Counter(map(tuple, drawn.tolist()))
    assert len(counted) == 6
    assert max(abs(many - 2000) for many in counted.values()) < 5 * math.sqrt(2000)


def test_whether_labels_fill_their_groups() -> None:
    assert Exchange(np.array([0, 1, 1, 0]), [0, 0, 1, 1]).full(2)
    assert not Exchange(np.array([0, 1, 1]), [0, 0, 1]).full(2)
    assert not Exchange(np.array([0, 1, 1]), [0, 0, 0]).full(2)


@pytest.mark.parametrize(("size", "count"), [(3, 12), (4, 576)])
def test_every_latin_square_is_listed_once(size: int, count: int) -> None:
    # 576 squares of order 4, 161280 of order 5, 812851200 of order 6: Fisher R. A., Yates F. (1934)
    # The 6 x 6 Latin squares, Proceedings of the Cambridge Philosophical Society 30 (from memory).
    square = Square(np.add.outer(np.arange(size), np.arange(size)) % size)
    listed = np.concatenate(list(square.every()))
    assert len(listed) == len(rows(listed)) == square.count == count
    for made in listed.reshape(-1, size, size):
        assert (np.sort(made, axis=0) == np.arange(size)[:, None]).all()
        assert (np.sort(made, axis=1) == np.arange(size)).all()
    drawn = np.concatenate(list(square.drawn(200 * count, np.random.default_rng(2))))
    counted = Counter(map(tuple, drawn.tolist()))
    assert set(counted) == rows(listed)
    assert max(abs(many - 200) for many in counted.values()) < 5 * math.sqrt(200)


def test_counts_of_larger_squares() -> None:
    assert square_count(5) == 161280
    assert square_count(6) == 812851200
    # 61479419904000 of order 7 (Sade 1948, from memory): what is told is not above it.
    assert square_count(7) < 61479419904000


def test_a_large_square_keeps_what_permuting_keeps() -> None:
    square = np.add.outer(np.arange(7), np.arange(7)) % 7
    for made in next(Square(square).drawn(20, np.random.default_rng(3))).reshape(-1, 7, 7):
        assert (np.sort(made, axis=0) == np.arange(7)[:, None]).all()
        # From one row of the shifting square to another is one cycle of length 7; so it stays.
        step = dict(zip(made[0].tolist(), made[1].tolist(), strict=True))
        at, passed = step[0], 1
        while at != 0:
            at, passed = step[at], passed + 1
        assert passed == 7


def test_a_square_of_which_plots_were_lost_keeps_their_places_out() -> None:
    seen = np.array([0, 1, 3, 4, 5, 6, 7, 8])
    square = np.add.outer(np.arange(3), np.arange(3)) % 3
    assert np.concatenate(list(Square(square, seen).every())).shape == (12, 8)
    assert not Square(square, seen).full
    assert Square(square).full


def test_counts() -> None:
    assert deal_count(2, [1] * 5) == 32
    assert deal_count(2, [3, 3]) == 400
    # Nine units, three of each of three treatments: 9! / 3!^3.
    assert deal_count(3, [3]) == 1680
    assert redraw_count(4, 3) == 24**3
    assert smallest_share(2) == 1.0
    assert Exchange(np.array([0, 1] * 15), [i // 2 for i in range(30)]).listable
    assert not Exchange(np.array([0, 1] * 16), [i // 2 for i in range(32)]).listable
    assert 2**15 < EXACT_UP_TO < 2**16
