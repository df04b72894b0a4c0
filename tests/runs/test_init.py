from __future__ import annotations

import pytest

from wintersward import runs


@pytest.mark.parametrize("name", runs.__all__)
def test_every_public_name_is_there(name: str) -> None:
    assert getattr(runs, name) is not None
    assert name in dir(runs)


def test_any_other_name_is_not() -> None:
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = runs.nothing
