"""What shall we set? Ventilation, spare gas, priming, supplies, drugs, waking; each number has its reason."""

from lungeline.plan.planning import Plan, make_plan

__all__ = ["Plan", "make_plan"]
