"""The clinic's equipment and its log: each machine a chain of its own, kept as safely as a case.

A machine's first entry registers it; later ones change it, check it, or retire it. Nothing is lost.
"""

import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import NAMESPACE_URL, uuid4, uuid5

from lungeline.check.register import (
    Item,
    PastLeakTest,
    item_from_json,
    past_from_json,
    past_of,
)
from lungeline.check.ventilator_lung import LungTestResult
from lungeline.check.verdict import Judged
from lungeline.check.walk import SCHEMA as WALK_SCHEMA
from lungeline.check.walk import Walk
from lungeline.check.walk_file import walk_from_json
from lungeline.errors import ConflictError, InputError, UnknownNameError
from lungeline.record import Draft, Entry, Verdict, present_state
from lungeline.record.moment import read_moment
from lungeline.record.store.folder import DataFolder, data_path
from lungeline.record.store.opening import open_store
from lungeline.record.store.store import Store, now_here

LEAK_SCHEMA, LUNG_SCHEMA = "lungeline.machine_leak/1", "lungeline.machine_lung/1"
_PREFIX, _MOST_SLUG = "machine.", 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """A piece of equipment as it now is. retired: why it is no longer used, empty where it is."""

    id: str
    item: Item
    retired: str
    entries: tuple[Entry, ...]

    def past(self) -> tuple[PastLeakTest, ...]:
        """Return its leak tests, the oldest first."""
        tests = [past_from_json(dict(body["past"])) for body in self._bodies(LEAK_SCHEMA)]
        return tuple(sorted(tests, key=lambda test: test.day))

    def walks(self) -> tuple[Walk, ...]:
        """Return its guided checks, each with the list it was made by."""
        return tuple(walk_from_json(body["walk"]) for body in self._bodies(WALK_SCHEMA))

    def lungs(self) -> tuple[Mapping[str, Any], ...]:
        """Return its tests on a test lung."""
        return tuple(body["result"] for body in self._bodies(LUNG_SCHEMA))

    def _bodies(self, schema: str) -> list[Mapping[str, Any]]:
        items = present_state(self.entries).items
        checks = [item for item in items if item.kind == "machine_check" and not item.struck]
        return [item.body for item in checks if item.body["schema"] == schema]


@dataclass(frozen=True, slots=True, kw_only=True)
class Equipment:
    """All equipment of a data folder, and who works with it. clock: the device's."""

    author: str
    device: str
    path: Path | None = None
    key_file: Path | None = None
    clock: Callable[[], datetime] = now_here

    def store(self) -> Store:
        """Return the store of the log, made where there is none."""
        return open_store(
            self.path or data_path(), side="equipment", key_file=self.key_file, clock=self.clock
        )

    @property
    def begun(self) -> bool:
        """Whether there is a log at all."""
        return DataFolder(path=self.path or data_path(), side="equipment").database.exists()

    # -- the register --------------------------------------------------------------------------------------

    def machines(self, *, retired: bool = False) -> tuple[Machine, ...]:
        """Return the equipment, by sort and name; retired: that too."""
        if not self.begun:
            return ()
        store = self.store()
        found = [_machine(name, store) for name in store.ids()]
        found.sort(key=lambda it: (it.item.sort, it.item.name))
        return tuple(it for it in found if retired or not it.retired)

    def machine(self, name: str) -> Machine:
        """Return a piece of equipment by its id, name or serial; UnknownNameError with the nearest."""
        known = self.machines(retired=True)
        wanted = name.strip().casefold()
        for it in known:
            if wanted in {it.id.casefold(), it.item.name.casefold(), it.item.serial.casefold() or it.id}:
                return it
        raise UnknownNameError.nearest(where="machine", given=name, valid=[it.item.name for it in known])

    def add(self, item: Item) -> Machine:
        """Register a piece of equipment."""
        name = slug(item.name)
        if any(it.id == name for it in self.machines(retired=True)):
            raise ConflictError(
                where="register",
                given=item.name,
                allowed="a name of its own for each",
                do="Choose another name, such as one with the place where it stands.",
            )
        self._enter(name, "machine", item.as_json())
        return self.machine(name)

    def change(self, name: str, changes: Mapping[str, Any]) -> Machine:
        """Change what is known of a piece of equipment; what it was stays in the log."""
        now = self.machine(name)
        if "name" in changes and slug(str(changes["name"])) != now.id:
            raise InputError(
                where="register.name", given=changes["name"], allowed=now.item.name,
                do="A machine keeps its name; retire it and add another.",
            )  # fmt: skip
        kept = {each.name: getattr(now.item, each.name) for each in fields(Item)}
        self._enter(now.id, "machine", item_from_json({**kept, **changes}).as_json())
        return self.machine(now.id)

    def retire(self, name: str, reason: str) -> Machine:
        """Say that a piece of equipment is no longer used, and why."""
        now = self.machine(name)
        self._enter(now.id, "retired", {"reason": reason})
        return self.machine(now.id)

    # -- the log -------------------------------------------------------------------------------------------

    def note_leak(self, name: str, judged: Judged, at: str = "") -> tuple[PastLeakTest, Entry]:
        """Write a judged leak test into the log of its machine."""
        now = self.machine(name)
        moment = read_moment(at, "check.at") if len(at) > len("2026-05-31T07:40") else self._at(at)
        past = past_of(judged.test, now.item.name, moment.isoformat(timespec="seconds"))
        body = {
            "schema": LEAK_SCHEMA,
            "name": f"leak {past.leak_ml_min:.0f} mL/min at 30 cmH2O, {judged.verdict}",
            "past": past.as_json(), "judged": judged.as_json(),
        }  # fmt: skip
        return past, self._enter(now.id, "machine_check", body, moment)

    def note_walk(self, name: str, walk: Walk) -> Entry:
        """Write a finished guided check into the log; the same check again gives the same entry."""
        now = self.machine(name)
        if not walk.finished:
            raise InputError(
                where="check",
                given="a check with open steps",
                allowed="a finished one",
                do="Go on with it first.",
            )
        moment = read_moment(walk.answers[-1].at, "check.at")
        uid = str(uuid5(NAMESPACE_URL, f"{now.id}/{walk.form}/{walk.began_at}"))
        body = {
            "schema": WALK_SCHEMA, "name": f"guided check, {walk.form} form, {walk.verdict}",
            "walk": walk.as_json(),
        }  # fmt: skip
        there = self.store().entry(uid)
        return there or self._enter(now.id, "machine_check", body, moment, uid)

    def note_lung(self, name: str, result: LungTestResult) -> Entry:
        """Write a test of a ventilator on a test lung into its log."""
        now = self.machine(name)
        body = {
            "schema": LUNG_SCHEMA, "name": f"ventilator on a test lung, {result.verdict}",
            "result": result.as_json(),
        }  # fmt: skip
        return self._enter(now.id, "machine_check", body)

    def verify(self, name: str) -> Verdict:
        """Check the log of a machine."""
        return self.store().verify(self.machine(name).id)

    def seal(self) -> None:
        """Write how far each log has come into the file of heads."""
        store = self.store()
        store.note_heads(store.ids())

    def _at(self, at: str) -> datetime:
        if not at:
            return self.clock()
        try:
            told = datetime.fromisoformat(at)
        except ValueError:
            raise InputError(
                where="check.at", given=at, allowed="a time such as 2026-05-31T07:40", do="Write date T time."
            ) from None
        return told if told.tzinfo else told.replace(tzinfo=self.clock().tzinfo)

    def _enter(
        self, name: str, kind: str, body: Mapping[str, Any], moment: datetime | None = None, uid: str = ""
    ) -> Entry:
        draft = Draft(
            uid=uid or str(uuid4()),
            case=name,
            kind=kind,
            event_time=moment or self.clock(),
            author=self.author,
            device=self.device,
            body=body,
            sent_time=self.clock(),
        )
        return self.store().append(draft)


def slug(name: str) -> str:
    """Return the id of a machine: its name in plain letters and digits.

    >>> slug("Großer Kreis 2")
    'machine.grosser-kreis-2'
    """
    plain = unicodedata.normalize("NFKD", name.casefold()).encode("ascii", "ignore").decode()
    short = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:_MOST_SLUG]
    if not short:
        raise InputError(
            where="register.name", given=name, allowed="a name with letters or digits", do="Choose another."
        )
    return f"{_PREFIX}{short}"


def _machine(name: str, store: Store) -> Machine:
    entries = tuple(store.entries_after(name))
    items = present_state(entries).items
    told = [item for item in items if item.kind == "machine" and not item.struck]
    retired = [item for item in items if item.kind == "retired" and not item.struck]
    return Machine(
        id=name,
        item=item_from_json(dict(told[-1].body)),
        retired=str(retired[-1].body["reason"]) if retired else "",
        entries=entries,
    )
