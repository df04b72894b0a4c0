"""Papers for the field: sheets to fill in, lists to tick, and what is printed beside them."""

from __future__ import annotations

from typing import Any

from wintersward.lazy import load

_HOMES = {
    "PAPERS": "pages",
    "contact_sheet": "contact_sheets",
    "cover_log": "crew_lists",
    "crew_card": "crew_cards",
    "labels_page": "labels",
    "photo_lists": "shots",
    "pin_count": "crew_lists",
    "printable": "pages",
    "reference_books": "reference_spots",
    "short_id": "pages",
    "trial_calendar": "calendars",
    "visit_books": "visits",
    "visit_sheets": "visits",
}

__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    """Load a name from its module when it is first asked for."""
    return load(__name__, _HOMES, name)


def __dir__() -> list[str]:
    """List the public names."""
    return __all__
