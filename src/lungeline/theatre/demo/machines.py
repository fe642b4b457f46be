"""The equipment of the made-up clinic, and half a year of its leak tests: one circle is getting worse."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from lungeline.case import Animal, Case
from lungeline.check import Circuit, HeldFlow, Item, breaths_of, compensating_flow, judge_leak, leak_in_use
from lungeline.theatre.desk import Desk
from lungeline.theatre.equipment import Equipment
from lungeline.theatre.kept_checks import keep_leak

_TEST_CMH2O, _STEP_L_MIN, _SEED = 30.0, 0.05, 20
_HORSE_KG = 500.0
_EVERY_DAYS = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class _Told:
    """A circle and its leaks, the oldest first [L/min]."""

    item: Item
    leaks_l_min: Sequence[float] = ()


def _all(today: datetime) -> tuple[_Told, ...]:
    def day(after_days: int) -> str:
        return (today + timedelta(days=after_days)).date().isoformat()

    large = Item(
        sort="circle", name="Large circle A", serial="C-014", capacity_l=30.0, service_due_on=day(120),
        absorbent_used_hours=5.5, absorbent_good_for_hours=9.0,
    )  # fmt: skip
    worse = replace(large, name="Large circle B", serial="C-015", service_due_on=day(21))
    small = replace(large, name="Foal circle", serial="C-021", capacity_l=8.0, service_due_on=day(200))
    ventilator = Item(sort="ventilator", name="Theatre 1 ventilator", serial="V-3", service_due_on=day(90))
    vaporiser = Item(sort="vaporiser", name="Isoflurane 1", serial="I-7", service_due_on=day(-12))
    cylinder = Item(sort="cylinder", name="Reserve oxygen", capacity_l=50.0, pressure_test_due_on=day(400))
    return (
        _Told(item=large, leaks_l_min=[0.12 + 0.02 * (place % 3) for place in range(12)]),
        _Told(item=worse, leaks_l_min=[0.12 + 0.035 * place for place in range(12)]),
        _Told(item=small, leaks_l_min=[0.05] * 6),
        *(_Told(item=item) for item in (ventilator, vaporiser, cylinder)),
    )


def make_machines(desk: Desk, now: datetime, at: Callable[[datetime], None]) -> None:
    """Register them and tell their tests, each on its day. at: is called with the time to tell at."""
    equipment = Equipment(desk=desk)
    draws = np.random.default_rng(_SEED)
    for told in _all(now):
        first = now - timedelta(days=_EVERY_DAYS * (len(told.leaks_l_min) + 1))
        at(first)
        equipment.add(told.item)
        for place, leak_l_min in enumerate(told.leaks_l_min, start=1):
            at(first + timedelta(days=_EVERY_DAYS * place))
            _test(equipment, told.item, leak_l_min * float(draws.uniform(0.92, 1.08)))


def _test(equipment: Equipment, item: Item, leak_l_min: float) -> None:
    """Keep a test as somebody at a flowmeter reads it: a flow that holds, one that rises, one that falls."""
    read_l_min = max(round(leak_l_min / _STEP_L_MIN) * _STEP_L_MIN, _STEP_L_MIN)
    held = HeldFlow(
        pressure_cmh2o=_TEST_CMH2O, flow_l_min=read_l_min, rises_at_l_min=read_l_min + 2 * _STEP_L_MIN,
        falls_at_l_min=math.fabs(read_l_min - _STEP_L_MIN), circuit=Circuit(volume_l=item.capacity_l),
    )  # fmt: skip
    test = compensating_flow(held)
    case = Case(animal=Animal(species="horse", weight_kg=_HORSE_KG))
    keep_leak(equipment, item.name, judge_leak(test, leak_in_use(test, breaths_of(case))))
