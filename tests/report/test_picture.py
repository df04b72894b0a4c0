from __future__ import annotations

import pytest
from matplotlib.figure import Figure

from wintersward.errors import WinterswardError
from wintersward.report.picture import Picture


def test_a_picture_needs_its_words() -> None:
    with pytest.raises(WinterswardError, match="no alternative text"):
        Picture("answer", Figure(), " ", "Caption.")
    assert Picture("answer", Figure(), "12 points", "Caption.").alt == "12 points"
