"""What comes next under each choice: the fitted animal and those it may be, run on side by side."""

import math
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import dataclass, replace
from os import cpu_count
from typing import Any

import numpy as np

from lungeline.case import Case, Change, Finding
from lungeline.errors import OutOfRangeError, SimulationError
from lungeline.explain.assumed import Assumed, assumed
from lungeline.explain.fitting import EIGHTY_PERCENT, Fitted, Member
from lungeline.explain.shown import Array
from lungeline.physiology.blood_gases import OXYGEN_CAPACITY_ML_G, oxygen_content_from_saturation_l_l
from lungeline.physiology.oxygen_delivery import oxygen_delivery_l_min
from lungeline.simulate.kernel.state import BREATH_KEYS

MOST_CHOICES = 4
LONGEST_MIN = 60.0
GRID_MIN = 1.0
FORECAST_MIN = 30.0  # what [forecast] of the assumptions is for
KNOWN_NOW = 0.5  # of the model's variance of error, the share that is there at once; assumption
SHARES = ("pao2_mmhg",)  # whose error goes with the level
DELIVERY = "oxygen_delivery_l_min"
_PLACE = {name: i for i, name in enumerate(BREATH_KEYS)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """Something that could be done now.

    name: to call it by; changes: what is done, `at_min` counted from now; none to leave things as they are.
    """

    name: str
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """One quantity, minute by minute: what is expected, and 80 % of what may be. No number where none is."""

    middle: Array
    low: Array
    high: Array

    def as_json(self) -> dict[str, list[float | None]]:
        """Return it as a plain object."""
        lists = (("middle", self.middle), ("low", self.low), ("high", self.high))
        return {name: [float(v) if math.isfinite(v) else None for v in values] for name, values in lists}


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What comes next under one choice.

    minutes: from now; bands: by quantity; ratio_paco2_mmhg: the last blood gas scaled as an unfitted animal
    would change, a cross-check; agrees: whether that lies in the band at the end; animals, dropped: runs
    behind the bands, and runs that were no numbers; possible: whether the choice could be run at all.
    """

    choice: str
    minutes: Array
    bands: Mapping[str, Band]
    ratio_paco2_mmhg: float | None
    agrees: bool
    animals: int
    dropped: int
    possible: bool

    def findings(self) -> tuple[Finding, ...]:
        """Return what must be said about it."""
        if not self.possible:
            figures = {"choice": self.choice}
            return (Finding(code="ahead_not_possible", severity="caution", figures={**figures}),)
        if self.agrees:
            return ()
        return (
            Finding(
                code="ahead_disagrees", severity="caution", about="paco2_mmhg",
                figures={"choice": self.choice, "paco2_mmhg": self.ratio_paco2_mmhg},
            ),
        )  # fmt: skip

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        return {
            "choice": self.choice, "minutes": self.minutes.tolist(),
            "bands": {name: band.as_json() for name, band in self.bands.items()},
            "ratio_paco2_mmhg": self.ratio_paco2_mmhg, "agrees": self.agrees, "animals": self.animals,
            "runs_dropped": self.dropped, "possible": self.possible,
        }  # fmt: skip


def look_ahead(
    fitted: Fitted,
    choices: Sequence[Choice],
    *,
    minutes: float = 30.0,
    assuming: Assumed | None = None,
    pool: Executor | None = None,
) -> tuple[Outlook, ...]:
    """Return what comes next under each choice.

    fitted: the animal now; choices: one to four; minutes: 1 to 60; assuming: other assumptions than the
    project's; pool: to run in, of its own where none is given. Raises InputError for a choice that cannot
    be set; one the model cannot run is returned as not possible.
    """
    if not 1 <= len(choices) <= MOST_CHOICES:
        raise OutOfRangeError(
            where="choices", given=len(choices), allowed=f"1 to {MOST_CHOICES}", do="Choose fewer."
        )
    if not 1.0 <= minutes <= LONGEST_MIN:
        raise OutOfRangeError(
            where="minutes", given=minutes, allowed=f"1 to {LONGEST_MIN:g}", do="Look less far."
        )
    errors = (assuming or assumed()).forecast
    if pool is not None:
        return _all(fitted, choices, minutes, errors, pool)
    with ThreadPoolExecutor(max_workers=cpu_count()) as own:
        return _all(fitted, choices, minutes, errors, own)


def _all(
    fitted: Fitted, choices: Sequence[Choice], minutes: float, errors: Mapping[str, float], pool: Executor
) -> tuple[Outlook, ...]:
    """Run each animal through all choices: an animal is one running case, which goes back each time."""
    members = [fitted.centre, *fitted.others, *([] if fitted.usual is None else [fitted.usual])]
    grid = np.arange(GRID_MIN, minutes + 1e-9, GRID_MIN)

    def run(member: Member) -> list[Mapping[str, Array] | None]:
        return [_ahead(member, fitted.case, choice, grid, errors) for choice in choices]

    ran = list(pool.map(run, members))
    found = []
    for i, choice in enumerate(choices):
        tables = [each[i] for each in ran]
        usual = tables.pop() if fitted.usual is not None else None
        found.append(_outlook(choice.name, grid, tables, (fitted, usual), errors))
    return tuple(found)


def _ahead(
    member: Member, case: Case, choice: Choice, grid: Array, errors: Mapping[str, float]
) -> Mapping[str, Array] | None:
    """Return one animal's quantities on the grid; None where the model cannot run it."""
    live = member.live
    live.restore(member.kept)
    live.settle(case.settings_at(live.time_s / 60.0))
    begin_s = live.time_s
    later = [replace(it, at_min=it.at_min + begin_s / 60.0) for it in choice.changes]
    try:
        rows = live.follow(later, begin_s + float(grid[-1]) * 60.0)
    except SimulationError:
        return None
    finally:
        live.breaths.clear()
    return _on_grid(rows, begin_s + grid * 60.0, live.number("haemoglobin_g_dl"), errors)


def _on_grid(
    rows: Array, times_s: Array, haemoglobin_g_dl: float, errors: Mapping[str, float]
) -> Mapping[str, Array]:
    """Return quantities of the breath that ended last at each time, and the oxygen that is delivered."""
    if not len(rows):
        return {}
    last = np.clip(np.searchsorted(rows[:, 0], times_s, side="right") - 2, 0, len(rows) - 1)
    found = {name: rows[last, _PLACE[name]] for name in errors}
    content = [
        oxygen_content_from_saturation_l_l(spo2, pao2, haemoglobin_g_dl, OXYGEN_CAPACITY_ML_G)
        for spo2, pao2 in zip(found["spo2_fraction"], found["pao2_mmhg"], strict=True)
    ]
    delivered = map(oxygen_delivery_l_min, found["cardiac_output_l_min"], content)
    return {**found, DELIVERY: np.array(list(delivered))}


def _outlook(
    name: str,
    grid: Array,
    tables: Sequence[Mapping[str, Array] | None],
    known: tuple[Fitted, Mapping[str, Array] | None],
    errors: Mapping[str, float],
) -> Outlook:
    centre, others = tables[0], [it for it in tables[1:] if it]
    fitted, usual = known
    if not centre:
        return Outlook(
            choice=name, minutes=grid, bands={}, ratio_paco2_mmhg=None, agrees=True, animals=0,
            dropped=len(tables), possible=False,
        )  # fmt: skip
    growing = KNOWN_NOW + (1.0 - KNOWN_NOW) * grid / FORECAST_MIN
    bands = {}
    for key, middle in centre.items():
        error = errors.get(key, 0.0) * np.sqrt(growing) * (middle if key in SHARES else 1.0)
        apart = np.array([it[key] - middle for it in others]).reshape(len(others), len(grid))
        spread = np.sqrt(np.nansum(apart**2, axis=0) + error**2)
        top = 1.0 if key.endswith("_fraction") else math.inf
        least = -math.inf if key == "peak_pressure_cmh2o" else 0.0
        edges = (np.clip(middle + side * EIGHTY_PERCENT * spread, least, top) for side in (-1.0, 1.0))
        low, high = edges
        bands[key] = Band(middle=middle, low=low, high=high)
    ratio = _ratio(fitted, usual)
    band = bands["paco2_mmhg"]
    agrees = ratio is None or (not band.low[-1] > ratio and not ratio > band.high[-1])
    return Outlook(
        choice=name, minutes=grid, bands=bands, ratio_paco2_mmhg=ratio, agrees=bool(agrees),
        animals=1 + len(others), dropped=len(tables) - 1 - len(others), possible=True,
    )  # fmt: skip


def _ratio(fitted: Fitted, usual: Mapping[str, Array] | None) -> float | None:
    """Return the last blood gas times how much an unfitted animal's PaCO2 changes from then on."""
    if fitted.last_gas is None or not usual:
        return None
    gas, then = fitted.last_gas
    return gas * float(usual["paco2_mmhg"][-1]) / then


__all__ = ["Band", "Choice", "Outlook", "look_ahead"]
