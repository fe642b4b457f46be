"""Filling the circle before the animal comes: flow, litres, minutes, agent, and how long it then keeps."""

import math
from dataclasses import dataclass, replace
from typing import Any

from lungeline.case import Case, Finding, Profile, Reasoned
from lungeline.plan.derive import Reason, by_last_name, derived, number
from lungeline.plan.gas.filling import Filling
from lungeline.plan.gas.keeping import keeping
from lungeline.plan.gas.priming_given import PrimingGiven, chosen_dial, priming_given, usual_dial
from lungeline.plan.gas.vaporiser import Vaporiser
from lungeline.reference import figure
from lungeline.units import convert

_MINUTES_PER_HOUR = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Priming:
    """A primed circle: what it takes, and how long it keeps. None in a number: it never comes to that.

    minutes: until the reservoir is full, and oxygen and a prefilled agent are where they should be.
    with_agent: the same with the vaporiser on, where the profile leaves it off.
    """

    minutes: Reasoned
    flow_l_min: Reasoned
    ceiling_l: Reasoned
    fill_minutes: Reasoned
    oxygen_minutes: Reasoned
    agent_minutes: Reasoned
    vaporiser_percent: Reasoned
    litres_l: Reasoned
    agent_liquid_ml: Reasoned
    oxygen_fraction: Reasoned
    agent_percent: Reasoned
    time_constant_minutes: Reasoned
    holding_flow_l_min: Reasoned
    keeps_plugged_minutes: Reasoned
    keeps_open_minutes: Reasoned
    with_agent: "Priming | None" = None
    findings: tuple[Finding, ...] = ()

    @property
    def numbers(self) -> tuple[Reasoned, ...]:
        """Every number of it, those of the option left out."""
        return (
            self.minutes,
            self.flow_l_min,
            self.ceiling_l,
            self.fill_minutes,
            self.oxygen_minutes,
            self.agent_minutes,
            self.vaporiser_percent,
            self.litres_l,
            self.agent_liquid_ml,
            self.oxygen_fraction,
            self.agent_percent,
            self.time_constant_minutes,
            self.holding_flow_l_min,
            self.keeps_plugged_minutes,
            self.keeps_open_minutes,
        )

    def as_json(self) -> dict[str, Any]:
        """Return the priming as it stands in a plan."""
        option = None if self.with_agent is None else self.with_agent.as_json()
        told = by_last_name(self.numbers)
        return {**told, "with_agent": option}


def priming(
    case: Case, profile: Profile, ceiling_l: float | None = None, flow_l_min: float | None = None
) -> Priming:
    """Return how to fill the circle with its port plugged, from what the case says is in it.

    Where the case says nothing the reservoir is empty and there is air in the circle.

    ceiling_l: content of the full reservoir, None for tidal volume and the spare to begin with.
    flow_l_min: by the flowmeters, None for the profile's.
    """
    primed = _primed(priming_given(case, profile, ceiling_l, flow_l_min, chosen_dial(profile)))
    if profile.priming_vaporiser_percent > 0.0:
        return primed
    option = _primed(priming_given(case, profile, ceiling_l, flow_l_min, usual_dial(case)))
    return replace(primed, with_agent=option)


def _primed(given: PrimingGiven) -> Priming:
    fill, oxygen, agent = _fill(given), _to_oxygen(given), _to_agent(given)
    minutes = _largest((fill, oxygen, agent) if number(given.vaporiser_percent) > 0.0 else (fill, oxygen))
    kept = keeping(given.case, given.profile, given.ceiling_l)
    return Priming(
        minutes=minutes,
        flow_l_min=given.flow_l_min,
        ceiling_l=given.ceiling_l,
        fill_minutes=fill,
        oxygen_minutes=oxygen,
        agent_minutes=agent,
        vaporiser_percent=given.vaporiser_percent,
        litres_l=_litres(given, minutes),
        agent_liquid_ml=_liquid(given, minutes),
        oxygen_fraction=_oxygen_then(given, minutes),
        agent_percent=_agent_then(given, minutes),
        time_constant_minutes=given.over_mixings(
            "priming.time_constant_minutes",
            lambda filling: filling.time_constant_min,
            "mixing number × (circle + full reservoir) ÷ (fresh gas - leak - sample)",
        ),
        holding_flow_l_min=kept.holding_flow_l_min,
        keeps_plugged_minutes=kept.keeps_plugged_minutes,
        keeps_open_minutes=kept.keeps_open_minutes,
        findings=(*_findings(given, (fill, oxygen, agent)), *kept.findings),
    )


def _fill(given: PrimingGiven) -> Reasoned:
    return given.over_mixings(
        "priming.fill_minutes",
        lambda filling: filling.fill_min,
        "(full reservoir - its content) ÷ (fresh gas - leak - sample)",
    )


def _to_oxygen(given: PrimingGiven) -> Reasoned:
    wanted = given.profile.circle_oxygen_fraction
    return given.over_mixings(
        "priming.oxygen_minutes",
        lambda filling: filling.time_to_min(given.start_oxygen_fraction, given.fresh_oxygen_fraction, wanted),
        f"until oxygen is {wanted:g}: balance while the reservoir fills, then time constant × ln of what "
        "is missing",
    )


def _to_agent(given: PrimingGiven) -> Reasoned:
    name = "priming.agent_minutes"
    if number(given.vaporiser_percent) <= 0.0:
        reason = Reason(formula="not prefilled", sources=("profile",), note="The vaporiser is left off.")
        return derived(name, None, reason)
    wanted = convert(number(given.wanted_percent), "percent", "fraction")
    return given.over_mixings(
        name,
        lambda filling: filling.time_to_min(given.start_agent_fraction, given.fresh_agent_fraction, wanted),
        "until the agent is what is wanted in alveolar gas: as for oxygen",
        (given.wanted_percent, given.vaporiser_percent),
    )


def _largest(due: tuple[Reasoned, ...]) -> Reasoned:
    name = "priming.minutes"
    reason = Reason(formula="the longest of those it waits for", parts=due)
    if any(each.value is None for each in due):
        return derived(name, None, replace(reason, note="One of them never comes to that."))
    value, low, high = (
        max(getattr(each, part) for each in due) for part in ("value", "low", "high")
    )  # fmt: skip
    return derived(name, value, reason, low=low, high=high)


def _litres(given: PrimingGiven, minutes: Reasoned) -> Reasoned:
    flow = number(given.flow_l_min)
    return _times("priming.litres_l", minutes, flow, "fresh gas × minutes", (minutes, given.flow_l_min))


def _liquid(given: PrimingGiven, minutes: Reasoned) -> Reasoned:
    vaporiser = Vaporiser.of(given.case)
    ml_h = vaporiser.liquid_ml_h(number(given.flow_l_min), number(given.vaporiser_percent))
    parts = (minutes, given.flow_l_min, given.vaporiser_percent, vaporiser.published("density_g_ml"))
    formula = "vapour in the fresh gas × minutes ÷ vapour of a millilitre"
    return _times("priming.agent_liquid_ml", minutes, ml_h / _MINUTES_PER_HOUR, formula, parts)


def _times(name: str, minutes: Reasoned, each_min: float, formula: str, parts: tuple[Any, ...]) -> Reasoned:
    if minutes.value is None or minutes.low is None or minutes.high is None:
        return derived(name, None, Reason(formula=formula, parts=parts, note="No end is in sight."))
    return derived(
        name,
        minutes.value * each_min,
        Reason(formula=formula, parts=parts),
        low=minutes.low * each_min,
        high=minutes.high * each_min,
    )


def _after(given: PrimingGiven, minutes: Reasoned, start: float, fresh: float) -> float:
    """Return a fraction in the circle once it is primed, or what it tends to."""
    if minutes.value is None:
        return given.filling.fraction_after(start, fresh, math.inf) if _ever_full(given.filling) else fresh
    return given.filling.fraction_after(start, fresh, minutes.value)


def _ever_full(filling: Filling) -> bool:
    return math.isfinite(filling.fill_min)


def _oxygen_then(given: PrimingGiven, minutes: Reasoned) -> Reasoned:
    value = _after(given, minutes, given.start_oxygen_fraction, given.fresh_oxygen_fraction)
    reason = Reason(formula="balance after these minutes", parts=(minutes, given.flow_l_min))
    return derived("priming.oxygen_fraction", value, reason)


def _agent_then(given: PrimingGiven, minutes: Reasoned) -> Reasoned:
    value = _after(given, minutes, given.start_agent_fraction, given.fresh_agent_fraction)
    reason = Reason(formula="balance after these minutes", parts=(minutes, given.vaporiser_percent))
    return derived("priming.agent_percent", convert(value, "fraction", "percent"), reason)


def _findings(given: PrimingGiven, due: tuple[Reasoned, Reasoned, Reasoned]) -> list[Finding]:
    fill, oxygen, agent = due
    told: dict[str, float | str | None] = {
        "flow_l_min": given.flow_l_min.value,
        "loss_l_min": given.filling.loss_l_min,
        "fresh_oxygen_fraction": given.fresh_oxygen_fraction,
        "wanted_oxygen_fraction": given.profile.circle_oxygen_fraction,
        "vaporiser_percent": given.vaporiser_percent.value,
        "wanted_percent": given.wanted_percent.value,
    }
    found = []
    if fill.value is None:
        found.append(Finding(code="priming_never_fills", severity="stop", about=fill.name, figures=told))
    elif oxygen.value is None:
        found.append(
            Finding(code="priming_oxygen_out_of_reach", severity="caution", about=oxygen.name, figures=told)
        )
    if number(given.vaporiser_percent) > 0.0 and agent.value is None and fill.value is not None:
        found.append(
            Finding(code="priming_agent_out_of_reach", severity="caution", about=agent.name, figures=told)
        )
    return [*found, *_mixing_finding(given, oxygen)]


def _mixing_finding(given: PrimingGiven, oxygen: Reasoned) -> list[Finding]:
    """Name the disagreement where the profile counts on faster mixing than was measured again."""
    published, taken = figure("circle.mixing_number").value, given.profile.mixing_number
    if taken >= published or oxygen.value is None or oxygen.high is None:
        return []
    told: dict[str, float | str | None] = {
        "mixing_number": taken,
        "published_number": published,
        "oxygen_minutes": oxygen.value,
        "oxygen_high_minutes": oxygen.high,
    }
    return [Finding(code="priming_mixing_disputed", severity="note", about=oxygen.name, figures=told)]
