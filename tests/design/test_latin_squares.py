"""Latin squares: how many there are, and that each is drawn as often as any other."""

import itertools
from collections import Counter

import numpy as np
import pytest
from scipy import stats

from wintersward.design.latin_squares import latin_square, reduced_squares, walked
from wintersward.design.shuffling import chooser

# Fisher and Yates (1934) counted those of order 6; OEIS A000315, from memory.
REDUCED = {2: 1, 3: 1, 4: 4, 5: 56, 6: 9408}


def _is_latin(square):
    every = set(range(len(square)))
    return all(set(line) == every for line in (*square, *zip(*square, strict=True)))


def _intercalates(square):
    """Count the subsquares of two rows, two columns and two symbols."""
    pairs = list(itertools.combinations(range(len(square)), 2))
    return sum(
        square[a][c] == square[b][d] and square[a][d] == square[b][c]
        for a, b in pairs
        for c, d in pairs
    )


@pytest.mark.parametrize("order", REDUCED)
def test_reduced_squares_are_all_listed_once_and_in_order(order):
    squares = reduced_squares(order)
    assert len(squares) == len(set(squares)) == REDUCED[order]
    assert list(squares) == sorted(squares)
    natural = tuple(range(order))
    for square in squares:
        assert square[0] == natural == tuple(row[0] for row in square)
        assert _is_latin(square)


@pytest.mark.parametrize(("order", "number"), [(3, 12), (4, 576)])
def test_all_choices_together_make_every_square_once(order, number):
    """12 and 576 Latin squares of orders 3 and 4 (OEIS A002860, from memory)."""
    made = {
        tuple(tuple(square[r][c] for c in columns) for r in (0, *rows))
        for square in reduced_squares(order)
        for columns in itertools.permutations(range(order))
        for rows in itertools.permutations(range(1, order))
    }
    assert len(made) == number
    assert len(made) == REDUCED[order] * _factorial(order) * _factorial(order - 1)


def _factorial(number):
    return int(np.prod(range(1, number + 1)))


@pytest.mark.parametrize(("order", "cells"), [(3, 12), (4, 576)])
def test_every_square_is_drawn_as_often_as_any_other(order, cells):
    below = chooser(np.random.PCG64(20260119))
    drawn = Counter(latin_square(order, below) for _ in range(20 * cells))
    assert len(drawn) == cells
    assert 0.001 < stats.chisquare(list(drawn.values())).pvalue < 0.999


def test_squares_of_order_five_fall_on_their_reduced_forms_evenly():
    below = chooser(np.random.PCG64(20260119))
    drawn = Counter(_reduced(latin_square(5, below)) for _ in range(56 * 40))
    assert set(drawn) == set(reduced_squares(5))
    assert 0.001 < stats.chisquare(list(drawn.values())).pvalue < 0.999


def _reduced(square):
    """Put the columns in the order of the first row, then the rows in that of the first column."""
    order = sorted(range(len(square)), key=lambda column: square[0][column])
    return tuple(sorted(tuple(row[column] for column in order) for row in square))


@pytest.mark.parametrize("order", range(2, 9))
def test_squares_of_every_order_are_latin(order):
    below = chooser(np.random.PCG64(7))
    square = latin_square(order, below)
    assert len(square) == order
    assert _is_latin(square)
    assert latin_square(order, chooser(np.random.PCG64(7))) == square
    assert len({latin_square(order, below) for _ in range(4)}) > 1


def test_the_walk_is_at_every_square_as_often():
    """Twelve squares of order 3; the walk begins at the cyclic one."""
    below = chooser(np.random.PCG64(20260119))
    drawn = Counter(walked(3, below, 40) for _ in range(1200))
    assert len(drawn) == 12
    assert 0.001 < stats.chisquare(list(drawn.values())).pvalue < 0.999


def test_the_walk_meets_squares_without_subsquares_as_often_as_they_are():
    """Of the 56 reduced squares of order 5, six hold no subsquare of order 2."""
    without = [_intercalates(square) == 0 for square in reduced_squares(5)]
    assert sum(without) == 6
    below = chooser(np.random.PCG64(20260119))
    found = sum(_intercalates(walked(5, below, 375)) == 0 for _ in range(500))
    low, high = stats.binom.ppf([5e-4, 1 - 5e-4], 500, 6 / 56)
    assert low <= found <= high


def test_the_walk_ends_at_a_proper_square_whatever_its_length():
    below = chooser(np.random.PCG64(1))
    for moves in range(1, 200):
        assert _is_latin(walked(7, below, moves))
