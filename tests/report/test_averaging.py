from __future__ import annotations

import pandas as pd

from wintersward.report.averaging import over_words
from wintersward.trial import Definition


def test_two_factors_that_begin_together_are_one_sentence(definition: Definition) -> None:
    days = ["2026-03-24", "2026-04-04", "2026-04-04", "2026-04-17"]
    rows = pd.DataFrame({"date": days, "effect": ["cover", "cover", "aeration", "cover"]})
    what = "differences of {name} are"
    assert over_words(rows, definition, what) == (
        " From 4 April 2026 on, each factor is averaged over the other."
    )
    one = rows[rows["effect"] == "cover"]
    assert over_words(one, definition, what) == (
        " From 4 April 2026 on, differences of cover are averaged over aeration treatments."
    )
    assert over_words(one.iloc[:1], definition, what) == ""
    apart = rows.assign(date=["2026-03-24", "2026-04-04", "2026-04-17", "2026-04-17"])
    assert over_words(apart, definition, "{name} treatments are") == (
        " From 4 April 2026 on, cover treatments are averaged over aeration treatments. From 17 "
        "April 2026 on, aeration treatments are averaged over cover treatments."
    )
    assert over_words(rows.assign(within="cover=open"), definition, what) == ""
    assert over_words(rows.assign(effect="cover:aeration"), definition, what) == ""
