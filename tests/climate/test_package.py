from __future__ import annotations

import wintersward.climate as climate


def test_every_public_name_loads_from_its_module() -> None:
    assert sorted(climate.__all__) == sorted(climate._HOMES)
    for name in climate.__all__:
        assert getattr(climate, name) is not None
