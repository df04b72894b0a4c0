"""Latin squares: every one of an order drawn as likely as any other."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from wintersward.design.shuffling import Below, shuffled

__all__ = ["latin_square", "reduced_squares", "walked"]

Square = tuple[tuple[int, ...], ...]
# Up to this order all reduced squares are listed (9408 of order 6); larger ones are walked to.
_LISTED = 6
# Moves of a walk for each cell of the cube of rows, columns and symbols.
_MOVES = 20


def latin_square(order: int, below: Below) -> Square:
    """Draw a Latin square.

    Parameters
    ----------
    order : int
        Number of rows, of columns and of symbols.
    below : callable
        ``below(n)`` returns one of 0 ... n - 1, each equally likely.

    Returns
    -------
    tuple of tuple of int
        Rows of symbols 0 ... order - 1.

    Notes
    -----
    Up to order 6: one of the reduced squares (first row and first column in their natural
    order), then the columns in a random order, then the rows below the first in a random order.
    Every Latin square arises from exactly one of these choices, so that all are equally likely.

    From order 7 on: the walk of Jacobson and Matthews, `walked`, then rows, columns and symbols
    in random orders. In the long run the walk is at every square equally often; that the
    20 moves for each cell are long enough is common practice, not proved.

    References
    ----------
    Fisher R. A., Yates F. (1934) The 6 x 6 Latin squares. Mathematical Proceedings of the
    Cambridge Philosophical Society 30(4), 492-507 (from memory).

    Jacobson M. T., Matthews P. (1996) Generating uniformly distributed random Latin squares.
    Journal of Combinatorial Designs 4(6), 405-437 (from memory).
    """
    if order <= _LISTED:
        listed = reduced_squares(order)
        square = listed[below(len(listed))]
        columns = shuffled(range(order), below)
        rows = [0, *shuffled(range(1, order), below)]
        return tuple(tuple(square[row][column] for column in columns) for row in rows)
    square = walked(order, below, _MOVES * order**3)
    rows, columns, symbols = (shuffled(range(order), below) for _ in range(3))
    return tuple(tuple(symbols[square[row][column]] for column in columns) for row in rows)


@cache
def reduced_squares(order: int) -> tuple[Square, ...]:
    """List the Latin squares whose first row and first column are in their natural order.

    Returns
    -------
    tuple of Square
        In the order of their rows, read as words.

    Examples
    --------
    >>> [len(reduced_squares(order)) for order in (2, 3, 4, 5)]
    [1, 1, 4, 56]
    """
    rows = [list(range(order)), *([first, *[-1] * (order - 1)] for first in range(1, order))]
    used = [{column} for column in range(order)]
    used[0] = set(range(order))
    found: list[Square] = []

    def fill(row: int, column: int) -> None:
        if row == order:
            found.append(tuple(map(tuple, rows)))
        elif column == order:
            fill(row + 1, 1)
        else:
            for symbol in range(order):
                if symbol not in used[column] and symbol not in rows[row][:column]:
                    rows[row][column] = symbol
                    used[column].add(symbol)
                    fill(row, column + 1)
                    used[column].remove(symbol)

    fill(1, 1)
    return tuple(found)


def walked(order: int, below: Below, moves: int) -> Square:
    """Walk at random from the cyclic square to another Latin square.

    Parameters
    ----------
    order : int
        Number of rows, of columns and of symbols.
    below : callable
        ``below(n)`` returns one of 0 ... n - 1, each equally likely.
    moves : int
        Moves before the walk ends at the next proper square.

    Notes
    -----
    A square is a cube of order**3 cells that hold 1 where a row and a column meet their symbol,
    else 0; every line of cells sums to 1. A move adds 1 to a cell that holds 0 and changes seven
    others so that the sums stay. One of them may come to hold -1: from such an improper square
    the next move begins at that cell. Proper and improper squares are all equally likely in the
    long run, and so are the proper ones among themselves (Jacobson and Matthews 1996).
    """
    every = range(order)
    cube = [[[int((r + c - s) % order == 0) for s in every] for c in every] for r in every]
    spot: tuple[int, int, int] | None = None
    while moves > 0 or spot is not None:
        row, column, symbol = spot or _empty(cube, order, below)
        # Where the lines through the cell hold 1: one place each, or two in an improper square.
        other_row = _one_of([r for r in every if cube[r][column][symbol] == 1], below)
        other_column = _one_of([c for c in every if cube[row][c][symbol] == 1], below)
        other_symbol = _one_of([s for s in every if cube[row][column][s] == 1], below)
        for r, at_row in ((row, 1), (other_row, -1)):
            for c, at_column in ((column, 1), (other_column, -1)):
                for s, at_symbol in ((symbol, 1), (other_symbol, -1)):
                    cube[r][c][s] += at_row * at_column * at_symbol
        far = other_row, other_column, other_symbol
        spot = far if cube[other_row][other_column][other_symbol] == -1 else None
        moves -= 1
    return tuple(tuple(cube[r][c].index(1) for c in every) for r in every)


def _empty(cube: list[list[list[int]]], order: int, below: Below) -> tuple[int, int, int]:
    """Choose a cell of a proper square that holds 0."""
    row, column = below(order), below(order)
    symbols = [s for s in range(order) if cube[row][column][s] == 0]
    return row, column, symbols[below(len(symbols))]


def _one_of(places: list[int], below: Callable[[int], int]) -> int:
    return places[below(len(places))] if len(places) > 1 else places[0]
