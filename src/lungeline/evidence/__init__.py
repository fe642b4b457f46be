"""How far the simulated animal can be believed: published studies, each done again in simulation."""

from lungeline.evidence.catalogue import COMPARISONS, GROUPS
from lungeline.evidence.comparison import Comparison, Direction, Result
from lungeline.evidence.page import evidence_page
from lungeline.evidence.run_all import run_all
from lungeline.evidence.shared_runs import Course, SharedRuns

__all__ = [
    "COMPARISONS",
    "GROUPS",
    "Comparison",
    "Course",
    "Direction",
    "Result",
    "SharedRuns",
    "evidence_page",
    "run_all",
]
