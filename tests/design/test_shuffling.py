import itertools

import numpy as np
import pytest

from wintersward.design.shuffling import chooser, shuffled


@pytest.mark.parametrize("number", [2, 3, 4, 5])
def test_every_choice_makes_another_order(number):
    """n choices, n - 1, ..., 2 choices make n! sequences; each must give its own order."""
    made = []
    for choices in itertools.product(*(range(n) for n in range(number, 1, -1))):
        left = iter(choices)
        made.append(tuple(shuffled(range(number), lambda n, left=left: next(left))))
    assert sorted(made) == sorted(itertools.permutations(range(number)))


class Words:
    """Stands for a bit generator whose words are known."""

    def __init__(self, words):
        self.words = iter(words)

    def random_raw(self):
        return next(self.words)


def test_words_that_would_favour_small_numbers_are_passed_over():
    # 2**64 = 3 * 6148914691236517205 + 1: the last word alone is beyond a multiple of 3.
    below = chooser(Words([2**64 - 1, 2**64 - 2]))
    assert below(3) == 2
    # Of 4 every word is used, because 4 divides 2**64.
    assert chooser(Words([2**64 - 1]))(4) == 3


def test_words_are_those_of_pcg64_as_published():
    """Source: NumPy, numpy/random/tests/data/pcg64-testset-1.csv, seed 0xdeadbeaf."""
    published = [0x60D24054E17A0698, 0xD5E79D89856E4F12, 0xD254972FE64BD782]
    assert np.random.PCG64(0xDEADBEAF).random_raw(3).tolist() == published
