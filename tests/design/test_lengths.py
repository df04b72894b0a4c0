import pytest

from wintersward.design.lengths import bare_length, length, reader_length


@pytest.mark.parametrize(
    ("metres", "system", "text"),
    [
        (0.0, "us", "0 ft"),
        (-0.0001, "us", "0 ft"),
        (3.048, "us", "10 ft"),
        (0.1524, "us", "0.5 ft"),
        (30.48, "us", "100 ft"),
        (3.048, "metric", "3.05 m"),
        (100.0, "metric", "100 m"),
    ],
)
def test_lengths_as_a_reader_sees_them(metres, system, text):
    assert length(metres, system) == text
    assert bare_length(metres, system) == text.split()[0]


def test_reader_length_is_exact():
    assert reader_length(0.9144, "us") == pytest.approx(3.0, abs=1e-12)
