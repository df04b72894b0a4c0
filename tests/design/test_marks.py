import itertools

import pytest
from matplotlib.colors import to_rgb
from matplotlib.markers import MarkerStyle

from wintersward.design import treatment_marks
from wintersward.errors import WinterswardError

LEVELS = ["open", *(f"cover{i}" for i in range(9))]
# Okabe and Ito (2008), Color Universal Design, the eight colours less black.
OKABE_ITO = {
    (230, 159, 0),
    (86, 180, 233),
    (0, 158, 115),
    (240, 228, 66),
    (0, 114, 178),
    (213, 94, 0),
    (204, 121, 167),
}


def _luminance(colour):
    """Relative luminance, Web Content Accessibility Guidelines 2.2, of a grey print."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _lightness(colour):
    """CIE 1976 lightness L* of a colour."""
    return 116 * _luminance(colour) ** (1 / 3) - 16


def test_control_is_grey_and_the_others_are_of_the_published_set():
    marks = treatment_marks(LEVELS[:8], "open")
    red, green, blue = to_rgb(marks["open"].colour)
    assert red == green == blue
    others = {tuple(round(c * 255) for c in to_rgb(marks[level].colour)) for level in LEVELS[1:8]}
    assert others == OKABE_ITO


def test_first_three_differ_in_a_grey_print():
    marks = treatment_marks(["open", "fleece", "woven"], "open").values()
    for one, other in itertools.combinations(marks, 2):
        assert abs(_lightness(one.colour) - _lightness(other.colour)) > 10


def test_no_two_treatments_look_alike():
    marks = treatment_marks(LEVELS, "open")
    assert list(marks) == LEVELS
    assert len({(mark.colour, mark.marker) for mark in marks.values()}) == len(LEVELS)
    for mark in marks.values():
        assert MarkerStyle(mark.marker).is_filled()


def test_position_of_the_control_does_not_matter():
    first = treatment_marks(["open", "fleece", "woven"], "open")
    last = treatment_marks(["fleece", "woven", "open"], "open")
    assert first == last
    assert list(last) == ["fleece", "woven", "open"]


def test_a_second_factor_takes_other_marks():
    first = treatment_marks(["open", "fleece", "woven"], "open")
    second = treatment_marks(["solid", "hollow"], "solid", used=first.values())
    third = treatment_marks(["a", "b"], "a", used=[*first.values(), *second.values()])
    marks = [*first.values(), *second.values(), *third.values()]
    assert len({mark.colour for mark in marks}) == len(marks)
    assert len({mark.marker for mark in marks}) == len(marks)
    for control in (second["solid"], third["a"]):
        assert len(set(to_rgb(control.colour))) == 1


def test_black_words_stand_out_on_every_tint():
    for mark in treatment_marks(LEVELS[:8], "open").values():
        # 7:1 is the enhanced contrast of the same guidelines.
        assert (_luminance(mark.tint) + 0.05) / 0.05 > 7


def test_unknown_control_is_refused():
    with pytest.raises(WinterswardError) as caught:
        treatment_marks(["open", "fleece"], "opn")
    assert str(caught.value) == (
        "the control 'opn' is not a level; allowed: open, fleece; did you mean open?"
    )
