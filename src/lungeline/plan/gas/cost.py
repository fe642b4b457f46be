"""What the supplies cost, of those that have a price in the profile."""

from lungeline.case import Profile, Reasoned
from lungeline.plan.derive import Reason, derived, number
from lungeline.plan.gas.absorbent_supply import AbsorbentSupply
from lungeline.plan.gas.agent_supply import AgentSupply
from lungeline.plan.gas.oxygen_supply import OxygenSupply

_PRICED_OXYGEN_L = 1000.0
_PRICED_AGENT_ML = 100.0


def costs(
    profile: Profile, oxygen: OxygenSupply, agent: AgentSupply, absorbent: AbsorbentSupply
) -> tuple[Reasoned, ...]:
    """Return the cost of each supply that has a price, and their sum where any has one."""
    priced = (
        ("oxygen", oxygen.need.needed_l, profile.oxygen_price_per_1000l, _PRICED_OXYGEN_L),
        ("agent", agent.agent_liquid_ml, profile.agent_price_per_100ml, _PRICED_AGENT_ML),
        ("absorbent", absorbent.absorbent_used_kg, profile.absorbent_price_per_kg, 1.0),
    )
    found = [
        _cost(name, amount, price / each, profile)
        for name, amount, price, each in priced
        if price is not None
    ]
    if not found:
        return ()
    total = sum(number(each) for each in found)
    reason = Reason(formula="sum of what has a price", parts=tuple(found))
    return (*found, derived("supplies.total_cost", total, reason))


def _cost(name: str, amount: Reasoned, price: float, profile: Profile) -> Reasoned:
    low, high = (None if each is None else each * price for each in (amount.low, amount.high))
    reason = Reason(
        formula="amount × price",
        parts=(amount,),
        given={"price": price, "currency": profile.currency},
        sources=("profile",),
    )
    return derived(f"supplies.{name}_cost", number(amount) * price, reason, low=low, high=high)
