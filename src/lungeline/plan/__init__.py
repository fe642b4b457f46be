"""What shall we set? Ventilation, spare gas, priming, supplies, drugs, waking; each number has its reason."""

from lungeline.plan.planning import Plan, make_plan
from lungeline.plan.preview import Answer, Preview

__all__ = ["Answer", "Plan", "Preview", "make_plan"]
