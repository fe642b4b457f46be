"""Every field of a case is described once: unit, allowed range, words, meaning."""

import inspect
import re
from dataclasses import MISSING, fields

import pytest

from lungeline.case import (
    BREATH_KEYS,
    Animal,
    Breath,
    Case,
    Change,
    Equipment,
    FaultEvent,
    Place,
    Settings,
    Start,
)
from lungeline.case.fields import FieldDoc, described
from lungeline.case.manoeuvre import MANOEUVRES
from lungeline.simulate.kernel import state
from lungeline.units import unit_of

RECORDS = (Animal, Place, Start, Equipment, Settings, FaultEvent, *MANOEUVRES.values())
# a word of the day's work that is no quantity with a suffix
_UNSUFFIXED = {"minutes"}


@pytest.mark.parametrize("record", RECORDS)
def test_every_field_is_described(record: type) -> None:
    assert {doc.name for doc in described(record).values()} == {field.name for field in fields(record)}


@pytest.mark.parametrize("record", [*RECORDS, Case, Change, Breath])
def test_every_field_has_its_meaning_in_the_docstring(record: type) -> None:
    told = inspect.getdoc(record) or ""
    lost = [
        field.name for field in fields(record) if not re.search(rf"^{field.name}: \S", told, re.MULTILINE)
    ]
    assert lost == []


def numbers_of(record: type) -> list[FieldDoc]:
    return [doc for doc in described(record).values() if doc.kind in {"number", "numbers"}]


@pytest.mark.parametrize("record", RECORDS)
def test_every_number_names_its_unit_and_its_bounds(record: type) -> None:
    for doc in numbers_of(record):
        assert doc.unit is not None or doc.name in _UNSUFFIXED, doc.name
        assert doc.low is not None, doc.name
        assert doc.high is not None, doc.name
        assert doc.low < doc.high, doc.name
        assert doc.label, doc.name


@pytest.mark.parametrize("record", RECORDS)
def test_every_default_is_allowed(record: type) -> None:
    defaults = {field.name: field.default for field in fields(record)}
    for doc in numbers_of(record):
        default = defaults[doc.name]
        if default is not MISSING and default is not None:
            assert doc.low is not None
            assert doc.high is not None
            assert doc.low <= default <= doc.high, doc.name


def test_a_breath_has_the_keys_the_model_writes() -> None:
    assert state.BREATH_KEYS == BREATH_KEYS
    assert all(unit_of(key) is not None for key in BREATH_KEYS)


def test_what_is_allowed_reads_well() -> None:
    assert described(Settings)["peep_cmh2o"].allowed == "a number from 0 to 50 cmH2O"
    assert described(Equipment)["fresh_gas_coupled"].allowed == "true or false"
    assert described(FaultEvent)["severity"].allowed == "a number from 0 to 1"
    assert described(MANOEUVRES["recruitment"])["pressures_cmh2o"].allowed.startswith("1 to 20 numbers")
