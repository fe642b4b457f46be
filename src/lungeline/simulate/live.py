"""A running simulated case: advance, set, do, break, look, keep and go back; the rest is built on it."""

import hashlib
import math
from functools import cache
from threading import Event
from typing import Any

import numpy as np

from lungeline.case.breath import Breath
from lungeline.case.case import Case
from lungeline.case.change import Change
from lungeline.case.fault_event import LONGEST_CASE_MIN
from lungeline.case.manoeuvre import (
    DeepBreath,
    DemandValve,
    Disconnect,
    ExpiratoryHold,
    Flush,
    HandVentilation,
    InspiratoryHold,
    Manoeuvre,
    Recruitment,
)
from lungeline.case.reading import Block
from lungeline.case.settings import Settings
from lungeline.case.timeline import Stretch, stretches
from lungeline.compiled import formula_hash
from lungeline.errors import InputError, SimulationError, StoppedError
from lungeline.reference import figure
from lungeline.simulate.faults import RunValues, apply_fault, check_severity
from lungeline.simulate.kernel import state as s
from lungeline.simulate.kernel.balance import GASES, gas_held_l, gas_passed_l
from lungeline.simulate.kernel.breath_row import write_breath
from lungeline.simulate.kernel.exchange import WATER_VAPOUR_MMHG
from lungeline.simulate.kernel.parameters import ANIMAL, CIRCUIT, VENTILATOR, record
from lungeline.simulate.kernel.start import fill
from lungeline.simulate.kernel.step import run_steps
from lungeline.simulate.kernel.transport import OPEN_TO_AIR
from lungeline.simulate.kernel.trapped import set_ventilated_fraction
from lungeline.simulate.models.gas_exchange import LITRES_BTPS_MMHG
from lungeline.simulate.models.ventilator import NO_MACHINE, VOLUME
from lungeline.simulate.setup import (
    NO_LUNG,
    animal_values,
    circuit_values,
    keep_possible,
    start_values,
    ventilator_values,
)

TICK_S = 0.1
BETWEEN_STEPS_S = 6.0
HAND_INSPIRATION_S = 1.5
HAND_EXPIRATION_S = 3.0
HAND_LIMIT_CMH2O = 60.0
DEMAND_VOLUME_ML_KG = 12.0
FLUSH_FLOW_L_S = 1.0
ROWS_PER_CALL = 64
LARGEST_STIFFNESS = 4.0  # of a step, over the time in which pressure follows flow
MOST_PARTS = 50
_KEPT_AS = np.dtype("<f8")  # bare numbers: a header would be parsed, which CPython 3.11 may not do in threads
TRACE_UNITS = {
    "pressure_cmh2o": "cmh2o",
    "flow_l_s": "l_s",
    "volume_l": "l",
    "co2_mmhg": "mmhg",
    "oxygen_fraction": "fraction",
    "agent_fraction": "fraction",
    "reservoir_l": "l",
    "alveolar_pressure_cmh2o": "cmh2o",
}


class LiveCase:
    """One simulated animal on its circle, as it runs.

    All methods that change something take effect at once. Nothing here knows the wall clock.
    """

    def __init__(
        self,
        case: Case,
        *,
        dt_s: float = 0.01,
        trace_rate_hz: float = 0.0,
        multipliers: dict[str, float] | None = None,
        stop: Event | None = None,
    ) -> None:
        """Start a case at its first moment.

        dt_s: base step [s], 0.001 to 0.1, a whole part of 0.1; trace_rate_hz: samples of the curves per
        second, 0 for none; multipliers: parameters of the animal scaled by name, switches set by name;
        stop: once set, time does not go on, and advance raises StoppedError.
        """
        self.case = case
        self.settings: Settings = case.settings
        self._assumed = case.assumed_settings
        self.dt_s = dt_s
        self._steps_per_tick = round(TICK_S / dt_s)
        self._stop = stop
        self._trace_every = 0 if trace_rate_hz <= 0 else max(1, round(1.0 / (trace_rate_hz * dt_s)))
        self._multipliers = dict(multipliers or {})
        self._faults: dict[str, float] = {}
        self._overlay: dict[str, dict[str, float]] = {}
        self._liquid_ml_per_l = 0.0
        self.until_s = math.inf
        self.traces: list[Any] = []
        self.breaths: list[Breath] = []
        self._trace_index = 0
        self._build()
        start = start_values(case, self._values.animal, self._values.circuit)
        self._y = fill(self._animal, self._circuit, self._ventilator, **start)
        self._y[s.ABSORBED] = (
            case.equipment.absorbent_used_fraction * self._values.circuit["absorber_capacity_l"]
        )
        self._held_at_start = gas_held_l(self._y, self._animal, self._circuit)
        self._passed_at_start = gas_passed_l(self._y, self._circuit)

    # -- what is set ---------------------------------------------------------------------------------

    def _build(self) -> None:
        """Make the three records anew from case, settings, faults and what is being done by hand."""
        values = RunValues(
            animal_values(self.case, self.settings, self._multipliers),
            circuit_values(self.case, self.settings),
            ventilator_values(self.case, self.settings),
        )
        for group, changes in self._overlay.items():
            getattr(values, group).update(changes)
        for code, severity in self._faults.items():
            apply_fault(values, code, severity)
        keep_possible(values.animal)
        self._values = values
        self._animal = record(ANIMAL, values.animal)
        self._circuit = record(CIRCUIT, values.circuit)
        self._ventilator = record(VENTILATOR, values.ventilator)
        yield_ml = figure(f"agents.{self.settings.agent}.vapour_yield_ml_ml").value
        barometric = values.circuit["barometric_pressure_mmhg"]
        to_flowmeter_l = 1.0 / (310.15 / 293.15 * barometric / (barometric - 47.0))
        self._liquid_ml_per_l = 1000.0 * to_flowmeter_l / yield_ml * barometric / 760.0
        self._to_flowmeter = to_flowmeter_l
        if hasattr(self, "_y"):
            set_ventilated_fraction(self._y, self._animal.ventilated_fraction)

    def set(self, **settings: float | str | bool) -> None:
        """Change settings at once, as a change in a case file would; PEEP of a CPAP stays until taken off.

        Raises InputError where they cannot be set together, and then nothing has changed.
        """
        now = Stretch(from_min=0.0, settings=self.settings, assumed_settings=self._assumed)
        change = Change(at_min=min(self.time_s / 60.0, LONGEST_CASE_MIN), settings=settings)
        *_, after = stretches(now, (change,), self.case.circumstances)
        self.settle(after.settings, after.assumed_settings)

    def settle(self, settings: Settings, assumed_settings: tuple[str, ...] = ()) -> None:
        """Take over complete settings; the assumed ones follow when what they depend on changes."""
        self.settings = settings
        self._assumed = assumed_settings
        self._build()

    def fault(self, code: str, severity_fraction: float = 1.0) -> None:
        """Begin a fault (or change its severity); severity 0 clears it."""
        check_severity(code, severity_fraction)
        self._faults.pop(code, None)
        if severity_fraction > 0.0:
            self._faults[code] = severity_fraction
        self._build()

    @property
    def active_faults(self) -> dict[str, float]:
        """Faults now present, with their severity."""
        return dict(self._faults)

    @property
    def sensor_errors(self) -> dict[str, float]:
        """What the present faults do to instruments, see `sensors`."""
        return dict(self._values.sensors)

    # -- time ----------------------------------------------------------------------------------------

    @property
    def time_s(self) -> float:
        """Time since the case began [s]."""
        return float(self._y[s.TIME])

    def advance(self, span_s: float) -> list[Block]:
        """Run on by `span_s` seconds, to the nearest 0.1 s; returns its curves, if asked for.

        Never beyond `until_s`, which ends what is being done by hand as well.
        """
        span_s = max(0.0, min(span_s, self.until_s - self.time_s))
        parts = self._parts_of_step()
        dt_s, per_tick, trace_every = (
            self.dt_s / parts,
            self._steps_per_tick * parts,
            self._trace_every * parts,
        )
        self._y[s.STEP_COUNT] = round(self.time_s / TICK_S) * per_tick
        steps = round(span_s / TICK_S) * per_tick
        capacity = steps // trace_every + 1 if trace_every else 1
        traces = np.zeros((capacity, len(s.TRACE_CHANNELS)))
        first = self._trace_index
        filled = 0
        chunk = round(60.0 / TICK_S) * per_tick
        while steps > 0:
            if self._stop is not None and self._stop.is_set():
                raise StoppedError(where="simulation", given="a stop", allowed="nothing", do="Run it again.")
            now = min(steps, chunk)
            rows = np.zeros((ROWS_PER_CALL + now // per_tick, len(s.BREATH_KEYS)))
            written, filled = run_steps(
                self._y, self._animal, self._circuit, self._ventilator, now, dt_s, per_tick,
                rows, 0, traces, trace_every, filled,
            )  # fmt: skip
            self.breaths.extend(self._breath(row) for row in rows[:written].tolist())
            steps -= now
            if not np.isfinite(self._y).all():
                raise SimulationError(
                    where="simulation",
                    given=f"{self.time_s / 60:.1f} min into the case",
                    allowed="finite pressures and fractions",
                    do="Report this case: the model should bound every animal. Try a milder fault.",
                )
        if not self._trace_every:
            return []
        self._trace_index += filled
        self.traces.append(traces[:filled])
        rate_hz = 1.0 / (self._trace_every * self.dt_s)
        return [
            Block(
                epoch="simulation", channel=channel, unit=TRACE_UNITS[channel], rate_hz=rate_hz,
                start_index=first, values=traces[:filled, i].tolist(),
            )
            for i, channel in enumerate(s.TRACE_CHANNELS)
        ]  # fmt: skip

    def _parts_of_step(self) -> int:
        """Return in how many parts a step is taken: more than one only where the circuit is stiff.

        Pressure then follows flow so fast that a valve which opens within a long step makes it swing.
        """
        c, a = self._values.circuit, self._values.animal
        if c["port"] == OPEN_TO_AIR:
            return 1  # no valve
        narrowest = min(c["expiratory_resistance_cmh2o_s_l"], c["inspiratory_resistance_cmh2o_s_l"])
        airway = a["airway_resistance_cmh2o_s_l"] + a["tube_laminar_cmh2o_s_l"]
        conductance = 1.0 / narrowest + 1.0 / airway
        stiffness = self.dt_s * conductance / c["compliance_l_cmh2o"]
        return min(max(1, math.ceil(stiffness / LARGEST_STIFFNESS)), MOST_PARTS)

    def _breath(self, row: list[float]) -> Breath:
        """Make a breath of a kernel row: None for what was not there, gas and liquid as a person counts."""
        values = {
            key: (None if value != value else value)  # noqa: PLR0124 - not a number differs from itself
            for key, value in zip(s.BREATH_KEYS, row, strict=True)
        }
        values["oxygen_used_l"] = row[-3] * self._to_flowmeter
        values["agent_liquid_used_ml"] = row[-2] * self._liquid_ml_per_l
        return Breath(**values)  # type: ignore[arg-type]  # time_s is never missing

    # -- what is done by hand ------------------------------------------------------------------------

    def manoeuvre(self, done: Manoeuvre) -> None:
        """Do something once; returns when it is over and the former settings are back."""
        if isinstance(done, DeepBreath | InspiratoryHold):
            self._next_breath(done)
        elif isinstance(done, Recruitment):
            self._recruit(done)
        elif isinstance(done, ExpiratoryHold):
            self._to_end_expiration()
            self._during({"ventilator": {"valves_held": 1.0}}, done.hold_s)
        elif isinstance(done, HandVentilation):
            self._during({"ventilator": self._by_hand(done.volume_l, done.rate_per_min)}, done.minutes * 60.0)
        elif isinstance(done, DemandValve):
            volume_l = DEMAND_VOLUME_ML_KG * self.case.animal.weight_kg / 1000.0
            hand = self._by_hand(volume_l, done.rate_per_min)
            hand["inspiratory_time_s"] = min(volume_l / 2.5, 30.0 / done.rate_per_min)
            self._during({"circuit": self._off_circle(2.0), "ventilator": hand}, done.minutes * 60.0)
        elif isinstance(done, Disconnect):
            self._during({"circuit": self._off_circle(1.0)}, done.minutes * 60.0)
        elif isinstance(done, Flush):
            flow = {
                "fresh_gas_flow_l_s": FLUSH_FLOW_L_S,
                "fresh_oxygen_fraction": 1.0,
                "vapour_fraction": 0.0,
            }
            self._during({"circuit": flow}, done.seconds_s)

    def _by_hand(self, volume_l: float, rate_per_min: float) -> dict[str, float]:
        return {
            "mode": 1.0,
            "tidal_volume_l": volume_l,
            "cycle_s": 60.0 / rate_per_min,
            "inspiratory_time_s": min(HAND_INSPIRATION_S, 30.0 / rate_per_min),
            "pause_s": 0.0,
            "trigger_flow_l_s": 0.0,
            "pressure_limit_cmh2o": HAND_LIMIT_CMH2O,
            "compliance_compensated": 0.0,
        }

    def _next_breath(self, done: DeepBreath | InspiratoryHold) -> None:
        """Let the machine's next breath be a deep or a held one, or give it by hand where it cannot."""
        mode = self._ventilator.mode
        if isinstance(done, DeepBreath) and mode == VOLUME:
            self._y[s.OVERRIDE_VOLUME] = done.volume_l
            self._y[s.OVERRIDE_TIME] = done.inspiratory_time_s
        elif isinstance(done, DeepBreath):
            self._one_by_hand(done.volume_l, done.inspiratory_time_s)
        elif mode != NO_MACHINE:
            self._y[s.OVERRIDE_PAUSE] = done.hold_s
        else:
            self._one_by_hand(self.settings.tidal_volume_l, HAND_INSPIRATION_S, done.hold_s)

    def _one_by_hand(self, volume_l: float, inspiratory_time_s: float, pause_s: float = 0.0) -> None:
        """Squeeze the bag once, hold it, and let it go."""
        cycle_s = inspiratory_time_s + pause_s + HAND_EXPIRATION_S
        hand = self._by_hand(volume_l, 60.0 / cycle_s)
        hand |= {"inspiratory_time_s": inspiratory_time_s, "pause_s": pause_s}
        self._y[s.CYCLE_TIME] = cycle_s  # it begins at once
        self._during({"ventilator": hand}, cycle_s)

    def _off_circle(self, port: float) -> dict[str, float]:
        """Lead the animal to another port; nothing where no animal is on the circle."""
        return {} if self.case.equipment.patient_port in NO_LUNG else {"port": port}

    def _during(self, overlay: dict[str, dict[str, float]], span_s: float) -> None:
        self._overlay = overlay
        self._build()
        self.advance(span_s)
        self._overlay = {}
        self._build()
        self._y[s.PHASE] = 0.0
        self._y[s.PHASE_TIME] = 0.0

    def _to_end_expiration(self) -> None:
        """Run on until just before the next machine breath."""
        if self._ventilator.mode < 0.5:  # noqa: PLR2004 - no machine breathes
            return
        left_s = self._ventilator.cycle_s - self._y[s.CYCLE_TIME]
        if left_s > TICK_S:
            self.advance(math.floor((left_s - self.dt_s) / TICK_S) * TICK_S)

    def _recruit(self, done: Recruitment) -> None:
        self._to_end_expiration()
        for pressure in done.pressures_cmh2o:
            self._write_row()
            hold = {"mode": 3.0, "inspiratory_pressure_cmh2o": pressure}
            self._during({"ventilator": hold}, done.hold_s)
            self._y[s.CYCLE_TIME] = 0.0  # the lung empties before the machine goes on
            self.advance(BETWEEN_STEPS_S)
        self._write_row()

    def _write_row(self) -> None:
        """Close the row of what has been going on, so that a hold has one of its own."""
        rows = np.zeros((1, len(s.BREATH_KEYS)))
        written = write_breath(self._y, self._animal, self._circuit, rows, 0)
        self.breaths.extend(self._breath(row) for row in rows[:written].tolist())

    # -- looking, keeping ----------------------------------------------------------------------------

    def balance(self) -> dict[str, float]:
        """Residual of each gas: what is held less what was held, came, went, was used and made [L BTPS]."""
        held = gas_held_l(self._y, self._animal, self._circuit)
        waiting = TICK_S * (
            self._y[s.HELD_FAST : s.HELD_FAST + s.SPECIES] + self._y[s.HELD_SLOW : s.HELD_SLOW + s.SPECIES]
        )
        passed = gas_passed_l(self._y, self._circuit) - self._passed_at_start
        residual = held + waiting - self._held_at_start - passed
        return dict(zip(GASES, residual.tolist(), strict=True))

    def ledger_l(self) -> dict[str, float]:
        """Gas that came and went since the case began, by where, as the circle counts it [L BTPS]."""
        y = self._y
        came_l = float(y[s.GAS_IN : s.GAS_IN + s.SPECIES].sum())
        went_l = float(y[s.GAS_OUT : s.GAS_OUT + s.SPECIES].sum())
        told = {
            "made_up_l": float(y[s.MADE_UP]),
            "room_air_l": float(y[s.ENTRAINED]),
            "spilled_l": float(y[s.SPILLED]),
            "leaked_l": float(y[s.LEAKED]),
        }
        told["fresh_gas_l"] = came_l - told["made_up_l"] - told["room_air_l"]
        told["sampled_l"] = went_l - told["spilled_l"] - told["leaked_l"]
        dry_mmhg = self._values.circuit["barometric_pressure_mmhg"] - WATER_VAPOUR_MMHG
        told["oxygen_used_l"] = float(y[s.USED_O2]) * LITRES_BTPS_MMHG / dry_mmhg
        return told

    def reservoir_l(self) -> float:
        """Gas in the reservoir now."""
        c = self._values.circuit
        held_l = c["fixed_volume_l"] + c["compliance_l_cmh2o"] * self._y[s.PRESSURE]
        return float(self._y[s.CIRCLE_VOLUME] - held_l)

    def state(self) -> bytes:
        """Everything needed to go on from here, with a hash of the model it belongs to."""
        numbers: bytes = self._y.astype(_KEPT_AS).tobytes()
        return _model_hash() + numbers

    def restore(self, kept: bytes) -> None:
        """Go back to a kept state; raises InputError where another model wrote it, or it is damaged."""
        ours = _model_hash()
        if kept[: len(ours)] != ours:
            raise InputError(
                where="state",
                given="a state of another version of the model",
                allowed="a state written by this version",
                do="Run the case again from its start.",
            )
        numbers = kept[len(ours) :]
        if len(numbers) != s.SIZE * _KEPT_AS.itemsize:
            raise InputError(
                where="state",
                given="a damaged state",
                allowed="a state as it was kept",
                do="Keep it as bytes, unchanged.",
            )
        self._y = np.frombuffer(numbers, dtype=_KEPT_AS).astype(np.float64)
        set_ventilated_fraction(self._y, self._animal.ventilated_fraction)


@cache
def _model_hash() -> bytes:
    """Return what tells this version of the model from others; its files do not change under a process."""
    return hashlib.sha256(f"{formula_hash()} {s.SIZE}".encode()).digest()


def start(case: Case, *, dt_s: float = 0.01, trace_rate_hz: float = 50.0) -> LiveCase:
    """Start a live run of a case."""
    return LiveCase(case, dt_s=dt_s, trace_rate_hz=trace_rate_hz)
