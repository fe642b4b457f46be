"""This animal: the model's numbers that its readings move, by how much, and how sure they are.

Parameters are fitted on a logarithmic scale against what is usual (Gauss-Newton with the spread between
animals as the prior; two steps, by forward differences). What the readings do not move is not shown.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import dataclass, replace
from os import cpu_count
from typing import Any

import numpy as np

from lungeline.case import Case, Finding, Reading, Start
from lungeline.errors import InputError, SimulationError
from lungeline.explain.animals import STEP_S
from lungeline.explain.assumed import Assumed, assumed
from lungeline.explain.fit_data import Series, series
from lungeline.explain.shown import Array, Shown, looker
from lungeline.explain.trial import Trial
from lungeline.simulate.setup import species_parameters

# What readings can move, of what differs between animals; the last two hardly, but much rests on them.
FITTED = (
    "chest_wall_compliance_l_cmh2o",
    "airway_resistance_cmh2o_s_l",
    "superimposed_pressure_cmh2o",
    "shunt_per_closed_fraction",
    "alveolar_dead_space_fraction",
    "carbon_dioxide_output_l_min",
    "oxygen_use_l_min",
    "cardiac_output_l_min",
    "vascular_resistance_mmhg_min_l",
    "haemoglobin_g_dl",
    "resting_co2_mmhg",
)
LONGEST_MIN = 45.0  # of the past that is run again
STEPS, LARGEST_STEP, LARGEST_MOVE = 2, 2.0, 3.0  # spreads
DIFFERENCE = 0.5  # spreads; assumption
LEARNT = 0.8  # of the spread: what is left where readings have told something; assumption
EIGHTY_PERCENT = 1.2816  # standard normal, 10th and 90th percentile


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedNumber:
    """One number of the animal that the readings moved.

    value: as fitted; low, high: 80 % of what it may be; usual: of such an animal;
    left_fraction: of the spread between animals, what is still not known.
    """

    name: str
    value: float
    low: float
    high: float
    usual: float
    left_fraction: float

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        return {"name": self.name, "value": self.value, "low": self.low, "high": self.high,
                "usual": self.usual, "left_fraction": self.left_fraction}  # fmt: skip


@dataclass(slots=True, kw_only=True)
class Member:
    """One animal that could be this one, at the time of the newest reading; live is run, kept to go back."""

    live: Trial
    kept: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """This animal as fitted.

    numbers: those the readings moved; case: from its time on; at_min: that time, of the whole case;
    centre: the animal that fits best; others: one spread of what is not known off it, each on its own;
    usual: an unfitted animal; read: readings used, by quantity; last_gas: PaCO2 [mmHg] of the newest blood
    gas, and what the unfitted animal had then; dropped: simulated runs that were no numbers.
    """

    numbers: tuple[FittedNumber, ...]
    case: Case
    at_min: float
    centre: Member
    others: tuple[Member, ...]
    usual: Member | None
    read: Mapping[str, int]
    last_gas: tuple[float, float] | None
    dropped: int

    def findings(self) -> tuple[Finding, ...]:
        """Return what must be said about it."""
        found = []
        if not self.numbers:
            found.append(Finding(code="fit_nothing_learnt", severity="advice"))
        if self.dropped:
            figures = {"runs_number": float(self.dropped)}
            found.append(Finding(code="fit_runs_dropped", severity="note", figures={**figures}))
        if self.last_gas is None:
            found.append(Finding(code="ahead_no_gas", severity="advice"))
        return tuple(found)

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        return {
            "at_min": self.at_min, "numbers": [each.as_json() for each in self.numbers],
            "averages_read": dict(self.read), "blood_gas": self.last_gas is not None,
            "runs_dropped": self.dropped,
        }  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class _Problem:
    """What is fitted to what. spreads: of the logarithm of each number, between animals."""

    case: Case
    until_s: float
    data: Sequence[Series]
    names: tuple[str, ...]
    spreads: Array


@dataclass(slots=True, kw_only=True)
class _Ran:
    """One run: the animal at its end, how far the readings are from it, and what it would have shown."""

    live: Trial
    off: Array
    shown: Mapping[str, Sequence[Shown]]


def fit(
    case: Case,
    readings: Iterable[Reading],
    *,
    assuming: Assumed | None = None,
    pool: Executor | None = None,
) -> Fitted:
    """Return this animal as its readings tell.

    case: as it went, with its changes; its faults are left out. readings: on the case's clock, blood gases
    too; those of the last 45 minutes before the newest are used. assuming: other assumptions than the
    project's; pool: to run in, of its own where none is given. Raises InputError where no reading can be
    fitted, or the model cannot run the case.
    """
    given = [it for it in readings if it.value is not None and it.quality == "good"]
    if not given:
        raise InputError(where="readings", given="none", allowed="one at least", do="Give a reading.")
    problem = _problem(case, given, assuming or assumed())
    if pool is not None:
        return _fit(problem, _start_min(given), pool)
    with ThreadPoolExecutor(max_workers=cpu_count()) as own:
        return _fit(problem, _start_min(given), own)


def _start_min(given: Sequence[Reading]) -> float:
    return max(0.0, max(it.time_s for it in given) / 60.0 - LONGEST_MIN)


def _problem(case: Case, given: Sequence[Reading], assuming: Assumed) -> _Problem:
    from_min = _start_min(given)
    moved = [replace(it, time_s=it.time_s - from_min * 60.0) for it in given]
    data = series(moved, assuming, 0.0)
    if not data:
        raise InputError(
            where="readings", given=", ".join(sorted({it.key for it in given})),
            allowed=", ".join(sorted(assuming.misfit)), do="Give one that tells of the animal.",
        )  # fmt: skip
    later = tuple(replace(it, at_min=it.at_min - from_min) for it in case.changes if it.at_min > from_min)
    since = replace(case, settings=case.settings_at(from_min), changes=later, faults=(), assumed_settings=())
    if from_min > 0.0:  # what is run begins in the middle of a case, not where it was connected
        since = replace(since, start=Start(state="settled"))
    found = species_parameters(case.animal.species)
    names = tuple(name for name in FITTED if name in found and found[name].spread_log_sd)
    return _Problem(
        case=since, until_s=max(it.time_s for it in moved), data=data, names=names,
        spreads=np.array([found[name].spread_log_sd for name in names], dtype=float),
    )  # fmt: skip


def _fit(problem: _Problem, from_min: float, pool: Executor) -> Fitted:
    """Take the steps, then run the animals that are left possible."""
    count, dropped = len(problem.names), 0
    at, usual = np.zeros(count), _run(problem, np.zeros(count))
    centre, spread = usual, np.eye(count)
    for _ in range(STEPS):
        if centre is None:
            break
        slopes, lost = _slopes(problem, at, centre, pool)
        dropped += lost
        precision = np.eye(count) + slopes.T @ slopes
        step = np.linalg.solve(precision, -slopes.T @ centre.off - at)
        at = np.clip(at + np.clip(step, -LARGEST_STEP, LARGEST_STEP), -LARGEST_MOVE, LARGEST_MOVE)
        spread = np.linalg.cholesky(np.linalg.inv(precision))
        centre = _run(problem, at)
    if centre is None:
        raise InputError(
            where="case", given="a case the model cannot run", allowed="one it can", do="Check the settings."
        )
    others = [it for it in pool.map(lambda column: _run(problem, at + column), spread.T) if it]
    return Fitted(
        numbers=_numbers(problem, at, spread, centre), case=problem.case,
        at_min=from_min + problem.until_s / 60.0, centre=_member(centre),
        others=tuple(_member(it) for it in others), usual=None if usual is None else _member(usual),
        read={it.channel: len(it.values) for it in problem.data}, last_gas=_last_gas(problem, usual),
        dropped=dropped + count - len(others),
    )  # fmt: skip


def _slopes(problem: _Problem, at: Array, centre: _Ran, pool: Executor) -> tuple[Array, int]:
    """Return how what is off changes with each number, none where it cannot be run; and how many cannot."""
    count = len(at)
    # towards the usual animal, where the model runs best
    sides = np.where(at > 0.0, -DIFFERENCE, DIFFERENCE)
    ran = list(pool.map(lambda i: _run(problem, at + sides[i] * np.eye(count)[i]), range(count)))
    columns = [
        np.zeros_like(centre.off) if it is None else (it.off - centre.off) / side
        for it, side in zip(ran, sides, strict=True)
    ]
    return np.array(columns).T, sum(it is None for it in ran)


def _run(problem: _Problem, at: Array) -> _Ran | None:
    """Return the case as it would have gone in one animal; None where the model cannot run it."""
    factors = np.exp(at * problem.spreads).tolist()
    try:
        live = Trial(problem.case, dt_s=STEP_S, multipliers=dict(zip(problem.names, factors, strict=True)))
        rows = live.follow(problem.case.changes, problem.until_s)
    except SimulationError:
        return None
    look = looker(rows, live.sensor_errors)
    shown = {it.channel: [look(time_s) for time_s in it.times_s] for it in problem.data}
    off = np.concatenate([it.off(shown[it.channel]) for it in problem.data])
    return _Ran(live=live, off=off, shown=shown)


def _member(ran: _Ran) -> Member:
    return Member(live=ran.live, kept=ran.live.state())


def _numbers(problem: _Problem, at: Array, spread: Array, centre: _Ran) -> tuple[FittedNumber, ...]:
    """Return the numbers that the readings moved."""
    left = np.sqrt((spread**2).sum(axis=1))
    found = []
    for i, name in enumerate(problem.names):
        if left[i] > LEARNT:
            continue
        value = centre.live.number(name)
        apart = math.exp(EIGHTY_PERCENT * left[i] * problem.spreads[i])
        found.append(
            FittedNumber(
                name=name, value=value, low=value / apart, high=value * apart,
                usual=value / math.exp(at[i] * problem.spreads[i]), left_fraction=float(left[i]),
            )
        )  # fmt: skip
    return tuple(found)


def _last_gas(problem: _Problem, usual: _Ran | None) -> tuple[float, float] | None:
    """Return PaCO2 of the newest blood gas, and what an unfitted animal had then."""
    gases = [it for it in problem.data if it.channel == "paco2_mmhg"]
    if not gases or usual is None:
        return None
    told = usual.shown["paco2_mmhg"][-1].get("paco2_mmhg")
    return None if not told else (float(gases[0].values[-1]), told)
