"""Rehearsals that were played, kept as what was done: a file each, from which all of it is played again.

They belong to who learned: a list is of one person, and whoever it is may take theirs away.
"""

import json
import os
import re
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from lungeline.errors import InputError, RecordError, StoreError, UnknownNameError
from lungeline.rehearse import Scenario, load_scenario, scenario_named, scenarios
from lungeline.rehearse.acting import Act
from lungeline.rehearse.bench_readings import Typed
from lungeline.rehearse.hands import Done
from lungeline.rehearse.practice import Practice

FOLDER, SCENARIOS = "rehearsals", "scenarios"
SCHEMA = "lungeline.rehearsal/1"
_ID = re.compile(r"[0-9]{8}-[0-9]{6}-[0-9a-f]{8}")
_REPLAYED = 8  # rehearsals held as played, for a debrief that is looked at


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptRehearsal:
    """A rehearsal that was played.

    row: what learner and trainer did, in order. played_s: how far it came. bench: beside a real machine.
    """

    id: str
    scenario: str
    seed: int
    author: str
    began: str
    played_s: float
    passed: bool
    row: tuple[Mapping[str, Any], ...] = field(repr=False)
    bench: bool = False

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        told = {name: getattr(self, name) for name in self.__slots__}
        return {"schema": SCHEMA, "simulated": True, **told, "row": [dict(each) for each in self.row]}


def new_id(now: datetime) -> str:
    """Return an id that no other rehearsal has, and that does not tell what it is about."""
    return f"{now:%Y%m%d-%H%M%S}-{secrets.token_hex(4)}"


def known_scenarios(data: Path) -> tuple[Scenario, ...]:
    """Return the scenarios of this program and those of the clinic, files in `scenarios` of the data folder.

    A file that cannot be read is left out of the list; asked for by name, it says why.
    """
    own = []
    for file in sorted((data / SCENARIOS).glob("*.toml")):
        try:
            own.append(load_scenario(file))
        except InputError:
            continue
    return (*scenarios(), *own)


def known_scenario(data: Path, name: str) -> Scenario:
    """Return a scenario by its name."""
    if re.fullmatch(r"[a-z][a-z0-9_]{1,59}", name) and (data / SCENARIOS / f"{name}.toml").is_file():
        return load_scenario(data / SCENARIOS / f"{name}.toml")
    return scenario_named(name)


class KeptRehearsals:
    """The rehearsals of a data folder."""

    def __init__(self, data: Path) -> None:
        """Know the data folder."""
        self._data, self._folder = data, data / FOLDER

    def keep(self, name: str, practice: Practice, *, author: str, began: datetime) -> KeptRehearsal:
        """Write a rehearsal down as far as it has come; again, and it is written anew."""
        kept = KeptRehearsal(
            id=name, scenario=practice.run.scenario.name, seed=practice.seed, author=author,
            began=began.isoformat(timespec="seconds"), played_s=practice.run.now_s,
            passed=practice.outcome.passed, row=tuple(_line(each) for each in practice.row),
            bench=practice.beside_machine,
        )  # fmt: skip
        file = self._file(name)
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            part = file.with_suffix(".part")
            with part.open("w", encoding="utf-8") as stream:
                json.dump(kept.as_json(), stream)
                stream.flush()
                os.fsync(stream.fileno())
            part.replace(file)
        except OSError as error:
            raise StoreError(
                where=str(self._folder), given=error.strerror or "an error", allowed="a folder to write to",
                do="Mend its rights or make room, and end the rehearsal again.",
            ) from None  # fmt: skip
        return kept

    def read(self, name: str) -> KeptRehearsal:
        """Return a rehearsal by its id."""
        try:
            told = json.loads(self._file(name).read_text(encoding="utf-8"))
        except FileNotFoundError:
            raise UnknownNameError.nearest(
                where="rehearsal", given=name, valid=[file.stem for file in self._folder.glob("*.json")]
            ) from None
        if told.pop("schema", None) != SCHEMA or not told.pop("simulated", False):
            raise InputError(
                where=name, given="another file", allowed=SCHEMA, do="Put back the file that was there."
            )
        return KeptRehearsal(**{**told, "row": tuple(told["row"])})

    def of(self, author: str) -> tuple[KeptRehearsal, ...]:
        """Return the rehearsals of a person, the newest first."""
        if not self._folder.is_dir():
            return ()
        names = sorted((file.stem for file in self._folder.glob("*.json")), reverse=True)
        return tuple(kept for kept in map(self.read, names) if kept.author == author)

    def forget(self, name: str, author: str) -> None:
        """Take a rehearsal away, for the person whose it is."""
        if self.read(name).author != author:
            raise RecordError(
                where="rehearsal", given=f"{author}, about another's", allowed="one's own",
                do="Results belong to the learner: ask them.",
            )  # fmt: skip
        self._file(name).unlink()

    def replayed(self, name: str) -> Practice:
        """Return a rehearsal as it was played: played again, which gives the same."""
        kept = self.read(name)
        return _replayed(self._data, json.dumps(kept.as_json()))

    def _file(self, name: str) -> Path:
        if not _ID.fullmatch(name):
            raise UnknownNameError(
                where="rehearsal", given=name, allowed="the id of a rehearsal", do="Choose one from the list."
            )
        return self._folder / f"{name}.json"


@lru_cache(_REPLAYED)
def _replayed(data: Path, told: str) -> Practice:
    kept = json.loads(told)
    scenario = known_scenario(data, kept["scenario"])
    practice = Practice(scenario, seed=kept["seed"], beside_machine=kept["bench"])
    for line in kept["row"]:
        practice.advance(max(line["at_s"] - practice.run.now_s, 0.0))
        if "deed" in line:
            practice.act(line["deed"], line["with"])
        elif "typed" in line:
            practice.type_in(line["typed"], turned=line["turned"])
        else:
            practice.hand(line["hand"], line["with"])
    practice.advance(max(kept["played_s"] - practice.run.now_s, 0.0))
    return practice


def _line(each: Act | Done | Typed) -> dict[str, Any]:
    if isinstance(each, Done | Typed):
        return each.as_json()
    return {"at_s": each.at_s, "deed": each.deed, "with": dict(each.given)}
