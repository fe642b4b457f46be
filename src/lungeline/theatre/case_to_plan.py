"""What a recorded case already says of the animal to plan for."""

from typing import Any

from lungeline.record import CaseState

_OF_ANIMAL = ("species", "weight_kg", "position", "age_years")
# What the machine and the circle are does not change between two plans of one case.
_KEPT = ("equipment", "place", "procedure", "supply", "cylinders")


def case_to_plan(state: CaseState) -> dict[str, Any]:
    """Return tables of a case: of the plan kept last, and over them what the opening tells of the animal."""
    opening = state.opening
    kept = _last_plan(state)
    animal = {**kept.get("animal", {}), **{key: opening[key] for key in _OF_ANIMAL if opening.get(key)}}
    title = " – ".join(str(opening[key]) for key in ("name", "procedure") if opening.get(key))
    return {"title": title, "animal": animal, **{name: kept[name] for name in _KEPT if name in kept}}


def _last_plan(state: CaseState) -> dict[str, Any]:
    plans = [item for item in state.items if item.kind == "plan" and not item.struck]
    return {name: _said(part) for name, part in plans[-1].body["case"].items()} if plans else {}


def _said(part: Any) -> Any:  # noqa: ANN401  any value of JSON
    """Return a part of a case without what nobody said."""
    if isinstance(part, list):
        return [_said(each) for each in part]
    return {key: each for key, each in part.items() if each is not None} if isinstance(part, dict) else part
