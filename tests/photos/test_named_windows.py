from typing import get_args

import numpy as np

from wintersward.photos.colour import GREEN, green_mask
from wintersward.photos.named_windows import NAMED_WINDOWS, RICHARDSON_2001
from wintersward.trial.schema import WindowName


def test_a_definition_may_use_every_name():
    assert list(get_args(WindowName)) == list(NAMED_WINDOWS)


def test_every_window_says_where_its_limits_come_from():
    assert NAMED_WINDOWS["default"].window == GREEN
    assert "no published source" in NAMED_WINDOWS["default"].source
    for name, (window, source) in NAMED_WINDOWS.items():
        assert window.hash() not in {
            other.window.hash() for key, other in NAMED_WINDOWS.items() if key != name
        }
        assert "no published source" in source or "doi:10." in source


def test_the_window_of_2001_holds_its_own_limits_and_nothing_beyond():
    """Hue in degrees by hand, red or blue 0: 60 R / G where green is largest and blue is 0."""
    window, source = NAMED_WINDOWS["richardson 2001"]
    assert window == RICHARDSON_2001
    assert "from memory" in source
    yellow = [(200, 189, 0), (200, 190, 0), (200, 191, 0)]  # 56.7, 57.0, 57.3
    bluish = [(52, 240, 0), (0, 240, 0), (60, 240, 200)]  # 107, 120, 166.7
    found = green_mask(np.array(yellow + bluish, dtype=np.uint8), window)
    assert found.tolist() == [False, True, True, True, False, False]
    # Grey leaves no hue; pale and dark greens count alike.
    pale = np.array([(90, 90, 90), (250, 253, 249), (3, 4, 2)], dtype=np.uint8)
    assert green_mask(pale, window).tolist() == [False, True, True]
