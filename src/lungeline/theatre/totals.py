"""What has been given and lost so far: single doses, infusions as far as they have run, fluids."""

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from lungeline.record import CaseState, Item
from lungeline.theatre.case_clock import minutes_between

_UG_IN_MG, _MINUTES_PER_HOUR = 1000.0, 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class InfusionSoFar:
    """An infusion up to now.

    amount_mg: as told when it was stopped, else from its rates and the weight; None where neither is known.
    volume_ml: from the rates of the pump; None where none was told. told: whether the amount was told.
    """

    drug: str
    running: bool
    minutes: float
    amount_mg: float | None
    volume_ml: float | None
    told: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """Sums so far. doses_mg: of single doses; untold_number: doses whose amount nobody told."""

    doses_mg: Mapping[str, float] = field(default_factory=dict)
    untold_number: Mapping[str, int] = field(default_factory=dict)
    infusions: tuple[InfusionSoFar, ...] = ()
    in_l: Mapping[str, float] = field(default_factory=dict)
    out_l: Mapping[str, float] = field(default_factory=dict)

    @property
    def balance_l(self) -> float:
        """What went in less what came out [L]."""
        return math.fsum(self.in_l.values()) - math.fsum(self.out_l.values())


def totals(state: CaseState, now: datetime) -> Totals:
    """Return the sums of a case up to a moment; what was struck out does not count."""
    kept = [item for item in state.items if not item.struck and item.event_time <= now]
    drugs = [item for item in kept if item.kind == "drug"]
    fluids = [item for item in kept if item.kind == "fluid"]
    untold: dict[str, int] = defaultdict(int)
    for item in drugs:
        if item.body.get("amount_mg") is None:
            untold[item.body["drug"]] += 1
    weight_kg = state.opening.get("weight_kg")
    return Totals(
        doses_mg=_sums(drugs, "drug", "amount_mg"),
        untold_number=dict(untold),
        infusions=_infusions([item for item in kept if item.kind == "infusion"], weight_kg, now),
        in_l=_sums((item for item in fluids if item.body["direction"] == "in"), "what", "volume_l"),
        out_l=_sums((item for item in fluids if item.body["direction"] == "out"), "what", "volume_l"),
    )


def _sums(items: Iterable[Item], by: str, amount: str) -> dict[str, float]:
    told: dict[str, list[float]] = defaultdict(list)
    for item in items:
        if item.body.get(amount) is not None:
            told[item.body[by]].append(item.body[amount])
    return {name: math.fsum(amounts) for name, amounts in told.items()}


def _infusions(items: Sequence[Item], weight_kg: float | None, now: datetime) -> tuple[InfusionSoFar, ...]:
    drugs = dict.fromkeys(item.body["drug"] for item in items)
    return tuple(
        _so_far([item for item in items if item.body["drug"] == drug], weight_kg, now) for drug in drugs
    )


def _so_far(items: Sequence[Item], weight_kg: float | None, now: datetime) -> InfusionSoFar:
    """Return one drug's infusion: a rate holds until the next entry of the drug."""
    ends = [*(item.event_time for item in items[1:]), now]
    spans = [
        (item, minutes_between(item.event_time, end))
        for item, end in zip(items, ends, strict=True)
        if item.body["action"] != "stop"
    ]
    stopped = items[-1].body["action"] == "stop"
    told = [item.body["amount_mg"] for item in items if item.body.get("amount_mg") is not None]
    by_rate = [_amount_mg(item, minutes, weight_kg) for item, minutes in spans]
    volumes = [_volume_ml(item, minutes) for item, minutes in spans]
    is_told = stopped and bool(told)
    return InfusionSoFar(
        drug=items[0].body["drug"],
        running=not stopped,
        minutes=math.fsum(minutes for _, minutes in spans),
        amount_mg=math.fsum(told) if is_told else _whole_sum(by_rate),
        volume_ml=_whole_sum(volumes),
        told=is_told,
    )


def _whole_sum(parts: Sequence[float | None]) -> float | None:
    """Return the sum, None where a part is unknown: a sum that lacks a part would mislead."""
    known = [part for part in parts if part is not None]
    return math.fsum(known) if parts and len(known) == len(parts) else None


def _amount_mg(item: Item, minutes: float, weight_kg: float | None) -> float | None:
    dose_ug_kg_min = item.body.get("dose_ug_kg_min")
    if dose_ug_kg_min is None or weight_kg is None:
        return None
    return float(dose_ug_kg_min * weight_kg * minutes / _UG_IN_MG)


def _volume_ml(item: Item, minutes: float) -> float | None:
    rate_ml_h = item.body.get("rate_ml_h")
    return None if rate_ml_h is None else float(rate_ml_h * minutes / _MINUTES_PER_HOUR)
