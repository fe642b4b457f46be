"""Gas on its way: hoses, airway, alveoli, absorber, circle. Exact volumes, implicit upwind chains.

A chain of equal cells takes F_k <- (F_k + r F_(k-1)) / (1 + r) in the direction of flow: positive,
conservative and stable for any step.
"""

from typing import Any

from lungeline.compiled import formula
from lungeline.simulate.kernel import state as s

EQUALISE_S = 2.0  # the dead-space share of lung volume relaxes to its set value
LEAST_VOLUME_L = 1e-6
LARGEST_SHARE_GIVEN = 0.9  # of a compartment, in one span
AIR_OXYGEN_FRACTION = 0.2093
ANIMAL, OPEN_TO_AIR, DEMAND_VALVE, TEST_LUNG, PLUGGED = 0, 1, 2, 3, 4


@formula
def _chain(
    y: Any, first: int, count: int, stride: int, ratio: float, gas: tuple[float, float, float, float]
) -> tuple[float, float, float, float]:
    """Push a gas through `count` cells, each `stride` cells on; returns the mean gas that leaves the last."""
    f0, f1, f2, f3 = gas
    # Middle of the step where the step is short (second order), its end where it is long (always positive).
    end = 0.5 if ratio < 1.0 else 1.0
    kept = 1.0 - (1.0 - end) * ratio
    inverse = 1.0 / (1.0 + end * ratio)
    start = 1.0 - end
    a = s.GAS + first * s.SPECIES
    for _ in range(count):
        n0 = (kept * y[a] + ratio * f0) * inverse
        n1 = (kept * y[a + 1] + ratio * f1) * inverse
        n2 = (kept * y[a + 2] + ratio * f2) * inverse
        n3 = (kept * y[a + 3] + ratio * f3) * inverse
        f0 = start * y[a] + end * n0
        f1 = start * y[a + 1] + end * n1
        f2 = start * y[a + 2] + end * n2
        f3 = start * y[a + 3] + end * n3
        y[a] = n0
        y[a + 1] = n1
        y[a + 2] = n2
        y[a + 3] = n3
        a += stride * s.SPECIES
    return f0, f1, f2, f3


@formula
def _gas_of(y: Any, cell: int) -> tuple[float, float, float, float]:
    """Fractions of a cell."""
    a = s.GAS + cell * s.SPECIES
    return y[a], y[a + 1], y[a + 2], y[a + 3]


@formula
def _gas_in(gas: Any) -> tuple[float, float, float, float]:
    """Fractions in a scratch array."""
    return gas[0], gas[1], gas[2], gas[3]


@formula
def _mix_in(y: Any, cell: int, volume_l: float, added_l: float, gas: Any) -> None:
    """Mix an added volume of gas into a cell of a given volume."""
    share = added_l / (volume_l + added_l)
    a = s.GAS + cell * s.SPECIES
    for g in range(s.SPECIES):
        y[a + g] += share * (gas[g] - y[a + g])


@formula
def _refill(y: Any, slow: bool, dead_l: float, least_l: float) -> float:
    """Let a compartment about to run empty draw on the dead space, then the other; returns the dead space.

    Only lungs beyond all bounds empty so: a giving cell keeps half of what it has.
    """
    volume, cell = (s.ALVEOLAR_SLOW_VOLUME, s.SLOW) if slow else (s.ALVEOLAR_FAST_VOLUME, s.FAST)
    other, giver = (s.ALVEOLAR_FAST_VOLUME, s.FAST) if slow else (s.ALVEOLAR_SLOW_VOLUME, s.SLOW)
    first, dead, second = s.GAS + cell * s.SPECIES, s.GAS + s.DEAD * s.SPECIES, s.GAS + giver * s.SPECIES
    moved = min(max(least_l - y[volume], 0.0), 0.5 * max(dead_l, 0.0))
    if moved > 0.0:
        for g in range(s.SPECIES):
            y[first + g] += moved / (y[volume] + moved) * (y[dead + g] - y[first + g])
        y[volume] += moved
        dead_l -= moved
    moved = min(max(least_l - y[volume], 0.0), 0.5 * max(y[other], 0.0))
    if moved > 0.0:
        for g in range(s.SPECIES):
            y[first + g] += moved / (y[volume] + moved) * (y[second + g] - y[first + g])
        y[volume] += moved
        y[other] -= moved
    return dead_l


@formula
def _lung_gas(y: Any, a: Any, fast_l: float, slow_l: float, dead_l: float, mixed: Any) -> None:
    """Move gas between airway and compartments for the step's inflows; `mixed` gets the carina gas."""
    fd = a.alveolar_dead_space_fraction
    total = fast_l + slow_l
    dead = s.GAS + s.DEAD * s.SPECIES
    supply = 0.0
    for g in range(s.SPECIES):
        mixed[g] *= max(total, 0.0)  # what the airway brought, if it brought any
    if total > 0.0:
        supply = total
    dead_left_l = dead_l
    for i in range(2):
        given = -fast_l if i == 0 else -slow_l
        if given > 0.0:
            cell = s.GAS + (s.FAST + i) * s.SPECIES
            supply += given
            # the dead space gives its share, but never more than half of what it has
            from_dead = min(fd * given, max(0.5 * dead_left_l, 0.0))
            dead_left_l -= from_dead
            volume = y[s.ALVEOLAR_FAST_VOLUME] if i == 0 else y[s.ALVEOLAR_SLOW_VOLUME]
            if given - from_dead > LARGEST_SHARE_GIVEN * volume:
                wanted = (given - from_dead) / LARGEST_SHARE_GIVEN
                dead_left_l = _refill(y, i == 1, dead_left_l, wanted)
                volume = y[s.ALVEOLAR_FAST_VOLUME] if i == 0 else y[s.ALVEOLAR_SLOW_VOLUME]
                beyond = max(given - from_dead - LARGEST_SHARE_GIVEN * volume, 0.0)
                from_dead += beyond
                dead_left_l -= beyond
            for g in range(s.SPECIES):
                mixed[g] += (given - from_dead) * y[cell + g] + from_dead * y[dead + g]
            if i == 0:
                y[s.ALVEOLAR_FAST_VOLUME] -= given - from_dead
            else:
                y[s.ALVEOLAR_SLOW_VOLUME] -= given - from_dead
    if supply <= 0.0:
        return
    for g in range(s.SPECIES):
        mixed[g] /= supply
    taken_l = max(fast_l, 0.0) + max(slow_l, 0.0)
    if fd > 0.0 and taken_l > 0.0:
        _mix_in(y, s.DEAD, max(dead_left_l, LEAST_VOLUME_L), fd * taken_l, mixed)
    if fast_l > 0.0:
        _mix_in(y, s.FAST, y[s.ALVEOLAR_FAST_VOLUME], (1.0 - fd) * fast_l, mixed)
        y[s.ALVEOLAR_FAST_VOLUME] += (1.0 - fd) * fast_l
    if slow_l > 0.0:
        _mix_in(y, s.SLOW, y[s.ALVEOLAR_SLOW_VOLUME], (1.0 - fd) * slow_l, mixed)
        y[s.ALVEOLAR_SLOW_VOLUME] += (1.0 - fd) * slow_l


@formula
def _exchange(y: Any, alveolar: int, cell: int, held: int, span_s: float) -> None:
    """Apply the held exchange of one compartment."""
    added = (y[held + s.O2] + y[held + s.CO2] + y[held + s.AGENT]) * span_s
    if -added > LARGEST_SHARE_GIVEN * y[alveolar]:
        dead_l = y[s.VOLUME_FAST] + y[s.VOLUME_SLOW] - y[s.ALVEOLAR_FAST_VOLUME] - y[s.ALVEOLAR_SLOW_VOLUME]
        _refill(y, cell == s.SLOW, dead_l, -added / LARGEST_SHARE_GIVEN)
    volume = y[alveolar]
    first = s.GAS + cell * s.SPECIES
    inverse = 1.0 / (volume + added)
    for g in range(s.SPECIES):
        y[first + g] = (y[first + g] * volume + y[held + g] * span_s) * inverse
    y[alveolar] = volume + added


@formula
def _equalise(y: Any, a: Any, alveolar: int, cell: int, lung_volume_l: float, span_s: float) -> None:
    """Let the dead-space share of a compartment relax to its set value, the donor's gas moving."""
    lung_l = y[s.VOLUME_FAST] + y[s.VOLUME_SLOW]
    dead_l = lung_l - y[s.ALVEOLAR_FAST_VOLUME] - y[s.ALVEOLAR_SLOW_VOLUME]
    target = (1.0 - a.alveolar_dead_space_fraction) * lung_volume_l
    moved = (target - y[alveolar]) * min(span_s / EQUALISE_S, 1.0)
    first, dead = s.GAS + cell * s.SPECIES, s.GAS + s.DEAD * s.SPECIES
    if moved > 0.0:
        moved = min(moved, 0.5 * max(dead_l, 0.0))
        share = moved / (y[alveolar] + moved)
        for g in range(s.SPECIES):
            y[first + g] += share * (y[dead + g] - y[first + g])
    elif moved < 0.0:
        share = -moved / max(dead_l - moved, LEAST_VOLUME_L)
        for g in range(s.SPECIES):
            y[dead + g] += share * (y[first + g] - y[dead + g])
    y[alveolar] += moved


@formula
def _leave(y: Any, volume_l: float) -> None:
    """Gas leaves the circle for good."""
    first = s.GAS + s.CIRCLE * s.SPECIES
    for g in range(s.SPECIES):
        y[s.GAS_OUT + g] += volume_l * y[first + g]
    y[s.CIRCLE_VOLUME] -= volume_l


@formula
def _enter(y: Any, volume_l: float, oxygen: float, agent: float) -> None:
    """Gas of a source enters the circle: oxygen and agent fractions given, the rest nitrogen."""
    total = y[s.CIRCLE_VOLUME] + volume_l
    share = volume_l / total
    nitrogen = 1.0 - oxygen - agent
    first = s.GAS + s.CIRCLE * s.SPECIES
    y[first + s.O2] += share * (oxygen - y[first + s.O2])
    y[first + s.CO2] -= share * y[first + s.CO2]
    y[first + s.AGENT] += share * (agent - y[first + s.AGENT])
    y[first + s.N2] += share * (nitrogen - y[first + s.N2])
    y[s.CIRCLE_VOLUME] = total
    y[s.GAS_IN + s.O2] += volume_l * oxygen
    y[s.GAS_IN + s.AGENT] += volume_l * agent
    y[s.GAS_IN + s.N2] += volume_l * nitrogen


@formula
def _inspire(y: Any, a: Any, c: Any, port_l: float, lung_l: float, at_port: Any, carina: Any) -> None:
    """Gas flows towards the animal; `at_port` gets the gas past the Y, `carina` what reaches it."""
    if c.port == OPEN_TO_AIR or c.port == DEMAND_VALVE:
        oxygen = AIR_OXYGEN_FRACTION if c.port == OPEN_TO_AIR else 1.0
        at_port[s.O2], at_port[s.CO2], at_port[s.AGENT], at_port[s.N2] = oxygen, 0.0, 0.0, 1.0 - oxygen
        y[s.GAS_IN + s.O2] += port_l * oxygen
        y[s.GAS_IN + s.N2] += port_l * (1.0 - oxygen)
    else:
        back = c.expiratory_valve_open_fraction
        ratio = 2.0 * port_l * (1.0 - back) / c.hose_volume_l
        circle = _gas_of(y, s.CIRCLE)
        fresh = _chain(y, s.INSP_HOSE, 2, 1, ratio, circle)
        at_port[0], at_port[1], at_port[2], at_port[3] = fresh
        if back > 0.0:
            ratio = 2.0 * port_l * back / c.hose_volume_l
            used = _chain(y, s.EXP_HOSE + 1, 2, -1, ratio, circle)
            at_port[0] += back * (used[0] - at_port[0])
            at_port[1] += back * (used[1] - at_port[1])
            at_port[2] += back * (used[2] - at_port[2])
            at_port[3] += back * (used[3] - at_port[3])
        y[s.CIRCLE_VOLUME] -= port_l
    cuff_l = port_l - max(lung_l, 0.0)
    if cuff_l > 0.0:
        for g in range(s.SPECIES):
            y[s.GAS_OUT + g] += cuff_l * at_port[g]
        y[s.LEAKED] += cuff_l
    if lung_l > 0.0:
        ratio = lung_l * s.AIRWAY_CELLS / a.airway_dead_space_l
        reached = _chain(y, s.AIRWAY, s.AIRWAY_CELLS, 1, ratio, _gas_in(at_port))
        carina[0], carina[1], carina[2], carina[3] = reached


@formula
def _expire(y: Any, a: Any, c: Any, port_l: float, lung_l: float, carina: Any, at_port: Any) -> None:
    """Gas flows from the animal: volumes given as positive numbers."""
    ratio = lung_l * s.AIRWAY_CELLS / a.airway_dead_space_l
    out = _chain(y, s.AIRWAY + s.AIRWAY_CELLS - 1, s.AIRWAY_CELLS, -1, ratio, _gas_in(carina))
    at_port[0], at_port[1], at_port[2], at_port[3] = out
    cuff_l = lung_l - max(port_l, 0.0)
    if cuff_l > 0.0:
        for g in range(s.SPECIES):
            y[s.GAS_OUT + g] += cuff_l * at_port[g]
        y[s.LEAKED] += cuff_l
    if port_l <= 0.0:
        return
    if c.port == OPEN_TO_AIR or c.port == DEMAND_VALVE:
        for g in range(s.SPECIES):
            y[s.GAS_OUT + g] += port_l * at_port[g]
        return
    back = c.inspiratory_valve_open_fraction
    if back > 0.0:
        ratio = 2.0 * port_l * back / c.hose_volume_l
        used = _chain(y, s.INSP_HOSE + 1, 2, -1, ratio, out)
        _into_circle(y, used, port_l * back, 0.0)
    through_l = port_l * (1.0 - back)
    ratio = 2.0 * through_l / c.hose_volume_l
    used = _chain(y, s.EXP_HOSE, 2, 1, ratio, out)
    _into_circle(y, used, through_l, y[s.ABSORBER_EFFICIENCY])


@formula
def _into_circle(y: Any, gas: tuple[float, float, float, float], volume_l: float, efficiency: float) -> None:
    """Gas of a hose reaches the circle, past the absorber with the given efficiency."""
    first = s.GAS + s.CIRCLE * s.SPECIES
    absorbed = efficiency * gas[1] * volume_l
    before = y[s.CIRCLE_VOLUME]
    after = before + volume_l - absorbed
    inverse = 1.0 / after
    y[first] = (y[first] * before + gas[0] * volume_l) * inverse
    y[first + 1] = (y[first + 1] * before + gas[1] * volume_l - absorbed) * inverse
    y[first + 2] = (y[first + 2] * before + gas[2] * volume_l) * inverse
    y[first + 3] = (y[first + 3] * before + gas[3] * volume_l) * inverse
    y[s.CIRCLE_VOLUME] = after
    y[s.ABSORBED] += absorbed


@formula
def move_gas(
    y: Any,
    a: Any,
    c: Any,
    fast_l: float,
    slow_l: float,
    cuff_l: float,
    span_s: float,
    carina: Any,
    at_port: Any,
) -> float:
    """Move gas for the inflows of a span into the compartments [L]; returns the volume past the Y [L].

    The lung volumes of the state are already those of the end of the span.
    """
    lung_l = fast_l + slow_l
    port_l = lung_l + cuff_l
    if port_l > 0.0:
        _inspire(y, a, c, port_l, lung_l, at_port, carina)
    exchanged_l = span_s * (
        y[s.HELD_FAST] + y[s.HELD_FAST + 1] + y[s.HELD_FAST + 2]
        + y[s.HELD_SLOW] + y[s.HELD_SLOW + 1] + y[s.HELD_SLOW + 2]
    )  # fmt: skip
    before_l = y[s.VOLUME_FAST] + y[s.VOLUME_SLOW] - lung_l - exchanged_l
    dead_l = before_l - y[s.ALVEOLAR_FAST_VOLUME] - y[s.ALVEOLAR_SLOW_VOLUME]
    _lung_gas(y, a, fast_l, slow_l, dead_l, carina)
    if lung_l < 0.0:
        # Where gas also comes in at the Y the cuff takes what comes from both sides.
        _expire(y, a, c, max(-port_l, 0.0), -lung_l, carina, at_port)
    _exchange(y, s.ALVEOLAR_FAST_VOLUME, s.FAST, s.HELD_FAST, span_s)
    if a.slow_fraction > 0.0:
        _exchange(y, s.ALVEOLAR_SLOW_VOLUME, s.SLOW, s.HELD_SLOW, span_s)
    return port_l


@formula
def equalise_dead_space(y: Any, a: Any, span_s: float) -> None:
    """Let the dead-space share of each compartment relax to its set value."""
    _equalise(y, a, s.ALVEOLAR_FAST_VOLUME, s.FAST, y[s.VOLUME_FAST], span_s)
    if a.slow_fraction > 0.0:
        _equalise(y, a, s.ALVEOLAR_SLOW_VOLUME, s.SLOW, y[s.VOLUME_SLOW], span_s)


@formula
def circle_flows(
    y: Any, c: Any, pressure_cmh2o: float, outside_l: float, relieving: bool, span_s: float
) -> float:
    """Move fresh gas, make-up, leak, sample, spill and room air of a span.

    Returns the reservoir's content before spill or room air made it good [L].
    """
    fresh_l = c.fresh_gas_flow_l_s * span_s
    if fresh_l > 0.0:
        carrier = 1.0 - c.vapour_fraction
        _enter(y, fresh_l, carrier * c.fresh_oxygen_fraction, c.vapour_fraction)
        y[s.LIQUID_VAPOUR] += fresh_l * c.vapour_fraction
        y[s.OXYGEN_SUPPLIED] += fresh_l * carrier * c.fresh_oxygen_fraction
    if y[s.MAKEUP_LEFT] > 0.0:
        dose_l = min(c.makeup_flow_l_s * span_s, y[s.MAKEUP_LEFT])
        _enter(y, dose_l, 1.0 - c.makeup_vapour_fraction, c.makeup_vapour_fraction)
        y[s.MAKEUP_LEFT] -= dose_l
        y[s.MADE_UP] += dose_l
        y[s.LIQUID_VAPOUR] += dose_l * c.makeup_vapour_fraction
        y[s.OXYGEN_SUPPLIED] += dose_l * (1.0 - c.makeup_vapour_fraction)
    if outside_l > 0.0:
        _leave(y, outside_l)
        y[s.LEAKED] += outside_l
    elif outside_l < 0.0:
        _enter(y, -outside_l, AIR_OXYGEN_FRACTION, 0.0)
        y[s.ENTRAINED] -= outside_l
    held_l = c.fixed_volume_l + c.compliance_l_cmh2o * pressure_cmh2o
    content = y[s.CIRCLE_VOLUME] - held_l
    sample_l = c.sample_flow_l_s * span_s
    if sample_l > 0.0:
        _leave(y, sample_l)
        content -= sample_l
    if relieving and content > c.ceiling_l:
        y[s.SPILLED] += content - c.ceiling_l
        _leave(y, content - c.ceiling_l)
    elif content < 0.0 and c.entrains > 0.5:
        y[s.ENTRAINED] -= content
        _enter(y, -content, AIR_OXYGEN_FRACTION, 0.0)
    return content
