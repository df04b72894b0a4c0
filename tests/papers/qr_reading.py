"""A reader of small QR codes, written from the standard, to read back what a page shows.

ISO/IEC 18004:2015 (QR Code bar code symbology specification): function patterns (6.3), data
placement (7.7.3), masks (7.8.2, table 10), format information (7.9), byte mode (7.4.5), codewords
(table 9). Only versions 1 to 3 with one block of data; errors are not corrected: a page has none.
"""

from __future__ import annotations

import re

# Data codewords of one block, by version and level (table 9).
DATA = {
    1: {"L": 19, "M": 16, "Q": 13, "H": 9},
    2: {"L": 34, "M": 28, "Q": 22, "H": 16},
    3: {"L": 55, "M": 44},
}
LEVELS = {0b01: "L", 0b00: "M", 0b11: "Q", 0b10: "H"}
MASKS = (
    lambda i, j: (i + j) % 2 == 0,
    lambda i, j: i % 2 == 0,
    lambda i, j: j % 3 == 0,
    lambda i, j: (i + j) % 3 == 0,
    lambda i, j: (i // 2 + j // 3) % 2 == 0,
    lambda i, j: i * j % 2 + i * j % 3 == 0,
    lambda i, j: (i * j % 2 + i * j % 3) % 2 == 0,
    lambda i, j: ((i + j) % 2 + i * j % 3) % 2 == 0,
)
FORMAT_MASK = 0b101010000010010


def modules(view_box: str, path: str) -> tuple[list[list[bool]], int]:
    """Turn the picture of a code into dark modules, and tell how wide its white margin is."""
    side = int(view_box.split()[2])
    dark = set()
    x = y = 0.0
    for command, numbers in re.findall(r"([Mmh])([-\d. ]+)", path):
        given = [float(one) for one in re.findall(r"-?\d*\.?\d+", numbers)]
        if command == "h":
            dark |= {(int(y), int(x) + step) for step in range(int(given[0]))}
            x += given[0]
        elif command == "M":
            x, y = given
        else:
            x, y = x + given[0], y + given[1]
    margin = min(row for row, _ in dark)
    assert margin == min(column for _, column in dark)
    size = side - 2 * margin
    places = range(margin, margin + size)
    return [[(row, column) in dark for column in places] for row in places], margin


def text_of(code: list[list[bool]]) -> str:
    """Read the text of a code in byte mode."""
    size = len(code)
    version = (size - 17) // 4
    assert size == 17 + 4 * version
    level, mask = _format(code)
    bits = [code[i][j] != MASKS[mask](i, j) for i, j in _walk(size) if not _function(i, j, size)][
        : 8 * DATA[version][level]
    ]
    number = int("".join("01"[bit] for bit in bits), 2)
    length = len(bits)

    def take(first: int, count: int) -> int:
        return number >> (length - first - count) & ((1 << count) - 1)

    assert take(0, 4) == 0b0100, "byte mode"
    return bytes(take(12 + 8 * at, 8) for at in range(take(4, 8))).decode("utf-8")


def _format(code: list[list[bool]]) -> tuple[str, int]:
    """Read the level and the mask, and check them against their second copy."""
    size = len(code)
    along = [*((8, j) for j in (0, 1, 2, 3, 4, 5, 7, 8)), *((i, 8) for i in (7, 5, 4, 3, 2, 1, 0))]
    copy = [*((size - 1 - i, 8) for i in range(7)), *((8, size - 8 + j) for j in range(8))]
    first, second = (
        int("".join("01"[code[i][j]] for i, j in places), 2) ^ FORMAT_MASK
        for places in (along, copy)
    )
    assert first == second
    return LEVELS[first >> 13], first >> 10 & 0b111


def _function(i: int, j: int, size: int) -> bool:
    """Tell whether a module belongs to a pattern and not to the data."""
    if i == 6 or j == 6:
        return True
    if (i < 9 and (j < 9 or j >= size - 8)) or (i >= size - 8 and j < 9):
        return True
    middle = size - 7
    return size > 21 and abs(i - middle) <= 2 and abs(j - middle) <= 2


def _walk(size: int) -> list[tuple[int, int]]:
    """Go over the modules as data are placed: pairs of columns from the right, up and down."""
    way = []
    rights = [j for j in range(size - 1, 0, -2) if j > 6] + [5, 3, 1]
    for at, right in enumerate(rights):
        rows = range(size - 1, -1, -1) if at % 2 == 0 else range(size)
        way += [(i, j) for i in rows for j in (right, right - 1)]
    return way
