"""Whether oxygen, agent and absorbent last for the job, what they cost, and what leaves them for the air."""

from dataclasses import dataclass
from typing import Any

from lungeline.case import Case, Finding, Profile, Reasoned, gravest_first
from lungeline.plan.derive import by_last_name
from lungeline.plan.gas.absorbent_supply import AbsorbentSupply, absorbent_supply
from lungeline.plan.gas.agent_supply import AgentSupply, agent_supply
from lungeline.plan.gas.cost import costs
from lungeline.plan.gas.gas_use import GasUse, planned_use
from lungeline.plan.gas.oxygen_supply import OxygenSupply, oxygen_supply
from lungeline.reference import figures

_WASTE = "limits.waste."
_LIMIT_FOR_ALL = "halogenated"


@dataclass(frozen=True, slots=True, kw_only=True)
class Supplies:
    """Everything that must last. costs: only of what has a price; currency: the profile's."""

    oxygen: OxygenSupply
    agent: AgentSupply
    absorbent: AbsorbentSupply
    costs: tuple[Reasoned, ...]
    currency: str
    findings: tuple[Finding, ...]

    @property
    def oxygen_minutes(self) -> Reasoned:
        """Whole minutes on the circle that connected oxygen lasts; None where it comes by pipe."""
        return self.oxygen.oxygen_minutes

    @property
    def numbers(self) -> tuple[Reasoned, ...]:
        """Every number, those of single cylinders too."""
        cylinders = (number for stock in self.oxygen.cylinders for number in stock.numbers)
        return (
            *self.oxygen.numbers, *cylinders, *self.agent.numbers, *self.absorbent.numbers, *self.costs
        )  # fmt: skip

    def as_json(self) -> dict[str, Any]:
        """Return the supplies as they stand in a plan."""
        return {
            **self.oxygen.as_json(),
            **self.agent.as_json(),
            **by_last_name(self.absorbent.numbers),
            **by_last_name(self.costs),
            "currency": self.currency,
        }


def supplies(case: Case, profile: Profile, use: GasUse | None = None) -> Supplies:
    """Return what the job takes and whether it is there.

    use: planned flows, dials and priming; None for those that follow from case and profile.
    Raises InputError for a cylinder of no known size.
    """
    planned = planned_use(case, profile) if use is None else use
    oxygen = oxygen_supply(case, profile, planned)
    agent = agent_supply(case, profile, planned)
    absorbent = absorbent_supply(case)
    findings = [
        *oxygen.findings,
        *agent.findings,
        *absorbent.findings,
        *planned.schedule.findings,
        _waste_gas(case),
    ]
    return Supplies(
        oxygen=oxygen,
        agent=agent,
        absorbent=absorbent,
        costs=costs(profile, oxygen, agent, absorbent),
        currency=profile.currency,
        findings=gravest_first(findings),
    )


def _waste_gas(case: Case) -> Finding:
    """Remind of waste gas, with every limit that names this agent or halogenated agents as a whole."""
    agent = case.settings.agent
    limits_ppm = {
        name.removeprefix(_WASTE): limit.value
        for name, limit in figures().items()
        if name.startswith(_WASTE) and name.endswith((f"{agent}_ppm", f"{_LIMIT_FOR_ALL}_ppm"))
    }
    measured = figures()[f"{_WASTE}large_animal_measured_ppm"]
    told: dict[str, float | str | None] = {
        **limits_ppm,
        "agent": agent,
        "lowest_limit_ppm": min(limits_ppm.values()),
        "highest_limit_ppm": max(limits_ppm.values()),
        "measured_low_ppm": measured.low,
        "measured_high_ppm": measured.high,
    }
    return Finding(code="waste_gas", severity="note", about="settings.agent", figures=told)
