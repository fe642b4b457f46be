"""Why does measured differ from expected? Life threats first, then causes, then the one test that tells."""

from lungeline.explain.answer import Evidence, Explanation, RankedCause, proposal_finding
from lungeline.explain.assumed import Assumed, BedsideTest, Cause, assumed, assumed_from_tables, load_assumed
from lungeline.explain.explaining import explain
from lungeline.explain.measured import Measured, Observed, channels, measured, typed
from lungeline.explain.next_test import Proposal
from lungeline.explain.threats import Threats, threats

__all__ = [
    "Assumed",
    "BedsideTest",
    "Cause",
    "Evidence",
    "Explanation",
    "Measured",
    "Observed",
    "Proposal",
    "RankedCause",
    "Threats",
    "assumed",
    "assumed_from_tables",
    "channels",
    "explain",
    "load_assumed",
    "measured",
    "proposal_finding",
    "threats",
    "typed",
]
