"""The clinic's equipment and its log: each machine a chain of its own, kept as safely as a case.

A machine's first entry registers it; later ones change it, check it, sign for it or retire it. What is kept
of checks is in `kept_checks`, the log as a person reads it in `equipment_log`.
"""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import NAMESPACE_URL, uuid4, uuid5

from lungeline.check.register import Item, item_from_json
from lungeline.errors import ConflictError, InputError, UnknownNameError
from lungeline.record import Draft, Entry, Verdict, fold
from lungeline.record import Item as Folded
from lungeline.record.canonical import canonical
from lungeline.record.store.by_kind import entries_of
from lungeline.record.store.folder import DataFolder
from lungeline.record.store.lines import write_lines
from lungeline.record.store.store import Store
from lungeline.theatre.desk import Desk
from lungeline.theatre.people import FILE, check_pin, check_right, person_named, read_devices, read_people

AMENDS = frozenset({"correction", "strike"})
_REGISTER = frozenset({"machine", "retired"})
_PREFIX, _MOST_SLUG = "machine.", 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """A piece of equipment as it now is. retired: why it is no longer used, empty where it is."""

    id: str
    item: Item
    retired: str
    store: Store = field(repr=False, compare=False)

    def entries(self) -> tuple[Entry, ...]:
        """Return its whole log."""
        return tuple(self.store.entries_after(self.id))

    def checks(self) -> tuple[Folded, ...]:
        """Return its checks as they now stand, in the order of time, without those struck out."""
        items, _ = fold(entries_of(self.store, self.id, AMENDS | {"machine_check"}))
        return tuple(item for item in items if not item.struck)


@dataclass(frozen=True, slots=True, kw_only=True)
class Equipment:
    """All equipment of a data folder, seen from a desk: who works with it, and on what."""

    desk: Desk

    @property
    def store(self) -> Store:
        """The store of the log, made where there is none."""
        return self.desk.cases.store("equipment")

    @property
    def begun(self) -> bool:
        """Whether there is a log, or was one: one that is gone is told when it is opened."""
        folder = DataFolder(path=self.desk.cases.path, side="equipment")
        return folder.database.exists() or folder.mark.exists()

    # -- the register --------------------------------------------------------------------------------------

    def machines(self, *, retired: bool = False) -> tuple[Machine, ...]:
        """Return the equipment, by sort and name; retired: that too."""
        if not self.begun:
            return ()
        found = [_machine(name, self.store) for name in self.store.ids()]
        found.sort(key=lambda it: (it.item.sort, it.item.name))
        return tuple(it for it in found if retired or not it.retired)

    def find(self, name: str) -> Machine | None:
        """Return a piece of equipment by its id, name or serial; None where there is none such."""
        wanted = name.strip().casefold()
        for it in self.machines(retired=True):
            if wanted in {it.id.casefold(), it.item.name.casefold(), it.item.serial.casefold() or it.id}:
                return it
        return None

    def machine(self, name: str) -> Machine:
        """Return a piece of equipment by its id, name or serial; UnknownNameError with the nearest."""
        found = self.find(name)
        if found is None:
            valid = [it.item.name for it in self.machines(retired=True)]
            raise UnknownNameError.nearest(where="machine", given=name, valid=valid)
        return found

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
        self.enter(name, "machine", item.as_json())
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
        self.enter(now.id, "machine", item_from_json({**kept, **changes}).as_json())
        return self.machine(now.id)

    def retire(self, name: str, reason: str) -> Machine:
        """Say that a piece of equipment is no longer used, and why."""
        now = self.machine(name)
        self.enter(now.id, "retired", {"reason": reason})
        return self.machine(now.id)

    # -- the log -------------------------------------------------------------------------------------------

    def enter(
        self,
        machine: str,
        kind: str,
        body: Mapping[str, Any],
        moment: datetime | None = None,
        *,
        uid: str = "",
    ) -> Entry:
        """Write an entry into the log of a machine, by its id, and its head into the file of heads.

        uid: of an entry that may have been written before; it is then written once, and returned as it is.
        """
        check_right(self.desk.person(), "enter")
        there = self.store.entry(uid) if uid else None
        entry = there or self.store.append(self._draft(machine, kind, body, moment, uid=uid))
        # also where it was there: the program may have been killed in between
        self.store.note_heads([machine])
        return entry

    def strike(self, name: str, seq: int, reason: str) -> Entry:
        """Strike an entry out of the log of a machine; it stays in view."""
        check_right(self.desk.person(), "strike")
        now = self.machine(name)
        struck = next((entry for entry in now.entries() if entry.seq == seq), None)
        if struck is None or struck.kind not in {"machine_check", "note", "retired"}:
            raise InputError(
                where="log entry", given=seq, allowed="the number of a check, a note or a retirement",
                do="See the numbers with check log.",
            )  # fmt: skip
        draft = self._draft(now.id, "strike", {"reason": reason}, corrects=struck.uid)
        entry = self.store.append(draft)
        self.store.note_heads([now.id])
        return entry

    def sign(self, name: str, *, role: str, pin: str | None = None) -> Entry:
        """Sign the log of a machine as it now stands, by the desk's person."""
        listed = self.desk.cases.path / FILE
        signer = person_named(self.desk.author, read_people(listed))
        check_right(signer, "sign")
        check_pin(signer, pin, self.desk.device, read_devices(listed))
        now = self.machine(name)
        last = now.entries()[-1]
        body = {"meaning": "signed", "role": role, "head_count_number": last.seq, "head_hash": last.hash}
        return self.store.append(self._draft(now.id, "signature", body))

    def verify(self, name: str) -> Verdict:
        """Check the log of a machine."""
        return self.store.verify(self.machine(name).id)

    def export(self, name: str, target: Path) -> Path:
        """Write the log of a machine as JSON lines, which any program with the key can check."""
        check_right(self.desk.person(), "export")
        now = self.machine(name)
        target.parent.mkdir(parents=True, exist_ok=True)
        write_lines(self.store, target, [now.id])
        return target

    def _draft(  # noqa: PLR0913  what an entry consists of
        self,
        machine: str,
        kind: str,
        body: Mapping[str, Any],
        moment: datetime | None = None,
        *,
        uid: str = "",
        corrects: str | None = None,
    ) -> Draft:
        return Draft(
            uid=uid or str(uuid4()),
            case=machine,
            kind=kind,
            event_time=moment or self.desk.clock(),
            author=self.desk.author,
            device=self.desk.device,
            body=body,
            corrects=corrects,
            sent_time=self.desk.clock(),
        )


def uid_of(machine: str, body: Mapping[str, Any]) -> str:
    """Return the uid of a check by what it says: the same check twice has one, two checks never do."""
    return str(uuid5(NAMESPACE_URL, f"{machine}/{canonical(body)}"))


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
    items, _ = fold(entries_of(store, name, _REGISTER | AMENDS))
    told = [item for item in items if item.kind == "machine" and not item.struck]
    retired = [item for item in items if item.kind == "retired" and not item.struck]
    return Machine(
        id=name,
        item=item_from_json(dict(told[-1].body)),
        retired=str(retired[-1].body["reason"]) if retired else "",
        store=store,
    )
