"""Why does measured differ from expected? Life threats, causes, the test that tells; fit, and look ahead."""

from lungeline.explain.answer import Evidence, Explanation, RankedCause, proposal_finding
from lungeline.explain.assumed import Assumed, BedsideTest, Cause, assumed, assumed_from_tables, load_assumed
from lungeline.explain.channel import channels
from lungeline.explain.explaining import Prepared, explain, prepare
from lungeline.explain.fitting import Fitted, FittedNumber, fit
from lungeline.explain.looking_ahead import Choice, Outlook, look_ahead
from lungeline.explain.measured import Measured, Observed, measured, typed
from lungeline.explain.next_test import Proposal
from lungeline.explain.quiet import Raised, Watcher
from lungeline.explain.threats import Threats, threats

__all__ = [
    "Assumed",
    "BedsideTest",
    "Cause",
    "Choice",
    "Evidence",
    "Explanation",
    "Fitted",
    "FittedNumber",
    "Measured",
    "Observed",
    "Outlook",
    "Prepared",
    "Proposal",
    "Raised",
    "RankedCause",
    "Threats",
    "Watcher",
    "assumed",
    "assumed_from_tables",
    "channels",
    "explain",
    "fit",
    "load_assumed",
    "look_ahead",
    "measured",
    "prepare",
    "proposal_finding",
    "threats",
    "typed",
]
