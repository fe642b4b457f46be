"""The compiled time step that couples everything, and the run that repeats it.

The order of one base step: effort -> ventilator events -> pressure and volumes; every second base step
while gas flows, with every tick, and wherever a phase ends or flow turns: recruitment -> gas transport ->
circle in and out -> what the breath shows; every few steps the slow exchange tick. A base step in which a
breath changes phase is split there, so that phases begin and end when they should.
"""

import math
from typing import Any

import numpy as np

from lungeline.compiled import formula
from lungeline.physiology.drive import own_rate_per_min
from lungeline.simulate.kernel import state as s
from lungeline.simulate.kernel.breath_row import alveolar_pressure, write_breath
from lungeline.simulate.kernel.exchange import depth_multiple, exchange_tick, injectable_multiple
from lungeline.simulate.kernel.mechanics import one_volume_step, outside_flow_l_s, two_volume_step
from lungeline.simulate.kernel.transport import (
    AIR_OXYGEN_FRACTION,
    DEMAND_VALVE,
    OPEN_TO_AIR,
    PLUGGED,
    TEST_LUNG,
    circle_flows,
    equalise_dead_space,
    move_gas,
)
from lungeline.simulate.models.breathing import (
    LEAST_DRIVE,
    LEAST_EFFORT_DRIVE,
    muscle_pressure_cmh2o,
    restart_drive,
)
from lungeline.simulate.models.circle import reservoir_pressure_cmh2o
from lungeline.simulate.models.lung_mechanics import LAYERS, LEAST_OPEN_FRACTION
from lungeline.simulate.models.ventilator import (
    EXPIRATION,
    HOLD,
    INSPIRATION,
    NO_MACHINE,
    PAUSE,
    PRESSURE_CONTROL,
    SHUT_CONDUCTANCE_L_S_CMH2O,
    SLOWED_SHARE_OF_EXPIRATION,
    VOLUME,
)

EPSILON_S = 1e-9
LEAST_LUNG, MOST_LUNG = 0.004, 1.2  # of open capacity
LEAST_LEFT = 0.9  # of a compartment after one step
LOWEST_CMH2O, HIGHEST_CMH2O = -200.0, 400.0
LONGEST_SHARE_OF_CYCLE = 0.5  # a machine too slow for its stroke gives less, and keeps the rate
NEAR_LIMIT_CMH2O = 0.005
LONGEST_STROKE = 1.2  # of the set inspiratory time, where the machine makes up for compression
TRIGGER_DEAD_TIME_S = 0.5
GAS_EVERY_STEPS = 2
LITTLE_GAS = 0.03  # of the airway: what has not moved more waits for the tick
RELIEVING = True
SILENCE_S = 30.0  # without a breath a row is written this often
RHYTHM_STOPPED_S = 20.0
DEMAND_FLOW_L_S = 2.7  # common demand valves give about 160 L/min; from memory
DEMAND_RESISTANCE_CMH2O_S_L = 1.0
OPEN_RESISTANCE_CMH2O_S_L = 0.05
TEST_LUNG_CAPACITY_L = 1e6
LEAST_CO2_MMHG = 1.0
STILL_L_S, AIR_PER_TICK = 0.05, 0.2  # at an open port: below this flow a sampler soon draws in the room


@formula
def _start_inspiration(y: Any, a: Any, c: Any, v: Any, breaths: Any, row: int) -> int:
    """Begin a machine breath: its stroke, time and pause, and the row of the breath before."""
    row = write_breath(y, a, c, breaths, row)
    y[s.PHASE] = INSPIRATION
    y[s.PHASE_TIME] = 0.0
    y[s.CYCLE_TIME] = 0.0
    y[s.DELIVERED] = 0.0
    y[s.STROKE_VOLUME] = y[s.OVERRIDE_VOLUME] if y[s.OVERRIDE_VOLUME] > 0.0 else v.tidal_volume_l
    y[s.STROKE_TIME] = y[s.OVERRIDE_TIME] if y[s.OVERRIDE_TIME] > 0.0 else v.inspiratory_time_s
    y[s.STROKE_PAUSE] = y[s.OVERRIDE_PAUSE] if y[s.OVERRIDE_PAUSE] > 0.0 else v.pause_s
    y[s.OVERRIDE_VOLUME] = 0.0
    y[s.OVERRIDE_TIME] = 0.0
    y[s.OVERRIDE_PAUSE] = 0.0
    y[s.A_SET_VOLUME] = y[s.STROKE_VOLUME] if v.mode == VOLUME else 0.0
    y[s.A_MACHINE] = 1.0
    return row


@formula
def _stroke_flow_l_s(y: Any, v: Any) -> float:
    """Flow of the current volume stroke, made up for compression as it was in the breath before."""
    wanted = y[s.STROKE_VOLUME]
    if v.compliance_compensated > 0.5:
        wanted += y[s.COMPRESSED]
    return min(wanted / max(y[s.STROKE_TIME], 0.05), v.flow_ceiling_l_s)


@formula
def _time_to_limit(y: Any, v: Any) -> float:
    """Seconds until the pressure limit, at the slope of the last step; large where it falls."""
    if y[s.PRESSURE_SLOPE] <= 0.0 or y[s.PHASE_TIME] <= 0.0:
        return 1e9
    left: float = (v.pressure_limit_cmh2o - y[s.PRESSURE]) / y[s.PRESSURE_SLOPE]
    return left


@formula
def _time_to_event(y: Any, c: Any, v: Any, stroke_flow: float) -> float:
    """Seconds until the current phase ends by itself; large where it does not."""
    if v.mode == NO_MACHINE or v.mode == HOLD:
        return 1e9
    if y[s.PHASE] == EXPIRATION:
        return v.cycle_s - y[s.CYCLE_TIME]
    if y[s.PHASE] == PAUSE:
        return y[s.STROKE_TIME] + y[s.STROKE_PAUSE] - y[s.CYCLE_TIME]
    if v.mode == PRESSURE_CONTROL:
        return min(y[s.STROKE_TIME] - y[s.PHASE_TIME], _time_to_limit(y, v))
    target = y[s.STROKE_VOLUME]
    rate = stroke_flow
    last = y[s.STROKE_TIME]
    if v.compliance_compensated > 0.5:
        target += c.compliance_l_cmh2o * max(y[s.PRESSURE] - v.peep_cmh2o, 0.0)
        rate -= c.compliance_l_cmh2o * max(y[s.PRESSURE_SLOPE], 0.0)
        last *= LONGEST_STROKE
    last = max(last, min(target / v.flow_ceiling_l_s, LONGEST_SHARE_OF_CYCLE * v.cycle_s))
    by_volume = (target - y[s.DELIVERED]) / max(rate, 0.1 * stroke_flow + 1e-9)
    return min(by_volume, last - y[s.PHASE_TIME], _time_to_limit(y, v))


@formula
def _begin_expiration(y: Any, v: Any) -> None:
    """Begin to breathe out; after an unusually long breath the usual time to do so is kept."""
    y[s.PHASE] = EXPIRATION
    y[s.PHASE_TIME] = 0.0
    usual_s = max(LONGEST_SHARE_OF_CYCLE * v.cycle_s, LONGEST_STROKE * v.inspiratory_time_s) + v.pause_s
    if y[s.CYCLE_TIME] > usual_s + EPSILON_S:
        y[s.CYCLE_TIME] = v.inspiratory_time_s + v.pause_s


@formula
def _end_inspiration(y: Any, a: Any, c: Any, v: Any) -> None:
    """Go on to pause or expiration, remembering what the breath compressed and where it ended."""
    y[s.A_PLATEAU] = alveolar_pressure(y, a, c)
    y[s.COMPRESSED] = c.compliance_l_cmh2o * max(y[s.PRESSURE] - v.peep_cmh2o, 0.0)
    y[s.STROKE_TIME] = y[s.CYCLE_TIME]
    if y[s.STROKE_PAUSE] > EPSILON_S:
        y[s.PHASE] = PAUSE
        y[s.PHASE_TIME] = 0.0
    else:
        _begin_expiration(y, v)


@formula
def _events(
    y: Any, a: Any, c: Any, v: Any, breaths: Any, row: int, own_flow: float, stroke_flow: float
) -> int:
    """Let the ventilator change phase where it is due."""
    if v.mode == NO_MACHINE:
        if y[s.PHASE] != EXPIRATION:
            y[s.PHASE] = EXPIRATION
            y[s.PHASE_TIME] = 0.0
        return row
    if v.mode == HOLD:
        y[s.PHASE] = INSPIRATION
        return row
    if y[s.PHASE] == EXPIRATION:
        due = y[s.CYCLE_TIME] >= v.cycle_s - EPSILON_S
        if v.valves_held > 0.5:
            return row
        if v.trigger_flow_l_s > 0.0:
            due = y[s.CYCLE_TIME] >= max(v.cycle_s, v.apnoea_backup_s) - EPSILON_S
            if y[s.PHASE_TIME] >= TRIGGER_DEAD_TIME_S and own_flow > v.trigger_flow_l_s:
                due = True
        if due:
            return _start_inspiration(y, a, c, v, breaths, row)
    elif y[s.PHASE] == INSPIRATION:
        ended = (
            y[s.PRESSURE] > v.pressure_limit_cmh2o - NEAR_LIMIT_CMH2O
            or _time_to_event(y, c, v, stroke_flow) <= EPSILON_S
        )
        if ended:
            _end_inspiration(y, a, c, v)
    elif y[s.CYCLE_TIME] >= y[s.STROKE_TIME] + y[s.STROKE_PAUSE] - EPSILON_S:
        y[s.A_PLATEAU] = alveolar_pressure(y, a, c)
        _begin_expiration(y, v)
    return row


@formula
def _own_breathing(y: Any, a: Any, c: Any, v: Any, breaths: Any, row: int, span_s: float) -> int:
    """Advance the animal's own respiratory clock; begin a breath where the drive allows it."""
    if y[s.CLOCK] < 1.0:
        y[s.CLOCK] += span_s * y[s.OWN_BREATHS] / 60.0
        y[s.WAITED] = 0.0
        return row
    needed = LEAST_DRIVE
    y[s.WAITED] += span_s
    if y[s.WAITED] > RHYTHM_STOPPED_S:
        needed = max(needed, restart_drive(a.restart_drive_multiple, injectable_multiple(y, a)))
    if y[s.DRIVE] <= needed:
        return row
    if v.mode == NO_MACHINE:
        row = write_breath(y, a, c, breaths, row)
    y[s.CLOCK] = 0.0
    y[s.WAITED] = 0.0
    y[s.EFFORT_SIZE] = a.effort_cmh2o * max(y[s.DRIVE], LEAST_EFFORT_DRIVE)
    y[s.OWN_BREATHS] = own_rate_per_min(
        depth_multiple(y, a), y[s.DRIVE], a.breathing_rate_per_min, a.rate_per_mac_per_min
    )
    y[s.A_OWN] += 1.0
    return row


@formula
def _recruit(y: Any, a: Any, pressure: float, weights: Any, span_s: float) -> tuple[float, float]:
    """Open and close layers; returns mean open fraction and its weighted mean."""
    opening = a.opening_rate_per_s_cmh2o * span_s
    closing = a.closing_rate_per_s_cmh2o * span_s
    plain, weighted = 0.0, 0.0
    for i in range(LAYERS):
        local = pressure - a.superimposed_pressure_cmh2o * (i + 0.5) / LAYERS
        spread = a.opening_spread_cmh2o if i % 2 == 1 else -a.opening_spread_cmh2o
        if i == LAYERS - 1:
            spread += a.lowest_opening_added_cmh2o
        above = max(local - a.opening_pressure_cmh2o - spread, 0.0)
        below = max(a.closing_pressure_cmh2o - local, 0.0)
        if a.recruitment_law >= 0.5:
            above = min(above * 1e3, 6.0)
            below = min(below * 1e3, 6.0)
        o = y[s.OPEN + i]
        o = (o + opening * above) / (1.0 + opening * above + closing * below)
        o = max(o, LEAST_OPEN_FRACTION)
        y[s.OPEN + i] = o
        plain += o
        weighted += o * weights[i]
    return plain / LAYERS, weighted / LAYERS


@formula
def _settle_gas(
    y: Any, a: Any, c: Any, fast_l: float, slow_l: float, cuff_l: float, outside_l: float, span_s: float,
    relieving: bool, carina: Any, at_port: Any,
) -> None:  # fmt: skip
    """Move the gas of the last steps' flows, and add to what the breath has shown so far."""
    port_l = move_gas(y, a, c, fast_l, slow_l, cuff_l, span_s, carina, at_port)
    spare = circle_flows(y, c, y[s.PRESSURE], outside_l, relieving, span_s)
    y[s.A_SPARE] = min(y[s.A_SPARE], spare)
    if port_l > 0.0:
        y[s.A_INSPIRED] += port_l
        y[s.A_INSPIRED_O2] += port_l * at_port[s.O2]
        y[s.A_INSPIRED_CO2] += port_l * at_port[s.CO2]
        y[s.A_INSPIRED_AGENT] += port_l * at_port[s.AGENT]
    elif port_l < 0.0:
        y[s.A_EXPIRED] -= port_l
        y[s.A_END_TIDAL_CO2] = at_port[s.CO2]
        y[s.A_END_TIDAL_AGENT] = at_port[s.AGENT]


@formula
def _let_air_to_port(at_port: Any) -> None:
    """Let the room's air take the place of what the animal breathed out last, as a sampler draws it away."""
    at_port[s.O2] += AIR_PER_TICK * (AIR_OXYGEN_FRACTION - at_port[s.O2])
    at_port[s.N2] += AIR_PER_TICK * (1.0 - AIR_OXYGEN_FRACTION - at_port[s.N2])
    at_port[s.CO2] -= AIR_PER_TICK * at_port[s.CO2]
    at_port[s.AGENT] -= AIR_PER_TICK * at_port[s.AGENT]


@formula
def run_steps(
    y: Any, a: Any, c: Any, v: Any, steps: int, dt_s: float, steps_per_tick: int,
    breaths: Any, row: int, traces: Any, trace_every: int, trace_row: int,
) -> tuple[int, int]:  # fmt: skip
    """Advance the state in place by `steps` base steps; returns rows of breaths and of traces written.

    steps: a whole number of ticks, so that nothing is pending at the end.
    """
    weights = np.empty(LAYERS)
    for i in range(LAYERS):
        weights[i] = math.exp(a.superimposed_pressure_cmh2o * (i + 0.5) / LAYERS / a.recoil_pressure_cmh2o)
    carina = np.zeros(s.SPECIES)
    at_port = np.zeros(s.SPECIES)
    for g in range(s.SPECIES):
        at_port[g] = y[s.AT_PORT + g]

    animal = c.port != TEST_LUNG and c.port != PLUGGED
    on_circle = c.port != OPEN_TO_AIR and c.port != DEMAND_VALVE
    two = a.slow_fraction > 0.0
    slow_share = a.slow_fraction if two else 0.0
    # Branch conductances so that the pair has the set airway resistance, the slow one k times slower.
    slow_conductance, fast_conductance = 0.0, 1.0 / a.airway_resistance_cmh2o_s_l
    if two:
        per_share = (1.0 - a.slow_fraction) + a.slow_fraction / a.slow_resistance_multiple
        fast_conductance = (1.0 - a.slow_fraction) / per_share / a.airway_resistance_cmh2o_s_l
        slow_conductance = (
            a.slow_fraction / a.slow_resistance_multiple / per_share / a.airway_resistance_cmh2o_s_l
        )
    airway = a.tube_laminar_cmh2o_s_l + 1.0 / (fast_conductance + slow_conductance)
    turbulent = a.tube_turbulent_cmh2o_s2_l2
    wall_elastance = 1.0 / a.chest_wall_compliance_l_cmh2o
    capacity_l = a.lung_capacity_l * a.ventilated_fraction
    recoil_law = a.recoil_law
    if c.port == TEST_LUNG:
        # A linear bag: no recoil of its own worth naming, the wall is the bag, never open to blood.
        wall_elastance = 1.0 / c.test_lung_compliance_l_cmh2o
        capacity_l = TEST_LUNG_CAPACITY_L
        recoil_law = 2.0
        airway = a.tube_laminar_cmh2o_s_l + c.test_lung_resistance_cmh2o_s_l
    g_out = (
        SHUT_CONDUCTANCE_L_S_CMH2O
        if c.expiratory_valve_shut > 0.5
        else 1.0 / c.expiratory_resistance_cmh2o_s_l
    )
    g_in = 0.0 if c.inspiratory_valve_shut > 0.5 else 1.0 / c.inspiratory_resistance_cmh2o_s_l
    if v.valves_held > 0.5:
        g_out, g_in = 0.0, 0.0
    leak = c.leak_coefficient
    if not on_circle:
        leak = 0.0
        g_out = 1.0 / (OPEN_RESISTANCE_CMH2O_S_L if c.port == OPEN_TO_AIR else DEMAND_RESISTANCE_CMH2O_S_L)
        g_in = g_out
    open_mean, open_weighted = 0.0, 0.0
    for i in range(LAYERS):
        open_mean += y[s.OPEN + i]
        open_weighted += y[s.OPEN + i] * weights[i]
    open_mean /= LAYERS  # as in _recruit, so that a run goes on bit for bit
    open_weighted /= LAYERS

    own_flow = y[s.OWN_FLOW]
    pressure_sum = 0.0
    step_count = int(y[s.STEP_COUNT])
    settled_l = LITTLE_GAS * a.airway_dead_space_l
    # flows of the last few steps whose gas has not moved yet
    fast_l, slow_l, cuff_l, outside_l, moved_s, recoil = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for _ in range(steps):
        left = dt_s
        step_count += 1
        tick = step_count % steps_per_tick == 0
        while left > EPSILON_S:
            stroke_flow = _stroke_flow_l_s(y, v) if y[s.PHASE] == INSPIRATION else 0.0
            row = _events(y, a, c, v, breaths, row, own_flow, stroke_flow)
            phase = y[s.PHASE]
            if phase == INSPIRATION and y[s.PHASE_TIME] == 0.0:
                stroke_flow = _stroke_flow_l_s(y, v)  # a stroke that has just begun
            to_event = max(_time_to_event(y, c, v, stroke_flow), EPSILON_S)
            h = min(left, to_event)
            if phase == EXPIRATION and y[s.CYCLE_TIME] >= v.cycle_s:
                h = left  # assisted breathing waits for a trigger; held valves wait for release
            muscle = 0.0
            if a.breathes > 0.5 and animal:
                row = _own_breathing(y, a, c, v, breaths, row, h)
                muscle = muscle_pressure_cmh2o(y[s.CLOCK], a.own_inspiratory_fraction, y[s.EFFORT_SIZE])
            pressure = y[s.PRESSURE]
            content = y[s.CIRCLE_VOLUME] - c.fixed_volume_l - c.compliance_l_cmh2o * pressure
            over = reservoir_pressure_cmh2o(content, c.reservoir_capacity_l, c.bag_compliance_l_cmh2o)
            p_out = v.peep_cmh2o + over
            p_in = v.peep_cmh2o if v.holds_baseline > 0.5 else over
            flow = stroke_flow
            if v.fresh_gas_coupled > 0.5:
                flow += c.fresh_gas_flow_l_s
            if content <= 0.0 and c.entrains < 0.5:
                flow = min(flow, c.fresh_gas_flow_l_s)
            if not on_circle:
                p_out, p_in = 0.0, 0.0
                if c.port == DEMAND_VALVE:
                    flow = min(flow, DEMAND_FLOW_L_S)
            driven = v.inspiratory_pressure_cmh2o
            if v.mode == PRESSURE_CONTROL:
                driven = v.peep_cmh2o + driven * min(1.0, y[s.PHASE_TIME] / max(v.rise_s, 0.01))
            slowed = 0.0
            if v.slowed_expiration > 0.5:
                span = max(v.cycle_s - y[s.STROKE_TIME] - y[s.STROKE_PAUSE], 0.5)
                slowed = max(y[s.DELIVERED], 0.1) / (SLOWED_SHARE_OF_EXPIRATION * span)
            if not on_circle and c.port == OPEN_TO_AIR:
                phase = EXPIRATION

            fast, slow = y[s.VOLUME_FAST], y[s.VOLUME_SLOW]
            held_fast = y[s.HELD_FAST] + y[s.HELD_FAST + 1] + y[s.HELD_FAST + 2]
            held_slow = 0.0
            if c.port == PLUGGED:
                # No lung: only the circuit's own compliance takes gas.
                lost0 = outside_flow_l_s(pressure, leak, c.leak_exponent, 0.0, c.safety_pressure_cmh2o, -1e9)
                given = flow if phase == INSPIRATION else 0.0
                way_out = g_out if phase == EXPIRATION and pressure > p_out else 0.0
                change = (given - lost0 - (pressure - p_out) * way_out) / c.compliance_l_cmh2o
                new_pressure = pressure + h * change / (1.0 + h * way_out / c.compliance_l_cmh2o)
                new_fast, new_slow = fast, slow
            elif two and animal:
                held_slow = y[s.HELD_SLOW] + y[s.HELD_SLOW + 1] + y[s.HELD_SLOW + 2]
                offset = (
                    (y[s.TRAPPED_VOLUME] - a.chest_wall_rest_volume_l) * wall_elastance
                    + a.added_pleural_pressure_cmh2o
                    - muscle
                )
                new_pressure, new_fast, new_slow, recoil = two_volume_step(
                    pressure, fast, slow, h,
                    phase, v.mode, flow, driven, v.drive_resistance_cmh2o_s_l, v.flow_ceiling_l_s,
                    p_out, p_in, g_out, g_in, slowed,
                    leak, c.leak_exponent, c.cuff_leak_coefficient, c.safety_pressure_cmh2o,
                    c.seal_pressure_cmh2o, c.compliance_l_cmh2o,
                    a.tube_laminar_cmh2o_s_l, turbulent, fast_conductance, slow_conductance,
                    open_mean * capacity_l, open_weighted * capacity_l * a.recoil_fraction,
                    a.recoil_pressure_cmh2o, recoil_law, a.slow_fraction,
                    wall_elastance, offset, held_fast, held_slow,
                )  # fmt: skip
            else:
                offset = (
                    (y[s.TRAPPED_VOLUME] - a.chest_wall_rest_volume_l) * wall_elastance
                    + a.added_pleural_pressure_cmh2o
                    - muscle
                )
                wide, scale = open_mean * capacity_l, open_weighted * capacity_l * a.recoil_fraction
                if c.port == TEST_LUNG:
                    offset = 0.0
                    wide, scale = TEST_LUNG_CAPACITY_L, TEST_LUNG_CAPACITY_L
                new_pressure, new_fast, recoil = one_volume_step(
                    pressure, fast, h,
                    phase, v.mode, flow, driven, v.drive_resistance_cmh2o_s_l, v.flow_ceiling_l_s,
                    p_out, p_in, g_out, g_in, slowed,
                    leak, c.leak_exponent, c.cuff_leak_coefficient, c.safety_pressure_cmh2o,
                    c.seal_pressure_cmh2o, c.compliance_l_cmh2o,
                    airway, turbulent, wide, scale, a.recoil_pressure_cmh2o, recoil_law,
                    wall_elastance, offset, held_fast,
                )  # fmt: skip
                new_slow = slow
            if animal:
                # an animal beyond all bounds keeps a lung: what flows is what these volumes say
                wide = open_mean * capacity_l
                least = max(LEAST_LUNG * wide * (1.0 - slow_share), LEAST_LEFT * fast)
                new_fast = min(max(new_fast, least), MOST_LUNG * wide)
                if two:
                    least = max(LEAST_LUNG * wide * slow_share, LEAST_LEFT * slow)
                    new_slow = min(max(new_slow, least), MOST_LUNG * wide)
                new_pressure = min(max(new_pressure, LOWEST_CMH2O), HIGHEST_CMH2O)
            step_l = new_fast + new_slow - fast - slow - (held_fast + held_slow) * h
            if moved_s > 0.0 and step_l * (fast_l + slow_l + cuff_l) < 0.0:
                # flow turns: what came before is moved first, or in and out would cancel
                if animal:
                    open_mean, open_weighted = _recruit(y, a, recoil, weights, moved_s)
                _settle_gas(
                    y, a, c, fast_l, slow_l, cuff_l, outside_l, moved_s, not RELIEVING, carina, at_port
                )
                fast_l, slow_l, cuff_l, outside_l, moved_s = 0.0, 0.0, 0.0, 0.0, 0.0
            y[s.PRESSURE] = new_pressure
            y[s.PRESSURE_SLOPE] = (new_pressure - pressure) / h
            y[s.VOLUME_FAST] = new_fast
            y[s.VOLUME_SLOW] = new_slow
            middle = 0.5 * (pressure + new_pressure)
            fast_l += new_fast - fast - held_fast * h
            slow_l += new_slow - slow - held_slow * h
            if c.cuff_leak_coefficient > 0.0 and middle > 0.0:
                lost_l = h * outside_flow_l_s(
                    middle, c.cuff_leak_coefficient, c.leak_exponent, 0.0, 1e9, -1e9
                )
                cuff_l += lost_l
                step_l += lost_l
            if on_circle:
                outside_l += h * outside_flow_l_s(
                    middle, leak, c.leak_exponent, 0.0, c.safety_pressure_cmh2o, c.seal_pressure_cmh2o
                )
            elif c.port == OPEN_TO_AIR and v.mode == VOLUME and y[s.PHASE] == INSPIRATION:
                outside_l += h * flow  # the machine goes on, its strokes are lost to the room
            moved_s += h
            own_flow = step_l / h
            y[s.OWN_FLOW] = own_flow
            if phase == INSPIRATION:
                y[s.DELIVERED] += (min(flow, stroke_flow) if v.mode == VOLUME else max(own_flow, 0.0)) * h
            y[s.PHASE_TIME] += h
            y[s.CYCLE_TIME] += h
            y[s.A_TIME] += h
            y[s.A_PRESSURE_SUM] += middle * h
            pressure_sum += (middle - 0.5 * muscle) * h
            y[s.A_PEAK] = max(y[s.A_PEAK], new_pressure)
            left -= h

            ending = to_event <= h + EPSILON_S or (
                phase == INSPIRATION and new_pressure > v.pressure_limit_cmh2o - NEAR_LIMIT_CMH2O
            )
            flowing = step_count % GAS_EVERY_STEPS == 0 and abs(fast_l + slow_l) > settled_l
            if flowing or left > EPSILON_S or tick or ending:
                if animal:
                    open_mean, open_weighted = _recruit(y, a, recoil, weights, moved_s)
                relieving = phase == EXPIRATION and c.relief_works > 0.5
                _settle_gas(y, a, c, fast_l, slow_l, cuff_l, outside_l, moved_s, relieving, carina, at_port)
                fast_l, slow_l, cuff_l, outside_l, moved_s = 0.0, 0.0, 0.0, 0.0, 0.0

        y[s.STEP_COUNT] = step_count
        y[s.TIME] = step_count * dt_s
        if tick:
            span_s = steps_per_tick * dt_s
            if animal:
                equalise_dead_space(y, a, span_s)
                if c.port == OPEN_TO_AIR and own_flow > -STILL_L_S:
                    _let_air_to_port(at_port)
                exchange_tick(y, a, c, pressure_sum / span_s, span_s)
            pressure_sum = 0.0
            content = y[s.CIRCLE_VOLUME] - c.fixed_volume_l - c.compliance_l_cmh2o * y[s.PRESSURE]
            asks = content < c.makeup_threshold_l and y[s.PHASE] == EXPIRATION
            if c.makeup_flow_l_s > 0.0 and y[s.MAKEUP_LEFT] <= 0.0 and asks:
                y[s.MAKEUP_LEFT] = c.makeup_dose_l
            if y[s.A_TIME] >= SILENCE_S and (y[s.CYCLE_TIME] >= SILENCE_S or v.mode == NO_MACHINE):
                row = write_breath(y, a, c, breaths, row)
        if trace_every > 0 and step_count % trace_every == 0 and trace_row < traces.shape[0]:
            dry = c.barometric_pressure_mmhg - 47.0
            traces[trace_row, 0] = y[s.PRESSURE]
            traces[trace_row, 1] = own_flow
            traces[trace_row, 2] = y[s.VOLUME_FAST] + y[s.VOLUME_SLOW]
            traces[trace_row, 3] = at_port[s.CO2] * dry
            traces[trace_row, 4] = at_port[s.O2]
            traces[trace_row, 5] = at_port[s.AGENT]
            traces[trace_row, 6] = (
                y[s.CIRCLE_VOLUME] - c.fixed_volume_l - c.compliance_l_cmh2o * y[s.PRESSURE]
            )
            traces[trace_row, 7] = alveolar_pressure(y, a, c)
            trace_row += 1
    for g in range(s.SPECIES):
        y[s.AT_PORT + g] = at_port[g]
    return row, trace_row
