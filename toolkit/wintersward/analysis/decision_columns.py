"""Columns of the tables that turn results into decisions."""

from __future__ import annotations

from wintersward.analysis.columns import Table
from wintersward.analysis.decision_columns_aeration import AERATION
from wintersward.analysis.decision_columns_budget import BUDGET, NEXT_TRIAL
from wintersward.analysis.decision_columns_readiness import READINESS, TIMING
from wintersward.analysis.decision_columns_recovery import RECOVERY

__all__ = ["DECIDED"]

DECIDED: dict[str, Table] = {
    **READINESS,
    **TIMING,
    **RECOVERY,
    **AERATION,
    **BUDGET,
    **NEXT_TRIAL,
}
"""Tables of the stage on decisions, by name."""
