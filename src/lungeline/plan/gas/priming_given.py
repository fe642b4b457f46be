"""What a circle is primed with: flow, ceiling, dial, what is in it before, and what is wanted in it."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import isfinite

from lungeline.case import Case, Profile, Reasoned
from lungeline.plan.derive import Part, Reason, derived, number
from lungeline.plan.gas.filling import Filling
from lungeline.plan.gas.keeping import loss_at_rest_l_min
from lungeline.plan.gas.vaporiser import Vaporiser, wanted_percent
from lungeline.reference import figure
from lungeline.units import convert

_ISOFLURANE = "isoflurane"
# Time constants printed in 2005, over volume / flow. The same gas analysed again in 2012 gives 1.1.
SOLANO2005_MIXING_NUMBER = 0.73


@dataclass(frozen=True, slots=True, kw_only=True)
class PrimingGiven:
    """The filling at the profile's mixing, and the fractions of oxygen and agent: now, fresh, wanted."""

    case: Case
    profile: Profile
    filling: Filling
    flow_l_min: Reasoned
    ceiling_l: Reasoned
    vaporiser_percent: Reasoned
    wanted_percent: Reasoned

    @property
    def fresh_agent_fraction(self) -> float:
        """Agent in the fresh gas."""
        return Vaporiser.of(self.case).delivered_fraction(number(self.vaporiser_percent))

    @property
    def fresh_oxygen_fraction(self) -> float:
        """Oxygen in the fresh gas, what the agent leaves room for."""
        set_fraction, supply = self.case.settings.fresh_gas_oxygen_fraction, self.case.supply
        if supply.oxygen == "concentrator":
            set_fraction = min(set_fraction, supply.concentrator_oxygen_fraction)
        return set_fraction * (1.0 - self.fresh_agent_fraction)

    @property
    def start_oxygen_fraction(self) -> float:
        """Oxygen in the circle before: air where nothing else was said."""
        told = self.case.start.circle_oxygen_fraction
        return figure("atmosphere.oxygen_fraction").value if told is None else told

    @property
    def start_agent_fraction(self) -> float:
        """Agent in the circle before."""
        return convert(self.case.start.circle_agent_percent or 0.0, "percent", "fraction")

    def over_mixings(
        self, name: str, told: Callable[[Filling], float], formula: str, parts: tuple[Part, ...] = ()
    ) -> Reasoned:
        """Return a number at the profile's mixing, its range over the published ones; None where infinite."""
        published = figure("circle.mixing_number")
        mixings = (self.profile.mixing_number, published.value, SOLANO2005_MIXING_NUMBER)
        value, *others = (told(replace(self.filling, mixing_number=each)) for each in mixings)
        endless = not isfinite(value)
        reason = Reason(
            formula=formula,
            parts=(self.flow_l_min, self.ceiling_l, published, *parts),
            given={
                "mixing_number": self.profile.mixing_number,
                "circle_volume_l": self.filling.circle_volume_l,
                "content_l": self.filling.content_l,
                "loss_l_min": self.filling.loss_l_min,
            },
            sources=("solano2005", "profile"),
            note="It never comes to that." if endless else "Range: the published mixing numbers.",
        )
        if endless:
            return derived(name, None, reason)
        return derived(name, value, reason, low=min(value, *others), high=max(value, *others))


def priming_given(
    case: Case, profile: Profile, ceiling_l: float | None, flow_l_min: float | None, dial: Reasoned
) -> PrimingGiven:
    """Return what a circle is primed with; None for the profile's flow, or the spare to begin with."""
    flow, ceiling = _flow(profile, flow_l_min), _ceiling(case, profile, ceiling_l)
    agent_fraction = Vaporiser.of(case).delivered_fraction(number(dial))
    filling = Filling(
        flow_l_min=number(flow) / (1.0 - agent_fraction),
        loss_l_min=loss_at_rest_l_min(case),
        circle_volume_l=case.equipment.circle_volume_l,
        content_l=min(case.start.reservoir_content_l or 0.0, number(ceiling)),
        ceiling_l=number(ceiling),
        mixing_number=profile.mixing_number,
    )
    return PrimingGiven(
        case=case,
        profile=profile,
        filling=filling,
        flow_l_min=flow,
        ceiling_l=ceiling,
        vaporiser_percent=dial,
        wanted_percent=wanted_percent(case, profile),
    )


def chosen_dial(profile: Profile) -> Reasoned:
    """Return the profile's dial while priming."""
    reason = Reason(formula="as chosen", sources=("profile",))
    return derived("priming.vaporiser_percent", profile.priming_vaporiser_percent, reason)


def usual_dial(case: Case) -> Reasoned:
    """Return the dial of common practice: said of isoflurane, in proportion to MAC for other agents."""
    usual = figure(f"defaults.{case.animal.species}.vaporiser_priming_isoflurane_percent")
    mac, of_isoflurane = (
        figure(f"agents.{agent}.mac_{case.animal.species}_percent")
        for agent in (case.settings.agent, _ISOFLURANE)
    )
    scale = mac.value / of_isoflurane.value
    reason = Reason(
        formula="common practice for isoflurane × MAC of the agent ÷ MAC of isoflurane",
        parts=(usual,) if case.settings.agent == _ISOFLURANE else (usual, mac, of_isoflurane),
        given={"agent": case.settings.agent},
        note=usual.note,
    )
    return derived(
        "priming.vaporiser_percent",
        usual.value * scale,
        reason,
        low=usual.low * scale,
        high=usual.high * scale,
    )


def _flow(profile: Profile, flow_l_min: float | None) -> Reasoned:
    value = profile.priming_flow_l_min if flow_l_min is None else flow_l_min
    source = "profile" if flow_l_min is None else "case"
    return derived("priming.flow_l_min", value, Reason(formula="as chosen", sources=(source,)))


def _ceiling(case: Case, profile: Profile, ceiling_l: float | None) -> Reasoned:
    tidal_l, holds_l = case.settings.tidal_volume_l, case.equipment.reservoir_capacity_l
    wished_l = tidal_l * (1.0 + profile.spare_to_begin_multiple) if ceiling_l is None else ceiling_l
    reason = Reason(
        formula="tidal volume + spare to begin with, and not more than the reservoir holds",
        given={
            "tidal_volume_l": tidal_l,
            "spare_to_begin_multiple": profile.spare_to_begin_multiple if ceiling_l is None else None,
            "wished_l": wished_l,
            "reservoir_capacity_l": holds_l,
        },
        sources=("case", "profile"),
    )
    return derived("priming.ceiling_l", min(wished_l, holds_l), reason)
