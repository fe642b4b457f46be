"""Animals, modes and sensors for `bench_breaths.py` and its short form in the tests; how they are scored."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import accumulate
from typing import Any

import numpy as np

from lungeline.case import Animal, Block, Case, Equipment, Settings
from lungeline.case.animal import Species
from lungeline.compare import WaveBreath
from lungeline.simulate import simulate
from lungeline.simulate.run import Run

RATE_HZ = 100.0
CUFF_LEAK = {"leak_at_30_cmh2o_ml_min": 20_000.0, "leak_place": "cuff"}  # about a sixth of a breath
SMALL_CUFF_LEAK = {"leak_at_30_cmh2o_ml_min": 5_000.0, "leak_place": "cuff"}
CIRCUIT_LEAK = {"leak_at_30_cmh2o_ml_min": 8_000.0, "leak_place": "circuit"}
# no published figures: what such sensors are commonly promised to do, and what a heart does to them
PRESSURE_NOISE_CMH2O, FLOW_NOISE_SHARE, CO2_NOISE_MMHG = 0.2, 0.018, 0.5  # flow: of the usual peak
HEART_PER_MIN, HEART_CMH2O, HEART_FLOW_SHARE = 36.0, 0.2, 0.018
DRIFT_SHARE, DRIFT_S = 0.007, 1200.0
ANALYSER_DELAY_S, ANALYSER_CONSTANT_S = 3.0, 0.1
_LEARNT = 8  # first breaths, in which zero and lag are learnt
_SAME_S = 0.5
_LEAST_ROW_L, _LEAST_RATE_PER_MIN = 0.05, 2.2  # rows of silence are no breaths


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUp:
    """One animal as it is ventilated. least_volume_l: smaller is no breath; usual_peak_l_s: of flow."""

    name: str
    species: Species
    weight_kg: float
    settings: Mapping[str, Any] = field(default_factory=dict)
    equipment: Mapping[str, Any] = field(default_factory=dict)
    usual_peak_l_s: float = 2.8
    leak_fraction: float = 0.0

    @property
    def least_volume_l(self) -> float:
        """1 mL/kg."""
        return self.weight_kg / 1000.0


_ASLEEP = {"injectable_mac_multiple": 1.0}  # does not breathe against the machine
SET_UPS = (
    SetUp(name="volume", species="horse", weight_kg=550.0),
    SetUp(name="volume, no PEEP", species="horse", weight_kg=450.0, settings={"peep_cmh2o": 0.0}),
    SetUp(name="volume, PEEP 10, pause", species="horse", weight_kg=550.0,
          settings={"peep_cmh2o": 10.0, "pause_s": 1.0}),
    SetUp(name="pressure", species="horse", weight_kg=550.0, settings={"mode": "pressure"}),
    SetUp(name="slowed expiration", species="horse", weight_kg=550.0, settings={"slowed_expiration": True}),
    SetUp(name="fast, gas trapped", species="horse", weight_kg=550.0,
          settings={"respiratory_rate_per_min": 14.0, "tidal_volume_l": 8.0, "inspiratory_time_s": 1.5}),
    SetUp(name="assisted", species="horse", weight_kg=550.0,
          settings={"mode": "assisted", "respiratory_rate_per_min": 6.0}),
    SetUp(name="spontaneous", species="horse", weight_kg=550.0, settings={"mode": "spontaneous"}),
    SetUp(name="cuff leaks", species="horse", weight_kg=550.0, equipment=CUFF_LEAK, leak_fraction=0.17),
    SetUp(name="cuff leaks a little", species="horse", weight_kg=550.0, equipment=SMALL_CUFF_LEAK,
          leak_fraction=0.05),
    SetUp(name="circuit leaks", species="horse", weight_kg=550.0, equipment=CIRCUIT_LEAK),
    SetUp(name="pony", species="pony", weight_kg=250.0, usual_peak_l_s=1.4),
    SetUp(name="foal", species="foal", weight_kg=50.0, settings=_ASLEEP, usual_peak_l_s=0.42),
    SetUp(name="foal, spontaneous", species="foal", weight_kg=50.0, settings={"mode": "spontaneous"},
          usual_peak_l_s=0.42),
    SetUp(name="cattle", species="cattle", weight_kg=600.0),
    SetUp(name="calf", species="calf", weight_kg=80.0, settings=_ASLEEP, usual_peak_l_s=0.6),
)  # fmt: skip


def simulated(set_up: SetUp, minutes: float) -> Run:
    """Return the truth."""
    case = Case(
        animal=Animal(species=set_up.species, weight_kg=set_up.weight_kg),
        settings=Settings(**set_up.settings),
        equipment=Equipment(**set_up.equipment),
    )
    return simulate(case, minutes, trace_rate_hz=RATE_HZ)


def noisy(run: Run, set_up: SetUp, seed: int) -> list[Block]:
    """Return the curves as sensors with noise, drift, a beating heart and a sample line show them."""
    time_s = run.traces["time_s"]
    random, count = np.random.default_rng(seed), len(time_s)
    beat = 2.0 * np.pi * HEART_PER_MIN / 60.0 * time_s + random.uniform(0.0, 2.0 * np.pi)
    slow = 2.0 * np.pi * time_s / DRIFT_S + random.uniform(0.0, 2.0 * np.pi)
    peak = set_up.usual_peak_l_s
    pressure = run.traces["pressure_cmh2o"] + HEART_CMH2O * np.sin(beat)
    flow = run.traces["flow_l_s"] + peak * (
        HEART_FLOW_SHARE * np.sin(beat + 1.0) + DRIFT_SHARE * np.sin(slow)
    )
    late = round(ANALYSER_DELAY_S * RATE_HZ)
    true = run.traces["co2_mmhg"]
    follows = np.exp(-1.0 / (RATE_HZ * ANALYSER_CONSTANT_S))
    delayed = np.concatenate([np.full(late, true[0]), true])[:count]
    co2 = np.array(list(accumulate(delayed, lambda shown, at: follows * shown + (1.0 - follows) * at)))
    curves = {
        "pressure_cmh2o": ("cmh2o", pressure + random.normal(0.0, PRESSURE_NOISE_CMH2O, count)),
        "flow_l_s": ("l_s", flow + random.normal(0.0, FLOW_NOISE_SHARE * peak, count)),
        "co2_mmhg": ("mmhg", co2 + random.normal(0.0, CO2_NOISE_MMHG, count)),
    }
    return [
        Block(
            epoch=f"seed {seed}",
            channel=channel,
            unit=unit,
            rate_hz=RATE_HZ,
            start_index=0,
            values=values.tolist(),
        )
        for channel, (unit, values) in curves.items()
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """Breaths that were there, missed, and made up; errors of the others by quantity."""

    breaths: int
    missed: int
    invented: int
    errors: Mapping[str, Sequence[float]]

    def told(self, key: str) -> bool:
        """Whether the quantity was measured at all."""
        return len(self.errors[key]) > 0

    def error(self, key: str, percent: float = 95.0) -> float:
        """Return the error that so many of the breaths do not exceed."""
        return float(np.percentile(np.abs(self.errors[key]), percent)) if self.told(key) else float("nan")


def scored(run: Run, found: Sequence[WaveBreath], minutes: float) -> Score:
    """Return how breaths found compare with those there were; the last ten seconds are not looked at.

    Compliance is compared where the animal did nothing, and nothing leaks from it: the model's own number is
    what passed the tube over the pressure it took.
    """
    last_s = minutes * 60.0 - 10.0
    there = [
        row for row in run.breaths
        if 1.0 < row.time_s < last_s and (row.tidal_volume_inspired_l or 0.0) > _LEAST_ROW_L
        and (row.respiratory_rate_per_min or 0.0) > _LEAST_RATE_PER_MIN
    ]  # fmt: skip
    begin_s = there[0].time_s - 1.0 if there else 0.0
    mine = [breath for breath in found if begin_s < breath.time_s < last_s]
    pairs = []
    for row in there:
        near = min(mine, key=lambda breath: abs(breath.time_s - row.time_s), default=None)
        if near is not None and abs(near.time_s - row.time_s) < _SAME_S:
            pairs.append((row, near))
    errors: dict[str, list[float]] = {
        "inspired_percent": [], "expired_percent": [], "peak_cmh2o": [], "compliance_percent": [],
    }  # fmt: skip
    for row, breath in pairs[_LEARNT:]:
        _compare(errors["inspired_percent"], breath.tidal_volume_inspired_l, row.tidal_volume_inspired_l)
        _compare(errors["expired_percent"], breath.tidal_volume_expired_l, row.tidal_volume_expired_l)
        if breath.peak_pressure_cmh2o is not None and row.peak_pressure_cmh2o is not None:
            errors["peak_cmh2o"].append(breath.peak_pressure_cmh2o - row.peak_pressure_cmh2o)
        if not row.own_breaths_per_min and run.case.equipment.leak_place != "cuff":
            _compare(errors["compliance_percent"], breath.compliance_l_cmh2o, row.compliance_l_cmh2o)
    matched = {id(breath) for _, breath in pairs}
    invented = sum(id(breath) not in matched for breath in mine)
    return Score(breaths=len(there), missed=len(there) - len(matched), invented=invented, errors=errors)


def _compare(errors: list[float], measured: float | None, true: float | None) -> None:
    if measured is not None and true:
        errors.append(100.0 * (measured / true - 1.0))
