"""Animals for the bench of explanation: of another structure than the ranking's, instruments erring."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from explain_faults import LAWS, UNLISTED, Law
from numpy.random import Generator

from lungeline.case import Animal, Breath, Case, Place, Reading, Settings
from lungeline.explain.assumed import Assumed
from lungeline.explain.channel import HOLD_KEY, PLATEAU_KEY
from lungeline.simulate.herd import draw_multipliers
from lungeline.simulate.instruments import blood_gas_instruments, counting, usual_instruments
from lungeline.simulate.kernel.parameters import ANIMAL, CIRCUIT, VENTILATOR, record
from lungeline.simulate.kernel.trapped import set_ventilated_fraction
from lungeline.simulate.live import LiveCase
from lungeline.simulate.sensors import measure
from lungeline.simulate.setup import STRUCTURES, keep_possible

STEP_S = 0.02
READ_BREATHS = 5
WEIGHT_ERROR = 0.06
SETTLED_S = (1200.0, 1800.0)
ONSET_S = (90.0, 480.0)
WELL_S = 300.0  # of readings while all is well
ROW_S = 60.0  # a row of readings a minute, each the mean of five breaths
# no pause is set; somebody counts the animal's own breaths
INSTRUMENTS = (*(it for it in usual_instruments() if it.key != "plateau_pressure_cmh2o"), counting())
# what goes missing together
DEVICES: dict[str, tuple[str, ...]] = {
    "spirometer": ("tidal_volume_inspired_l", "tidal_volume_expired_l"),
    "stroke scale": ("tidal_volume_inspired_l@reservoir",),
    "reservoir scale": ("spare_volume_l",),
    "pressure gauge": (
        "peak_pressure_cmh2o", "mean_airway_pressure_cmh2o", "end_expiratory_pressure_cmh2o",
        "respiratory_rate_per_min", "own_breaths_per_min",
    ),
    "capnograph": ("etco2_mmhg", "fico2_mmhg"),
    "oxygen cell": ("fio2_fraction",),
    "agent analyser": ("inspired_agent_fraction", "end_tidal_agent_fraction", "mac_multiple"),
    "pulse oximeter": ("spo2_fraction",),
    "arterial line": ("map_mmhg", "heart_rate_per_min"),
}  # fmt: skip
MISSING_CHANCE, LEAST_DEVICES = 1.0 / 3.0, 3


class Broken(LiveCase):
    """A running case with a fault by a law of its own."""

    mischief: tuple[Law, float] | None = None

    def _build(self) -> None:
        super()._build()
        if self.mischief is None:
            return
        values = self._values
        law, severity = self.mischief
        law(values, severity)
        keep_possible(values.animal)
        self._animal = record(ANIMAL, values.animal)
        self._circuit = record(CIRCUIT, values.circuit)
        self._ventilator = record(VENTILATOR, values.ventilator)
        set_ventilated_fraction(self._y, self._animal.ventilated_fraction)

    def break_by(self, code: str, severity: float) -> None:
        """Begin a fault by the bench's own law."""
        law = {**LAWS, **UNLISTED}.get(code)
        self.mischief = None if law is None else (law, severity)
        self._build()


@dataclass(slots=True, kw_only=True)
class Subject:
    """One true animal, settled; and the case as those around it know it, its weight a few percent wrong."""

    live: Broken
    kept: bytes
    known: Case
    before: list[Reading]
    changed_s: float
    wander: Mapping[str, float]
    last: Breath = field(default_factory=lambda: Breath(time_s=0.0))


def subject(seed: int, assumed: Assumed, *, changed: bool = True) -> Subject:
    """Return a drawn animal, settled, with readings while all is well."""
    g = np.random.default_rng(seed)
    weight_kg = g.uniform(350.0, 650.0)
    tidal_l = round(weight_kg * g.uniform(11.0, 15.0) / 1000.0, 1)
    peep = float(g.choice([0.0, 5.0, 10.0]))
    settings = Settings(
        tidal_volume_l=tidal_l, respiratory_rate_per_min=float(g.integers(5, 10)), peep_cmh2o=peep,
        fresh_gas_flow_l_min=round(g.uniform(3.0, 10.0), 1), pressure_limit_cmh2o=50.0,
        fresh_gas_oxygen_fraction=float(g.choice([0.8, 1.0])),
    )  # fmt: skip
    position = "dorsal" if g.random() < 0.7 else "left lateral"  # noqa: PLR2004  as the ranking's targets were set
    true = Case(animal=Animal(species="horse", weight_kg=weight_kg, position=position), settings=settings)
    guessed_kg = weight_kg * float(np.exp(WEIGHT_ERROR * g.standard_normal()))
    known = replace(true, animal=replace(true.animal, weight_kg=guessed_kg), place=Place())
    multipliers = draw_multipliers("horse", 1, seed + 7_000_000)[0]
    if changed:
        multipliers |= dict.fromkeys(STRUCTURES, 1.0)
    live = Broken(true, dt_s=STEP_S, multipliers=multipliers)
    live.advance(g.uniform(*SETTLED_S))
    it = Subject(
        live=live, kept=live.state(), known=known, before=[], changed_s=live.time_s, wander=assumed.wander
    )
    it.before = _row_by_row(it, live.breaths, live.time_s - np.arange(0.0, WELL_S, ROW_S), WELL_S, g)
    return it


def _read(it: Subject, breaths: list[Breath], g: Generator, moved: Mapping[str, float]) -> list[Reading]:
    """Measure breaths whose quantities have wandered a little since all was well."""
    found = []
    for breath in breaths:
        values = {
            key: None if value is None else value + moved.get(key, 0.0)
            for key, value in breath.as_values().items()
        }
        found += measure(Breath.from_values(values), INSTRUMENTS, it.live.sensor_errors, g)
    return found


def happened(it: Subject, code: str, severity: float, g: Generator) -> tuple[list[Reading], float]:
    """Let something happen; return readings, a row a minute, and until when all was well."""
    live = it.live
    live.mischief = None
    live.restore(it.kept)
    first = len(live.breaths)
    live.break_by(code, severity)
    live.advance(g.uniform(*ONSET_S))
    rows = live.breaths[first:]
    it.last = rows[-1]
    del live.breaths[first:]
    ends_s = np.arange(live.time_s, it.changed_s, -ROW_S)[::-1]
    since = _row_by_row(it, rows, ends_s, live.time_s - it.changed_s, g)
    return [*it.before, *since], it.changed_s


def _row_by_row(
    it: Subject, breaths: list[Breath], ends_s: Iterable[float], span_s: float, g: Generator
) -> list[Reading]:  # fmt: skip
    """Return rows of readings that end at these times, each of the last five breaths of its minute.

    ends_s: from the change on, or from it back; quantities wander at random, as is usual in `span_s`.
    Delays of analysers are left out: readings are stamped with the end of their breath.
    """
    wandered, at_s, readings = dict.fromkeys(it.wander, 0.0), it.changed_s, list[Reading]()
    for end_s in ends_s:
        step, at_s = math.sqrt(abs(end_s - at_s) / span_s), end_s
        for key, sd in it.wander.items():
            wandered[key] += sd * step * float(g.standard_normal())
        for row in [row for row in breaths if end_s - ROW_S < _ended_s(row) <= end_s][-READ_BREATHS:]:
            readings += [replace(r, time_s=_ended_s(row)) for r in _read(it, [row], g, wandered)]
    return readings


def _ended_s(breath: Breath) -> float:
    """Return when a breath was over: before that nothing of it is shown."""
    rate_per_min = breath.respiratory_rate_per_min
    return breath.time_s + 60.0 / rate_per_min if rate_per_min else breath.time_s


def some_missing(readings: list[Reading], g: Generator) -> list[Reading]:
    """Return what is left where each device is missing by a chance of a third, three at least staying."""
    names = list(DEVICES)
    while True:
        stay = [name for name in names if g.random() > MISSING_CHANCE]
        if len(stay) >= LEAST_DEVICES:
            break
    kept = {channel for name in stay for channel in DEVICES[name]}
    return [r for r in readings if _channel(r) in kept]


def _channel(reading: Reading) -> str:
    return f"{reading.key}@reservoir" if reading.source == "ventilator" else reading.key


def after_test(it: Subject, reads: tuple[str, ...], g: Generator) -> list[Reading]:
    """Return what a test that measures shows of the animal as it stands now."""
    tools = {tool.key: tool for tool in (*usual_instruments(), *blood_gas_instruments())}
    held = _held(it.last)
    shown = replace(it.last, plateau_pressure_cmh2o=held.get(PLATEAU_KEY))
    found = measure(shown, [tools[key] for key in reads if key in tools], it.live.sensor_errors, g)
    if HOLD_KEY in reads:
        shown = replace(it.last, end_expiratory_pressure_cmh2o=held.get(HOLD_KEY))
        gauge = [tools["end_expiratory_pressure_cmh2o"]]
        found += [replace(r, key=HOLD_KEY) for r in measure(shown, gauge, it.live.sensor_errors, g)]
    return found


def _held(breath: Breath) -> dict[str, float]:
    """Return the pressures that a breath held out and one held in would show; none where nothing is known."""
    baseline, compliance = breath.end_expiratory_pressure_cmh2o, breath.compliance_l_cmh2o
    if baseline is None or not compliance:
        return {}
    out = baseline + (breath.trapped_volume_l or 0.0) / compliance
    return {HOLD_KEY: out, PLATEAU_KEY: out + (breath.tidal_volume_inspired_l or 0.0) / compliance}
