"""How often a healthy animal is found fault with while it is watched; and how soon a severe fault is told.

Eight hours, animals built otherwise than the model, readings every minute with the instruments' noise and
steps, each the mean of three breaths; they wander as assumed, analysers and transducers drift, the lung
stiffens a little; ordinary changes and manoeuvres every half hour or so, told to the watcher as a person
would. Somebody looks after the animal: rate follows carbon dioxide, agent a breath of its own, dobutamine low
pressure; the absorbent lasts. A life threat that is there in truth is no false finding. Then severe faults by
laws of their own in a few of the animals. `--seed` for animals nobody has seen.
"""

import argparse
import json
from collections import Counter
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from bench_explain import CORE
from explain_world import INSTRUMENTS, Broken
from numpy.random import Generator

from lungeline.case import Animal, Breath, Case, Equipment, Reading, Settings
from lungeline.case.manoeuvre import DeepBreath, Recruitment
from lungeline.explain.assumed import assumed
from lungeline.explain.channel import channels
from lungeline.explain.measured import measured, typed
from lungeline.explain.quiet import Watcher
from lungeline.explain.threats import threats
from lungeline.simulate.herd import draw_multipliers
from lungeline.simulate.sensors import measure
from lungeline.simulate.setup import STRUCTURES

SEED, ANIMALS, FAULT_ANIMALS = 20_262_201, 32, 4
HOURS, STEP_S, EVERY_S, READ_BREATHS = 8.0, 0.05, 60.0, 3
CHANGE_EVERY_MIN = (20.0, 50.0)
WANDER_MIN = 6.0  # in which wander forgets itself
# Drift in an hour, one standard deviation: assumed, more than a good instrument's and less than a bad one's.
DRIFT_PER_H: Mapping[str, float] = {
    "etco2_mmhg": 0.7, "fico2_mmhg": 0.2, "fio2_fraction": 0.005, "inspired_agent_fraction": 0.0003,
    "end_tidal_agent_fraction": 0.0003, "peak_pressure_cmh2o": 0.3, "end_expiratory_pressure_cmh2o": 0.3,
    "mean_airway_pressure_cmh2o": 0.3, "map_mmhg": 1.0, "heart_rate_per_min": 1.0,
    "tidal_volume_expired_l": 0.05, "tidal_volume_inspired_l": 0.05, "spare_volume_l": 0.1,
}  # fmt: skip
ABSORBENT_KG = 20.0  # as if it were changed in time
CARED_EVERY_MIN = 5.0
HIGH_ETCO2_MMHG, LOW_MAP_MMHG, MOST_DOBUTAMINE = 48.0, 62.0, 3.0
STIFFENS_PER_H = 0.01  # of chest-wall compliance
FAULT_AT_MIN, FOUND_WITHIN_MIN, SEVERE = 30.0, 15.0, 0.85


@dataclass(slots=True, kw_only=True)
class Patient:
    """A watched animal: as it runs, how its readings are off, and who watches."""

    live: Broken
    watcher: Watcher
    off: dict[str, float]
    slope: dict[str, float]
    g: Generator


def patient(seed: int) -> Patient:
    """Return a drawn animal, ventilated, before its first reading."""
    g = np.random.default_rng(seed)
    weight_kg = g.uniform(350.0, 650.0)
    settings = Settings(
        tidal_volume_l=round(weight_kg * g.uniform(11.0, 15.0) / 1000.0, 1),
        respiratory_rate_per_min=float(g.integers(5, 10)), peep_cmh2o=float(g.choice([0.0, 5.0, 10.0])),
        fresh_gas_flow_l_min=round(g.uniform(3.0, 10.0), 1), pressure_limit_cmh2o=50.0,
        fresh_gas_oxygen_fraction=float(g.choice([0.8, 1.0])),
    )  # fmt: skip
    position = "dorsal" if g.random() < 0.7 else "left lateral"  # noqa: PLR2004  as in the bench of causes
    case = Case(
        animal=Animal(species="horse", weight_kg=weight_kg, position=position), settings=settings,
        equipment=Equipment(absorbent_kg=ABSORBENT_KG),
    )  # fmt: skip
    drawn = draw_multipliers("horse", 1, seed + 7_000_000)[0] | dict.fromkeys(STRUCTURES, 1.0)
    live = Broken(case, dt_s=STEP_S, multipliers=drawn)
    live.advance(600.0)
    live.breaths.clear()
    slope = {key: sd * float(g.standard_normal()) for key, sd in DRIFT_PER_H.items()}
    return Patient(live=live, watcher=Watcher(case), off={}, slope=slope, g=g)


def read(it: Patient) -> list[Reading]:
    """Return what is read of the last breath; readings have wandered and drifted meanwhile."""
    keeps = float(np.exp(-EVERY_S / 60.0 / WANDER_MIN))
    for key, sd in assumed().wander.items():
        fresh = sd * float(it.g.standard_normal()) * float(np.sqrt(1.0 - keeps**2))
        it.off[key] = keeps * it.off.get(key, sd * float(it.g.standard_normal())) + fresh
    if not it.live.breaths:
        return []
    breath, hours = it.live.breaths[-1], it.live.time_s / 3600.0
    moved = {
        key: value + it.off.get(key, 0.0) + hours * it.slope.get(key, 0.0)
        for key, value in breath.as_values().items()
        if value is not None and key != "time_s"
    }
    shown = measure(
        Breath.from_values({**breath.as_values(), **moved}), INSTRUMENTS, it.live.sensor_errors, it.g
    )
    it.live.breaths.clear()
    return [replace(each, time_s=it.live.time_s) for each in shown]


def mean_of(breaths: list[Breath]) -> dict[str, float | None]:
    """Return what a monitor shows: the mean of the last breaths."""
    rows, found = [breath.as_values() for breath in breaths], dict[str, float | None]()
    for key in rows[0]:
        values = [value for row in rows if (value := row[key]) is not None]
        found[key] = sum(values) / len(values) if values else None
    return found


def care(it: Patient) -> None:
    """Look after the animal as anybody would, from what it truly has."""
    s, breath = it.live.settings, it.live.breaths[-1]
    new: dict[str, float] = {}
    if (breath.etco2_mmhg or 0.0) > HIGH_ETCO2_MMHG:
        new["respiratory_rate_per_min"] = min(s.respiratory_rate_per_min + 1.0, 12.0)
    if breath.own_breaths_per_min:
        new["vaporiser_percent"] = min(round(s.vaporiser_percent + 0.3, 1), 3.5)
    if (breath.map_mmhg or 100.0) < LOW_MAP_MMHG and s.dobutamine_ug_kg_min < MOST_DOBUTAMINE:
        new["dobutamine_ug_kg_min"] = round(s.dobutamine_ug_kg_min + 0.5, 1)
    if new:
        it.live.set(**new)
        it.watcher.changed(it.live.settings, it.live.time_s)


def true_threats(it: Patient, breath: Breath) -> set[str]:
    """Return the threats that are there in truth, with a little room for what one reading may err."""
    room = {"map_mmhg": -3.0, "spo2_fraction": -0.01, "etco2_mmhg": -2.0}
    values = {
        key: value + room.get(key, 0.0)
        for key, value in breath.as_values().items()
        if value is not None and key in {*channels()}
    }
    found = threats(measured(typed(values), assumed()), it.live.settings).findings
    return {each.code for each in found}


def something_ordinary(it: Patient) -> None:
    """Change something as people do, or do a manoeuvre; and tell the watcher."""
    s, g, live = it.live.settings, it.g, it.live
    what = g.choice(["rate", "volume", "peep", "flow", "agent", "oxygen", "deep", "recruit"])
    if what in {"deep", "recruit"}:
        deep = DeepBreath(volume_l=1.5 * (s.tidal_volume_l or 6.0))
        live.manoeuvre(deep if what == "deep" else Recruitment(pressures_cmh2o=(40.0, 50.0, 40.0)))
        it.watcher.expect(live.time_s)
        return

    def near(now: float, by: tuple[float, float], least: float, most: float) -> float:
        return round(float(np.clip(now + g.choice(by), least, most)), 1)

    new: dict[str, float] = {
        "rate": {"respiratory_rate_per_min": near(s.respiratory_rate_per_min, (-1.0, 1.0), 5.0, 12.0)},
        "volume": {"tidal_volume_l": round(s.tidal_volume_l * float(g.choice([0.9, 1.1])), 1)},
        "peep": {"peep_cmh2o": near(s.peep_cmh2o, (-5.0, 5.0), 0.0, 15.0)},
        "flow": {"fresh_gas_flow_l_min": near(s.fresh_gas_flow_l_min, (-3.0, 3.0), 3.0, 12.0)},
        "agent": {"vaporiser_percent": near(s.vaporiser_percent, (-0.3, 0.3), 2.0, 3.5)},
        "oxygen": {"fresh_gas_oxygen_fraction": float(g.choice([0.7, 0.8, 1.0]))},
    }[str(what)]
    live.set(**new)
    it.watcher.changed(live.settings, live.time_s)


def healthy(seed: int) -> tuple[list[str], Counter[str]]:
    """Watch one healthy animal; return false findings that are medium or higher, and all by code."""
    it = patient(seed)
    next_s = it.live.time_s + 60.0 * it.g.uniform(*CHANGE_EVERY_MIN)
    found: list[str] = []
    end_s, every = it.live.time_s + HOURS * 3600.0, Counter[str]()
    stiff = it.live._multipliers  # noqa: SLF001  nobody else lets a simulated animal change by itself
    while it.live.time_s < end_s:
        it.live.advance(EVERY_S)
        if it.live.breaths and it.live.time_s % (60.0 * CARED_EVERY_MIN) < EVERY_S:
            care(it)
        breath = it.live.breaths[-1] if it.live.breaths else Breath(time_s=0.0)
        raised = it.watcher.take(read(it))
        every.update(each.finding.code for each in raised)
        true = true_threats(it, breath) if raised else set[str]()
        found += [
            each.finding.code for each in raised if each.priority != "low" and each.finding.code not in true
        ]
        if it.live.time_s >= next_s:
            stiff["chest_wall_compliance_l_cmh2o"] *= 1.0 - STIFFENS_PER_H / 2.0
            something_ordinary(it)
            next_s = it.live.time_s + 60.0 * it.g.uniform(*CHANGE_EVERY_MIN)
    return found, every


def with_fault(seed: int, code: str) -> float | None:
    """Watch one animal to which something severe happens; return minutes to the first finding, or None."""
    it = patient(seed)
    begin_s = it.live.time_s
    end_s = begin_s + 60.0 * (FAULT_AT_MIN + FOUND_WITHIN_MIN)
    while it.live.time_s < end_s:
        if it.live.mischief is None and it.live.time_s >= begin_s + 60.0 * FAULT_AT_MIN:
            it.live.break_by(code, SEVERE)
        it.live.advance(EVERY_S)
        raised = [each for each in it.watcher.take(read(it)) if each.priority != "low"]
        if raised and it.live.mischief is not None:
            return (it.live.time_s - begin_s) / 60.0 - FAULT_AT_MIN
    return None


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--animals", type=int, default=ANIMALS)
    parser.add_argument("--fault-animals", type=int, default=FAULT_ANIMALS)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--json", action="store_true")
    args = parser.parse_args()
    faulty = [(args.seed + 500_000 + n, code) for n in range(args.fault_animals) for code in CORE]
    with ThreadPoolExecutor(max_workers=2) as pool:
        told = list(pool.map(healthy, range(args.seed, args.seed + args.animals)))
        after = list(pool.map(lambda each: with_fault(*each), faulty))
    counts = [len(found) for found, _ in told]
    every = sum((each for _, each in told), Counter[str]())
    found_min = [it for it in after if it is not None]
    missed = Counter(code for (_, code), it in zip(faulty, after, strict=True) if it is None)
    results = {
        "animals": args.animals, "seed": args.seed,
        "medium_or_higher_per_8_h": float(np.mean(counts)) * 8.0 / HOURS,
        "most_in_one_animal": max(counts), "animals_without_any": sum(it == 0 for it in counts),
        "severe_told_share": len(found_min) / len(after) if after else None,
        "severe_told_min": float(np.median(found_min)) if found_min else None,
        "severe_cases": len(after), "by_code": dict(every), "missed": dict(missed),
    }  # fmt: skip
    if args.json:
        print(json.dumps(results))
        return
    for name, value in results.items():
        print(f"{name}: {value}")


if __name__ == "__main__":
    main()
