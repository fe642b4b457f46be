"""Plain tables into a case and back: the one form that TOML and JSON share.

A place in a list is told as people count: the first change is changes[1].
"""

from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from lungeline.case.animal import Animal
from lungeline.case.case import Case
from lungeline.case.change import Change
from lungeline.case.checks import check_keys, checked_table, checked_value
from lungeline.case.equipment import Equipment
from lungeline.case.fault_event import FaultEvent
from lungeline.case.fields import FieldDoc, described
from lungeline.case.manoeuvre import MANOEUVRES, Manoeuvre
from lungeline.case.place import Place
from lungeline.case.procedure import Procedure
from lungeline.case.refusals import missing, shown
from lungeline.case.settings import Settings
from lungeline.case.start import Start
from lungeline.case.supply import Cylinder, Supply
from lungeline.case.tape import weight_by_tape_kg
from lungeline.case.unknown_keys import Hints
from lungeline.errors import InputError, UnknownNameError

SECTIONS: dict[str, type] = {
    "animal": Animal,
    "place": Place,
    "start": Start,
    "equipment": Equipment,
    "settings": Settings,
    "procedure": Procedure,
    "supply": Supply,
}
LISTS: dict[str, type] = {"changes": Change, "faults": FaultEvent, "cylinders": Cylinder}
_TOP = ("title", *SECTIONS, *LISTS)
_MOST_EVENTS = 1000
_Row = TypeVar("_Row", FaultEvent, Cylinder)


def _homes() -> dict[str, str]:
    """Return for every key the place it belongs, for those who put it elsewhere."""
    homes = {"title": "the top, above the first section", "manoeuvre": "[[changes]]"}
    records = {f"[{name}]": record for name, record in SECTIONS.items()}
    records |= {f"[[{name}]]": record for name, record in LISTS.items()}
    records |= {f'[[changes]] with manoeuvre = "{kind}"': record for kind, record in MANOEUVRES.items()}
    for place, record in records.items():
        for key in described(record):
            homes.setdefault(key, place)
    return homes


_HOMES = _homes()


def case_from_tables(tables: Mapping[str, object], *, assumed_settings: Sequence[str] = ()) -> Case:
    """Return the case a mapping of tables describes. Raises InputError for the first thing that is wrong.

    >>> case_from_tables({"animal": {"species": "horse", "weight_kg": 500}}).settings.tidal_volume_l
    5.0
    """
    for key in tables:
        _check_top(key)
    animal = _animal(_section(tables, "animal"))
    hints = Hints(weight_kg=animal.weight_kg, sections=_HOMES)
    parts: dict[str, Any] = {
        name: record(**checked_table(described(record), _section(tables, name), name, hints))
        for name, record in SECTIONS.items()
        if name != "animal"
    }
    return Case(
        animal=animal,
        **parts,
        title=checked_value(described(Case)["title"], tables.get("title", ""), "title"),
        changes=tuple(_change(table, where, hints) for where, table in _rows(tables, "changes")),
        faults=_records(FaultEvent, tables, "faults", hints),
        cylinders=_records(Cylinder, tables, "cylinders", hints),
        assumed_settings=tuple(assumed_settings),
    )


def _check_top(key: str) -> None:
    if key in _TOP:
        return
    if key in _HOMES:
        raise UnknownNameError(
            where="case", given=key, allowed=", ".join(_TOP), do=f"Move {key} to {_HOMES[key]}."
        )
    raise UnknownNameError.nearest(where="case", given=str(shown(key)), valid=_TOP)


def _section(tables: Mapping[str, object], name: str) -> Mapping[str, object]:
    return _table(tables.get(name, {}), name, f"[{name}]")


def _table(given: object, where: str, heading: str) -> Mapping[str, object]:
    if isinstance(given, Mapping) and all(isinstance(key, str) for key in given):
        return given
    raise InputError(
        where=where,
        given=shown(given),
        allowed="a table of keys and values",
        do=f"Write {heading} on a line of its own and its keys below.",
    )


def _rows(tables: Mapping[str, object], name: str) -> list[tuple[str, Mapping[str, object]]]:
    given = tables.get(name, ())
    if not isinstance(given, list | tuple) or len(given) > _MOST_EVENTS:
        raise InputError(
            where=name,
            given=shown(given),
            allowed=f"a list of tables, at most {_MOST_EVENTS}",
            do=f"Head each with [[{name}]] in double brackets.",
        )
    places = ((f"{name}[{place}]", row) for place, row in enumerate(given, start=1))
    return [(where, _table(row, where, f"[[{name}]]")) for where, row in places]


def _animal(table: Mapping[str, object]) -> Animal:
    docs, hints = described(Animal), Hints(sections=_HOMES)
    check_keys(docs, table, "animal", hints)
    if "species" not in table:
        raise missing(docs["species"], "animal")
    if "weight_kg" not in table:
        others = {key: doc for key, doc in docs.items() if key != "weight_kg"}
        by_tape_kg = weight_by_tape_kg(checked_table(others, table, "animal", hints))
        table = {**table, "weight_kg": by_tape_kg}
    return Animal(**checked_table(docs, table, "animal", hints))


def _change(table: Mapping[str, object], where: str, hints: Hints) -> Change:
    time = described(Change)
    if "manoeuvre" not in table:
        settings = _timed(time, described(Settings), table, where, hints)
        return Change(at_min=settings.pop("at_min"), settings=settings)
    record = _manoeuvre_record(table["manoeuvre"], f"{where}.manoeuvre")
    rest = {key: value for key, value in table.items() if key != "manoeuvre"}
    elsewhere = {**hints.sections, **dict.fromkeys(described(Settings), "a [[changes]] of its own")}
    wanted = Hints(weight_kg=hints.weight_kg, sections=elsewhere)
    values = _timed(time, described(record), rest, where, wanted)
    return Change(at_min=values.pop("at_min"), manoeuvre=record(**values))


def _timed(
    time: Mapping[str, FieldDoc],
    docs: Mapping[str, FieldDoc],
    table: Mapping[str, object],
    where: str,
    hints: Hints,
) -> dict[str, Any]:
    return checked_table({**time, **docs}, table, where, hints)


def _manoeuvre_record(kind: object, where: str) -> type[Manoeuvre]:
    if isinstance(kind, str) and kind in MANOEUVRES:
        return MANOEUVRES[kind]
    if isinstance(kind, str):
        raise UnknownNameError.nearest(where=where, given=str(shown(kind)), valid=MANOEUVRES)
    raise InputError(
        where=where,
        given=shown(kind),
        allowed=", ".join(MANOEUVRES),
        do="Write one of the words, in quotes.",
    )


def _records(record: type[_Row], tables: Mapping[str, object], name: str, hints: Hints) -> tuple[_Row, ...]:
    docs = described(record)
    return tuple(record(**checked_table(docs, table, where, hints)) for where, table in _rows(tables, name))


def tables_from_case(case: Case, *, everything: bool) -> dict[str, Any]:
    """Return the case as plain tables: everything, or only what differs from what it would be anyway."""
    plain = {
        "animal": Animal(species=case.animal.species, weight_kg=case.animal.weight_kg),
        "place": Place(),
        "start": Start(state=case.start.state),
        "equipment": Equipment(),
        "settings": Settings(),
        "procedure": Procedure(),
        "supply": Supply(),
    }
    tables: dict[str, Any] = {"title": case.title} if case.title or everything else {}
    for name, usual in plain.items():
        skipped = () if everything or name != "settings" else case.assumed_settings
        tables[name] = _told(getattr(case, name), None if everything else usual, skipped)
    if not everything and case.start.state != Start().state:
        tables["start"] = {"state": case.start.state, **tables["start"]}
    tables["changes"] = [_change_told(change) for change in case.changes]
    tables["faults"] = [_told(fault, None) for fault in case.faults]
    tables["cylinders"] = [_told(cylinder, None) for cylinder in case.cylinders]
    return {name: table for name, table in tables.items() if table or everything}


def _told(record: Any, usual: Any, skipped: Sequence[str] = ()) -> dict[str, Any]:  # noqa: ANN401  any record
    docs = described(type(record)).values()
    return {
        doc.key: _plain(getattr(record, doc.name))
        for doc in docs
        if doc.name not in skipped
        and (doc.required or usual is None or getattr(record, doc.name) != getattr(usual, doc.name))
    }


def _change_told(change: Change) -> dict[str, Any]:
    told: dict[str, Any] = {"at_min": change.at_min}
    if change.manoeuvre is None:
        return told | dict(change.settings)
    return told | {"manoeuvre": change.manoeuvre.kind} | _told(change.manoeuvre, None)


def _plain(value: Any) -> Any:  # noqa: ANN401  a field of any kind
    return list(value) if isinstance(value, tuple) else value
