import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from wintersward.design.lettering import (
    FONT,
    LEGIBLE,
    fitted,
    lacking,
    short_codes,
    text_width,
    wrapped,
)

FULL = {"101": ["spun-bond", "hollow"], "102": ["open", "solid"]}
JOINED = {"101": ["spun-bond, hollow"], "102": ["open, solid"]}
CODES = {"101": ["s h"], "102": ["o s"]}
CHOICES = [FULL, JOINED, CODES]


def _fit(inside, whole):
    lettering = fitted(CHOICES, inside, whole)
    return lettering.choice, lettering.upright, lettering.fits


def test_words_stand_inside_what_is_sampled_where_they_can():
    assert fitted(CHOICES, (200, 100), (220, 120)).size == 8.0
    assert _fit((200, 100), (220, 120)) == (0, False, True)


def test_narrow_plots_have_upright_words_and_flat_ones_a_single_line():
    assert _fit((10, 100), (25, 110)) == (0, True, True)
    assert _fit((100, 10), (110, 18)) == (1, False, True)


def test_small_plots_have_codes_and_smaller_ones_are_said_not_to_fit():
    assert _fit((10, 10), (20, 18)) == (2, False, True)
    lettering = fitted(CHOICES, (1, 1), (8, 8))
    assert not lettering.fits
    assert lettering.size < LEGIBLE


def test_letters_that_fit_really_are_no_wider_than_the_plot():
    for whole in ((30, 40), (60, 40), (45, 90)):
        lettering = fitted(CHOICES, (1, 1), whole)
        lines = [line for lines in CHOICES[lettering.choice].values() for line in lines]
        room = whole[1] if lettering.upright else whole[0]
        assert max(text_width(line, lettering.size) for line in lines) <= room


def test_width_grows_with_size_and_weight_and_takes_a_dollar_sign_as_text():
    assert text_width("woven", 12) > text_width("woven", 6) > 0
    assert text_width("woven", 12, bold=True) > text_width("woven", 12)
    assert text_width("$a$", 12) > text_width("a", 12) * 2
    assert text_width("", 12) == 0


def test_width_is_that_of_the_drawn_text():
    figure = Figure()
    renderer = FigureCanvasAgg(figure).get_renderer()
    for bold in (False, True):
        weight = "bold" if bold else "normal"
        text = figure.text(0, 0, "Block 12", fontsize=40, family=FONT, weight=weight)
        drawn = text.get_window_extent(renderer).width * 72 / figure.dpi
        assert text_width("Block 12", 40, bold) == pytest.approx(drawn, rel=0.02)


def test_characters_that_the_font_lacks_are_listed_once_and_measured_without_a_warning():
    assert lacking("\u51ac Süß · \u51ac\n\u96ea") == ["\u51ac", "\u96ea"]
    assert lacking("Block 12", bold=True) == []
    assert text_width("\u51ac", 12) > 0


def test_codes_tell_levels_apart():
    codes = short_codes(["open", "fleece", "foam", "foam2"])
    assert len(set(codes.values())) == 4
    assert codes["open"] == "o"
    assert codes["fleece"] == "fl"


def test_wrapped_lines_keep_to_their_room():
    pieces = ["All", "plots", "lie", "on", "sixty-four", "feet", "by", "forty-six"]
    lines = wrapped(pieces, 8, 90)
    assert " ".join(lines).split() == pieces
    assert len(lines) > 1
    assert all(text_width(line, 8) <= 90 for line in lines)
