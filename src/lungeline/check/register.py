"""The clinic's equipment: what there is, what it holds, when it is due; and past checks of each machine."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, fields
from datetime import date, datetime
from typing import Any, Literal, get_args

from lungeline.case import Finding, gravest_first
from lungeline.case.checks import check_record, checked_table
from lungeline.case.fields import choice, described, number, text
from lungeline.check.leak_found import LeakTest
from lungeline.check.trend import Trend, as_before, trend, worse_finding
from lungeline.errors import InputError

Sort = Literal["ventilator", "circle", "vaporiser", "cylinder", "tube", "monitor"]
Number = Literal["leak_ml_min", "compliance_ml_cmh2o"]
PAST_SCHEMA = "lungeline.past_leak_test/1"
ITEM_SCHEMA = "lungeline.equipment_item/1"
_SOON_DAYS = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One piece of equipment.

    capacity_l: reservoir, circle, vaporiser or water of a cylinder; bore_mm: of a tube.
    serviced_on: when it last was; service_due_on, pressure_test_due_on: when it next is; dates in ISO 8601.
    absorbent_used_hours, absorbent_good_for_hours: of a circle, since the last change.
    """

    sort: Sort = field(metadata=choice(get_args(Sort), "sort"))
    name: str = field(metadata=text(80, "name"))
    serial: str = field(default="", metadata=text(80, "serial number"))
    made_by: str = field(default="", metadata=text(80, "maker"))
    capacity_l: float | None = field(default=None, metadata=number(0.01, 500, "capacity"))
    bore_mm: float | None = field(default=None, metadata=number(2, 60, "bore"))
    serviced_on: str = field(default="", metadata=text(10, "serviced"))
    service_due_on: str = field(default="", metadata=text(10, "service due"))
    pressure_test_due_on: str = field(default="", metadata=text(10, "pressure test due"))
    absorbent_used_hours: float | None = field(default=None, metadata=number(0, 1000, "absorbent used"))
    absorbent_good_for_hours: float | None = field(
        default=None, metadata=number(0.1, 1000, "absorbent good for")
    )

    def __post_init__(self) -> None:
        """Refuse what cannot be read, dates among it."""
        check_record(self, "equipment_item")
        for name in ("serviced_on", "service_due_on", "pressure_test_due_on"):
            _day(getattr(self, name), f"equipment_item.{name}")

    def as_json(self) -> dict[str, Any]:
        """Return the item as a plain object."""
        return {"schema": ITEM_SCHEMA, **{item.name: getattr(self, item.name) for item in fields(self)}}


def item_from_json(given: dict[str, Any]) -> Item:
    """Return the item of a plain object."""
    told = {key: value for key, value in given.items() if key != "schema" and value is not None}
    return Item(**checked_table(described(Item), told, "equipment_item"))


def _day(written: str, where: str) -> date | None:
    if not written:
        return None
    try:
        return date.fromisoformat(written)
    except ValueError:
        raise InputError(
            where=where, given=written, allowed="a date such as 2026-05-31", do="Write year-month-day."
        ) from None


def due(items: Iterable[Item], today: str) -> tuple[Finding, ...]:
    """Return what is overdue or due within a month, and absorbent that is used up."""
    now = date.fromisoformat(today)
    found = []
    for item in items:
        for what, written in (("service", item.service_due_on), ("pressure test", item.pressure_test_due_on)):
            on = _day(written, "equipment_item")
            days = (on - now).days if on else _SOON_DAYS + 1
            if days <= _SOON_DAYS:
                code = "equipment_overdue" if days < 0 else "equipment_due_soon"
                severity: Literal["caution", "note"] = "caution" if days < 0 else "note"
                figures = {"name": item.name, "serial": item.serial, "what": what, "due_on": written}
                found.append(Finding(code=code, severity=severity, about=item.name, figures=figures))
        found += _about_absorbent(item)
    return gravest_first(found)


def _about_absorbent(item: Item) -> list[Finding]:
    used, good = item.absorbent_used_hours, item.absorbent_good_for_hours
    if used is None or good is None or used < good:
        return []
    return [
        Finding(
            code="absorbent_used_up",
            severity="caution",
            about=item.name,
            figures={"name": item.name, "absorbent_used_hours": used, "absorbent_good_for_hours": good},
        )
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class PastLeakTest:
    """One leak test as the log keeps it. at: when, in ISO 8601. The leak is that at 30 cmH2O."""

    machine: str
    at: str
    leak_ml_min: float
    leak_low_ml_min: float
    leak_high_ml_min: float
    compliance_ml_cmh2o: float | None = None
    compliance_low_ml_cmh2o: float | None = None
    compliance_high_ml_cmh2o: float | None = None
    checklist_stamp: str = ""

    @property
    def day(self) -> float:
        """Days since the first of all days, with their fraction."""
        moment = datetime.fromisoformat(self.at)
        return moment.toordinal() + (moment.hour * 60 + moment.minute) / (24.0 * 60.0)

    def interval(self, name: Number) -> tuple[float, float, float] | None:
        """Return value, low and high of a number, None where it was not measured."""
        value = getattr(self, name)
        if value is None:
            return None
        stem, unit = ("leak", "ml_min") if name == "leak_ml_min" else ("compliance", "ml_cmh2o")
        low, high = (getattr(self, f"{stem}_{end}_{unit}") for end in ("low", "high"))
        return value, value if low is None else low, value if high is None else high

    def as_json(self) -> dict[str, Any]:
        """Return the test as a plain object, as a store may keep it."""
        return {"schema": PAST_SCHEMA, **{item.name: getattr(self, item.name) for item in fields(self)}}


def past_from_json(given: dict[str, Any]) -> PastLeakTest:
    """Return the past test of a plain object."""
    if given.get("schema") != PAST_SCHEMA:
        raise InputError(
            where="past leak test",
            given=given.get("schema"),
            allowed=PAST_SCHEMA,
            do="Give a test of the log.",
        )
    return PastLeakTest(**{key: value for key, value in given.items() if key != "schema"})


def trend_of(past: Sequence[PastLeakTest], machine: str, name: Number = "leak_ml_min") -> Trend:
    """Return the trend of a number of one machine."""
    rows = [(test.day, getattr(test, name)) for test in past if test.machine == machine]
    told = [(day, value) for day, value in rows if value is not None]
    return trend([day for day, _ in told], [value for _, value in told])


def worse(past: Sequence[PastLeakTest], machine: str) -> tuple[Finding, ...]:
    """Return findings for every number of a machine that is getting worse."""
    names: tuple[Number, ...] = ("leak_ml_min", "compliance_ml_cmh2o")
    return tuple(
        finding for name in names for finding in worse_finding(trend_of(past, machine, name), name, machine)
    )


def against_before(now: PastLeakTest, past: Sequence[PastLeakTest]) -> tuple[Finding, ...]:
    """Return how a test compares with the last one of the same machine: as before, more or less."""
    before = max(
        (test for test in past if test.machine == now.machine and test.day < now.day),
        key=lambda test: test.day,
        default=None,
    )
    if before is None:
        return (Finding(code="leak_first_of_machine", severity="note", about="check.leak_ml_min"),)
    compared = as_before(_known(now), _known(before))
    codes = {"as before": "leak_as_before", "more": "leak_more_than_before", "less": "leak_less_than_before"}
    return (
        Finding(
            code=codes[compared],
            severity="caution" if compared == "more" else "note",
            about="check.leak_ml_min",
            figures={
                "leak_at_30_cmh2o_ml_min": now.leak_ml_min,
                "before_ml_min": before.leak_ml_min,
                "before_at": f"{datetime.fromisoformat(before.at):%Y-%m-%d %H:%M}",
            },
        ),
    )


def _known(test: PastLeakTest) -> tuple[float, float, float]:
    return test.leak_ml_min, test.leak_low_ml_min, test.leak_high_ml_min


def past_of(test: LeakTest, machine: str, at: str) -> PastLeakTest:
    """Return a leak test as the log of its machine keeps it. at: when, in ISO 8601."""
    try:
        datetime.fromisoformat(at)
    except ValueError:
        raise InputError(
            where="check.at", given=at, allowed="a time such as 2026-05-31T07:40", do="Write date T time."
        ) from None
    leak, store = test.at_30_cmh2o, test.compliance
    measured = store is not None and store.basis == "measured"
    return PastLeakTest(
        machine=machine,
        at=at,
        leak_ml_min=leak.value,
        leak_low_ml_min=leak.low,
        leak_high_ml_min=leak.high,
        compliance_ml_cmh2o=store.value if store and measured else None,
        compliance_low_ml_cmh2o=store.low if store and measured else None,
        compliance_high_ml_cmh2o=store.high if store and measured else None,
    )
