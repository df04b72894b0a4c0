"""What a run holds of the frozen plan: when it was frozen, and what was changed since."""

from __future__ import annotations

import pandas as pd

from wintersward.analysis.results import empty
from wintersward.study import Trial

__all__ = ["freeze_tables"]


def freeze_tables(trial: Trial) -> dict[str, pd.DataFrame]:
    """Put the freeze of a trial, and every change since, into tables.

    Returns
    -------
    dict of str to DataFrame
        ``frozen``: one row, or none where the plan was never frozen. ``changes``: one row a
        line that is not as it was frozen, in the order of the definition.
    """
    frozen, damage = trial.frozen, "; ".join(str(problem) for problem in trial.freeze_problems)
    tables = {"frozen": empty("frozen"), "changes": empty("changes")}
    if damage:
        row = dict.fromkeys(tables["frozen"].columns, "") | {"damage": damage}
        tables["frozen"] = pd.DataFrame([row])
    if frozen is None:
        return tables
    row = {
        "frozen_at": frozen.frozen_at.isoformat(timespec="seconds"),
        "document": frozen.document,
        "version": frozen.version,
        "late": " and ".join(frozen.late),
        "damage": "",
    }
    tables["frozen"] = pd.DataFrame([row])
    rows = [
        (one.path, one.old, one.new, one.reason, ";".join(sorted(one.touches)))
        for one in trial.changes
    ]
    if rows:
        tables["changes"] = pd.DataFrame(rows, columns=list(tables["changes"].columns))
    return tables
