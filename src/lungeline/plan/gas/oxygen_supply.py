"""Oxygen: what there is, how long it lasts on the circle, and whether that is enough."""

import math
from dataclasses import dataclass
from typing import Any

from lungeline.case import Case, Finding, Profile, Reasoned
from lungeline.physics.circle import steady_oxygen_fraction
from lungeline.physics.cylinders import endurance_whole_min
from lungeline.plan.derive import Reason, by_last_name, derived, number
from lungeline.plan.gas.cylinder_stock import CylinderStock, cylinder_stock
from lungeline.plan.gas.gas_demand import leak_in_use, least_flow, oxygen_use
from lungeline.plan.gas.gas_use import GasUse
from lungeline.plan.gas.oxygen_need import OxygenNeed, oxygen_need
from lungeline.reference import figure


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenSupply:
    """What there is against what is needed.

    oxygen_minutes: whole minutes on the circle from the cylinders connected, priming and recovery set aside,
    the reserve kept; None where a pipeline or concentrator gives it. all_minutes: with every cylinder listed,
    which stand by where they are not the source. enough: whether all that is there lasts for the job; None
    where it cannot be told.
    """

    need: OxygenNeed
    cylinders: tuple[CylinderStock, ...]
    oxygen_minutes: Reasoned
    all_minutes: Reasoned
    usable_l: Reasoned
    steady_oxygen_fraction: Reasoned
    balance: tuple[Reasoned, ...]
    enough: bool | None
    findings: tuple[Finding, ...] = ()

    @property
    def numbers(self) -> tuple[Reasoned, ...]:
        """Every number, those of single cylinders left out."""
        own = (self.oxygen_minutes, self.all_minutes, self.usable_l, self.steady_oxygen_fraction)
        return (*own, *self.need.numbers, *self.balance)

    def as_json(self) -> dict[str, Any]:
        """Return the supply as it stands in a plan."""
        cylinders = [each.as_json() for each in self.cylinders]
        return {**by_last_name(self.numbers), "cylinders": cylinders, "enough": self.enough}


def oxygen_supply(case: Case, profile: Profile, use: GasUse) -> OxygenSupply:
    """Return how long the oxygen lasts. Raises InputError for a cylinder of no known size."""
    need = oxygen_need(case, profile, use)
    draw = need.maintenance.l_min
    stock = tuple(
        cylinder_stock(case, profile, each, place, draw) for place, each in enumerate(case.cylinders, start=1)
    )
    from_cylinders = case.supply.oxygen == "cylinders"
    connected = tuple(each for each in stock if each.connected)
    every = _minutes("supplies.oxygen_all_minutes", stock, need)
    first = _minutes("supplies.oxygen_minutes", connected, need) if from_cylinders else _endless(case)
    expected_min = case.procedure.expected_min
    enough = _lasts(every, expected_min) if from_cylinders else None
    findings = [
        *(_short(case, stock, need, first, every) if from_cylinders else _stand_by(case, stock, every)),
        *_concentrator(case, profile, use, need),
        *(finding for each in stock for finding in each.findings),
    ]
    return OxygenSupply(
        need=need,
        cylinders=stock,
        oxygen_minutes=first,
        all_minutes=every,
        usable_l=_usable(stock),
        steady_oxygen_fraction=_steady(case, use),
        balance=(
            oxygen_use(case),
            leak_in_use(case, profile, use.peak_pressure_cmh2o),
            least_flow(case, profile, use.peak_pressure_cmh2o),
        ),
        enough=enough,
        findings=tuple(findings),
    )


def _minutes(name: str, stock: tuple[CylinderStock, ...], need: OxygenNeed) -> Reasoned:
    """Return whole minutes on the circle from these cylinders."""
    reason = Reason(
        formula="(usable - priming - recovery) ÷ draw, induction first; rounded down",
        parts=(
            *(each.usable_l for each in stock),
            need.priming_l,
            need.recovery_l,
            need.induction.l_min,
            need.maintenance.l_min,
        ),
        given={"induction_min": need.induction.lasts_min},
        note="Litres of the cylinder, at 15 °C and 1 atm, are counted as litres of the flowmeter: that errs "
        "on the short side when warmer, and higher up.",
    )
    if not stock:
        return derived(name, None, Reason(formula="no cylinder is listed", sources=("case",)))
    low, value, high = (
        _whole(need.minutes_of(sum(_part(each.usable_l, part) for each in stock)))
        for part in ("low", "value", "high")
    )
    return derived(name, value, reason, low=low, high=high)


def _part(reasoned: Reasoned, part: str) -> float:
    value = getattr(reasoned, part)
    return number(reasoned) if value is None else float(value)


def _whole(minutes: float) -> float | None:
    return float(endurance_whole_min(minutes, 0.0, 1.0)) if math.isfinite(minutes) else None


def _endless(case: Case) -> Reasoned:
    reason = Reason(
        formula="not from cylinders",
        given={"oxygen": case.supply.oxygen},
        sources=("case",),
        note="As long as the pipeline or the mains hold; see oxygen_all_minutes for the cylinders that "
        "stand by.",
    )
    return derived("supplies.oxygen_minutes", None, reason)


def _usable(stock: tuple[CylinderStock, ...]) -> Reasoned:
    name = "supplies.oxygen_usable_l"
    if not stock:
        return derived(name, None, Reason(formula="no cylinder is listed", sources=("case",)))
    low, value, high = (
        sum(_part(each.usable_l, part) for each in stock) for part in ("low", "value", "high")
    )
    reason = Reason(formula="sum of the cylinders", parts=tuple(each.usable_l for each in stock))
    return derived(name, value, reason, low=low, high=high)


def _lasts(minutes: Reasoned, expected_min: float) -> bool | None:
    if minutes.low is None:
        return None
    return minutes.low >= expected_min


def _told(case: Case, need: OxygenNeed, **more: float | None) -> dict[str, float | str | None]:
    return {
        "expected_min": case.procedure.expected_min,
        "recovery_min": case.procedure.recovery_min,
        "needed_l": need.needed_l.value,
        **more,
    }


def _short(
    case: Case, stock: tuple[CylinderStock, ...], need: OxygenNeed, first: Reasoned, every: Reasoned
) -> list[Finding]:
    """Return what is wrong with oxygen from cylinders, by the lower end of what they may hold."""
    about, expected_min = "supplies.oxygen_minutes", case.procedure.expected_min
    if not stock:
        told = _told(case, need)
        return [Finding(code="oxygen_no_cylinder", severity="stop", about=about, figures=told)]
    if every.low is None:
        return []
    content_l = sum(_part(each.content_l, "low") for each in stock)
    told = _told(case, need, oxygen_minutes=first.low, all_minutes=every.low, content_l=content_l)
    if need.minutes_of(content_l) < expected_min:
        return [Finding(code="oxygen_short", severity="stop", about=about, figures=told)]
    if every.low < expected_min:
        return [Finding(code="oxygen_cuts_reserve", severity="caution", about=about, figures=told)]
    found = []
    if first.low is None or first.low < expected_min:
        found.append(Finding(code="oxygen_change_cylinder", severity="advice", about=about, figures=told))
    margin = figure("limits.preuse.oxygen_endurance_multiple")
    if content_l < margin.value * number(need.needed_l):
        more = {**told, "margin_multiple": margin.value}
        found.append(Finding(code="oxygen_margin_thin", severity="advice", about=about, figures=more))
    return found


def _stand_by(case: Case, stock: tuple[CylinderStock, ...], every: Reasoned) -> list[Finding]:
    told: dict[str, float | str | None] = {
        "oxygen": case.supply.oxygen,
        "all_minutes": every.low,
        "expected_min": case.procedure.expected_min,
    }
    about = every.name
    if not stock:
        return [Finding(code="oxygen_no_stand_by", severity="advice", about=about, figures=told)]
    if every.low is not None and every.low < case.procedure.expected_min:
        return [Finding(code="oxygen_stand_by_short", severity="advice", about=about, figures=told)]
    return []


def _concentrator(case: Case, profile: Profile, use: GasUse, need: OxygenNeed) -> list[Finding]:
    if case.supply.oxygen != "concentrator":
        return []
    supply, found = case.supply, []
    flow_l_min = max(
        number(use.priming.flow_l_min), *(number(phase.fresh_gas_flow_l_min) for phase in use.schedule.phases)
    )
    told: dict[str, float | str | None] = {
        "flow_l_min": flow_l_min,
        "concentrator_l_min": supply.concentrator_l_min,
        "recovery_l_min": profile.recovery_oxygen_l_min,
        "oxygen_fraction": _steady(case, use).value,
        "wanted_fraction": profile.circle_oxygen_fraction,
    }
    about = "supply.concentrator_l_min"
    if max(flow_l_min, profile.recovery_oxygen_l_min) > supply.concentrator_l_min:
        found.append(
            Finding(code="concentrator_flow_exceeded", severity="caution", about=about, figures=told)
        )
    if number(need.drive_l) > 0.0:
        found.append(Finding(code="concentrator_cannot_drive", severity="stop", about=about, figures=told))
    steady = _steady(case, use).value
    if steady is None or steady < profile.circle_oxygen_fraction:
        found.append(
            Finding(code="concentrator_dilutes_circle", severity="caution", about=about, figures=told)
        )
    return found


def _steady(case: Case, use: GasUse) -> Reasoned:
    """Return the oxygen the circle ends at in maintenance."""
    maintenance, used = use.schedule.phases[-1], oxygen_use(case)
    flow, fraction = maintenance.fresh_gas_flow_l_min, maintenance.fresh_gas_oxygen_fraction
    reason = Reason(
        formula="(fresh gas × its oxygen - oxygen used) ÷ (fresh gas - oxygen used), agent left out",
        parts=(flow, fraction, used),
    )
    ends = [
        float(steady_oxygen_fraction(number(flow), number(fraction), _part(used, part)))
        for part in ("high", "value", "low")
    ]
    low, value, high = (each if math.isfinite(each) else None for each in ends)
    return derived("supplies.steady_oxygen_fraction", value, reason, low=low, high=high)
