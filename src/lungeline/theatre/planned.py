"""What was given beside what was planned."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from lungeline.errors import InputError
from lungeline.record import CaseState, Item, checked_body

PLAN_SCHEMA = "lungeline.plan/1"
_DOSE_WORDS, _DOSE_NUMBERS = ("drug", "use", "route"), ("total_mg", "volume_ml")
_ROUNDING = 1.1  # a syringe is read to a tenth of its content; assumption


def plan_body(plan: object) -> dict[str, Any]:
    """Return what the record keeps of a plan given as JSON: the planned case, and its doses."""
    if not isinstance(plan, Mapping) or plan.get("schema") != PLAN_SCHEMA:
        raise InputError(
            where="plan",
            given=plan.get("schema") if isinstance(plan, Mapping) else type(plan).__name__,
            allowed=PLAN_SCHEMA,
            do="Write it with plan --json.",
        )
    try:
        case = {**plan["case"], "settings": plan["settings"], "changes": plan["changes"]}
        doses = [_dose(row) for row in plan["drugs"]]
    except (KeyError, TypeError, AttributeError) as error:
        raise InputError(
            where="plan",
            given=f"no {error}",
            allowed=f"a whole {PLAN_SCHEMA}",
            do="Write it with plan --json.",
        ) from None
    return dict(checked_body("plan", {"case": case, "doses": doses}))


def _dose(row: Mapping[str, Any]) -> dict[str, Any]:
    words = {name: str(row.get(name) or "") for name in _DOSE_WORDS}
    numbers = {name: _value(row.get(name)) for name in _DOSE_NUMBERS}
    return {**words, **{name: value for name, value in numbers.items() if value is not None}}


def _value(told: object) -> object:
    return told.get("value") if isinstance(told, Mapping) else told


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseBesidePlan:
    """One dose that was given, and the planned one it belongs to.

    planned_mg: None where the plan does not have the drug, or has no amount of it.
    in_plan: whether the plan has the drug at all. more: whether more was given than planned.
    """

    item: Item
    drug: str
    use: str
    given_mg: float | None
    planned_mg: float | None
    in_plan: bool

    @property
    def more(self) -> bool:
        """Whether more was given than planned, beyond what rounding explains."""
        known = self.given_mg is not None and self.planned_mg is not None
        return known and (self.given_mg or 0.0) > (self.planned_mg or 0.0) * _ROUNDING


def doses_beside_plan(state: CaseState) -> tuple[DoseBesidePlan, ...]:
    """Return every dose beside the plan that held when it was given; nothing where there was no plan."""
    plans = [item for item in state.items if item.kind == "plan" and not item.struck]
    drugs = [item for item in state.items if item.kind == "drug" and not item.struck]
    return tuple(_beside(item, planned) for item in drugs if (planned := _held(plans, item)) is not None)


def _held(plans: Sequence[Item], drug: Item) -> Sequence[Mapping[str, Any]] | None:
    """Return the doses of the last plan before a drug, of the first one where it came later."""
    told = [plan for plan in plans if plan.body.get("doses")]
    before = [plan for plan in told if plan.event_time <= drug.event_time]
    chosen = before[-1] if before else (told[0] if told else None)
    return None if chosen is None else chosen.body["doses"]


def _beside(item: Item, planned: Sequence[Mapping[str, Any]]) -> DoseBesidePlan:
    drug, use = item.body["drug"], item.body.get("use", "")
    given_mg = item.body.get("amount_mg")
    own = [dose for dose in planned if dose["drug"].casefold() == drug.casefold()]
    fitting = [dose for dose in own if dose.get("use") == use] if use else own
    amounts_mg = [dose["total_mg"] for dose in fitting if dose.get("total_mg") is not None]
    # without its use, a dose is held against the planned one it is nearest to
    nearest_mg = min(amounts_mg, key=lambda mg: abs(mg - (given_mg or 0.0)), default=None)
    return DoseBesidePlan(
        item=item, drug=drug, use=use, given_mg=given_mg, planned_mg=nearest_mg, in_plan=bool(own)
    )
