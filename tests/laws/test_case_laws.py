"""Laws of the case: written and read again it is the same; no text is met with more than a refusal."""

import json
import tomllib
from collections.abc import Iterator
from contextlib import suppress
from typing import Any, get_args

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lungeline.case import (
    Case,
    case_from_json,
    case_from_tables,
    case_from_toml,
    case_to_json,
    case_to_toml,
)
from lungeline.case.animal import WEIGHT_RANGE_KG, Species
from lungeline.case.fault_event import FaultEvent
from lungeline.case.fields import FieldDoc, described
from lungeline.case.manoeuvre import MANOEUVRES
from lungeline.case.tables import SECTIONS
from lungeline.errors import InputError, LungelineError

Tables = dict[str, Any]


def values_of(doc: FieldDoc) -> st.SearchStrategy[Any]:
    """Return every value a field allows."""
    if doc.kind == "choice":
        return st.sampled_from(doc.choices)
    if doc.kind == "switch":
        return st.booleans()
    if doc.kind == "text":
        return st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), min_size=1, max_size=20)
    number = st.floats(doc.low, doc.high, allow_nan=False) | st.integers(
        -(-int(doc.low or 0) // 1), int(doc.high or 0)
    )
    number = number.filter(lambda value: (doc.low or 0) <= value <= (doc.high or 0))
    return st.lists(number, min_size=1, max_size=4) if doc.kind == "numbers" else number


def tables_of(record: type) -> st.SearchStrategy[Tables]:
    """Return every table of a record, required keys always there."""
    docs = described(record)
    required = {key: values_of(doc) for key, doc in docs.items() if doc.required}
    optional = {key: values_of(doc) for key, doc in docs.items() if not doc.required}
    return st.fixed_dictionaries(required, optional=optional)


@st.composite
def animals(draw: st.DrawFn) -> Tables:
    table = draw(tables_of(SECTIONS["animal"]))
    species = draw(st.sampled_from(get_args(Species)))
    low, high = WEIGHT_RANGE_KG[species]
    return {**table, "species": species, "weight_kg": draw(st.floats(low, high))}


def _named(kind: str) -> st.SearchStrategy[Tables]:
    return tables_of(MANOEUVRES[kind]).map(lambda table: {"manoeuvre": kind, **table})


_TIMES = st.floats(0, 1440)
_CHANGES = st.one_of(tables_of(SECTIONS["settings"]).filter(bool), *map(_named, MANOEUVRES))
_CASES = st.fixed_dictionaries(
    {"animal": animals()},
    optional={
        "title": st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), max_size=30),
        **{name: tables_of(record) for name, record in SECTIONS.items() if name != "animal"},
        "changes": st.lists(
            st.builds(lambda table, at: {"at_min": at, **table}, _CHANGES, _TIMES), max_size=3
        ),
        "faults": st.lists(tables_of(FaultEvent), max_size=3),
    },
)
_GENTLE = settings(suppress_health_check=[HealthCheck.too_slow])


def possible(tables: Tables) -> Case:
    """Return a case of as much of the tables as goes together, since most of what is drawn does not."""
    animal = tables["animal"]
    kept: Tables = {"animal": {key: animal[key] for key in ("species", "weight_kg")}}
    for grown in _additions(tables, kept):
        with suppress(InputError):
            case_from_tables(grown)
            kept.update(grown)
    return case_from_tables(kept)


def _additions(tables: Tables, kept: Tables) -> Iterator[Tables]:
    """Yield what is kept so far with one key, or one row of a list, more."""
    for section, table in tables.items():
        if section == "title":
            yield {**kept, section: table}
        elif section in SECTIONS:
            for key, value in table.items():
                yield {**kept, section: {**kept.get(section, {}), key: value}}
        else:
            for row in (single for whole in table for single in _rows(whole)):
                yield {**kept, section: [*kept.get(section, []), row]}


def _rows(row: Tables) -> list[Tables]:
    """Return a change of several settings as changes of one each, any other row as it is."""
    if "manoeuvre" in row or "code" in row:
        return [row]
    return [{"at_min": row["at_min"], key: value} for key, value in row.items() if key != "at_min"]


@_GENTLE
@given(_CASES)
def test_a_case_written_as_toml_and_read_again_is_the_same(tables: Tables) -> None:
    case = possible(tables)
    written = case_to_toml(case)
    tomllib.loads(written)
    assert case_from_toml(written) == case
    assert case_to_toml(case_from_toml(written)) == written


@_GENTLE
@given(_CASES)
def test_a_case_written_as_json_and_read_again_is_the_same(tables: Tables) -> None:
    case = possible(tables)
    assert case_from_json(json.dumps(case_to_json(case), allow_nan=False)) == case


@_GENTLE
@given(_CASES)
def test_every_stretch_of_a_case_can_be_set(tables: Tables) -> None:
    case = possible(tables)
    for part in case.timeline():
        whole = {name: getattr(part.settings, name) for name in described(SECTIONS["settings"])}
        assert None not in whole.values()
        if part.settings.mode != "spontaneous":
            cycle_s = 60 / part.settings.respiratory_rate_per_min
            assert part.settings.inspiratory_time_s + part.settings.pause_s < cycle_s
            assert part.settings.pressure_limit_cmh2o > part.settings.peep_cmh2o
        held_l = part.settings.tidal_volume_l + part.settings.spare_volume_l
        assert held_l <= case.equipment.reservoir_capacity_l + 1e-9  # rounding of the sum


_SCALARS = (
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12) | st.binary(max_size=3)
)
_NEAR_KEYS = ("tidal_volume_ml", "tidal_volume_ml_kg", "weight_lb", "girth_cm", "length_cm", "temperature_f")
_TOP_KEYS = ("animal", "settings", "changes", "faults", "title")
_OTHER_KEYS = ("species", "weight_kg", "at_min", "manoeuvre", "code")
_KEYS = st.text(max_size=12) | st.sampled_from(
    (*_TOP_KEYS, *_OTHER_KEYS, *_NEAR_KEYS, *described(SECTIONS["settings"]))
)
_ANYTHING = st.recursive(
    _SCALARS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_KEYS, inner, max_size=4)
)


@given(st.dictionaries(_KEYS, _ANYTHING, max_size=6))
def test_tables_of_anything_are_taken_or_refused(tables: Tables) -> None:
    with suppress(LungelineError):
        assert isinstance(case_from_tables(tables), Case)


@_GENTLE
@given(_CASES, st.data())
def test_a_case_with_one_thing_spoilt_is_taken_or_refused(tables: Tables, data: st.DataObject) -> None:
    section = data.draw(st.sampled_from(sorted(tables)))
    spoilt = data.draw(st.dictionaries(_KEYS, _ANYTHING, max_size=3) | _ANYTHING)
    known = tables[section]
    tables[section] = {**known, **spoilt} if isinstance(known, dict) and isinstance(spoilt, dict) else spoilt
    with suppress(LungelineError):
        assert isinstance(case_from_tables(tables), Case)


@given(
    st.text(max_size=60) | st.text(st.sampled_from("[]{}=\"'.#\n animalsettings_kg0123456789"), max_size=60)
)
def test_any_text_is_taken_or_refused(text: str) -> None:
    for read in (case_from_toml, case_from_json):
        with suppress(LungelineError):
            assert isinstance(read(text), Case)
