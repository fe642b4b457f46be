"""Guided checks on their way: a file each in the data folder, each answer on disk before the next."""

import os
import re
import threading
from dataclasses import dataclass
from pathlib import Path

from lungeline.check import Given, Walk, answered, forms_offered
from lungeline.check.checklist import Form
from lungeline.check.walk_file import answer_line, head_line, walk_from_lines
from lungeline.errors import InputError, StoreError, UnknownNameError

FOLDER = "checks"
_ID = re.compile(r"check-[\w.-]{1,150}")
_LONGEST = 140
# two devices may answer at the same moment: one after the other, or mending would cut the other's line
_WRITING = threading.Lock()


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenCheck:
    """A check that was begun. id: names its file."""

    id: str
    walk: Walk


class OpenChecks:
    """The checks of a data folder that were begun, finished ones too."""

    def __init__(self, data: Path) -> None:
        """Know the data folder."""
        self._folder = data / FOLDER

    def all(self) -> tuple[OpenCheck, ...]:
        """Return every check, the newest first; one whose file cannot be read is left where it is."""
        found = []
        for name in self._names():
            try:
                found.append(self.read(name))
            except InputError:
                continue
        return tuple(sorted(found, key=lambda each: each.walk.began_at, reverse=True))

    def read(self, name: str) -> OpenCheck:
        """Return a check by its id."""
        try:
            lines = self._file(name).read_text(encoding="utf-8").splitlines()
        except FileNotFoundError:
            raise UnknownNameError.nearest(where="check", given=name, valid=self._names()) from None
        return OpenCheck(id=name, walk=walk_from_lines(lines))

    def offered(self, machine: str, now: str, kept: tuple[Walk, ...]) -> tuple[Form, ...]:
        """Return the forms on offer for a machine. kept: its checks in its log; now: in ISO 8601."""
        own = (each.walk for each in self.all() if each.walk.machine == machine)
        return forms_offered([*own, *kept], machine, now)

    def begin(self, walk: Walk, kept: tuple[Walk, ...]) -> OpenCheck:
        """Begin a check, or return the one of that day that is open. kept: its checks in the log."""
        for each in self.all():
            if not each.walk.finished and _same(each.walk, walk):
                return each
        offered = self.offered(walk.machine, walk.began_at, kept)
        if walk.form not in offered:
            raise InputError(
                where="check.form", given=walk.form, allowed=", ".join(offered),
                do="The short form follows a full one of the same machine on the same day: make that first.",
            )  # fmt: skip
        with _WRITING:
            name = self._new_name(walk)
            self._folder.mkdir(parents=True, exist_ok=True)
            self._add(name, head_line(walk))
        return OpenCheck(id=name, walk=walk)

    def answer(self, name: str, step: str, given: Given) -> OpenCheck:
        """Judge an answer and write it down; returns the check once that is on disk."""
        with _WRITING:
            further = answered(self.read(name).walk, step, given)
            self._mend(name)
            self._add(name, answer_line(further.answers[-1]))
        return OpenCheck(id=name, walk=further)

    def _names(self) -> list[str]:
        return [file.stem for file in self._folder.glob("check-*.jsonl")] if self._folder.is_dir() else []

    def _new_name(self, walk: Walk) -> str:
        told = f"check-{walk.machine}-{walk.form}-{walk.began_at.replace(':', '')}"
        stem = re.sub(r"[^\w.-]+", "-", told)[:_LONGEST]
        name, number = stem, 2
        while self._file(name).exists():
            name, number = f"{stem}-{number}", number + 1
        return name

    def _file(self, name: str) -> Path:
        if not _ID.fullmatch(name):
            raise UnknownNameError(
                where="check", given=name, allowed="the id of a check", do="Choose one from the list."
            )
        return self._folder / f"{name}.jsonl"

    def _mend(self, name: str) -> None:
        """Take away a last line that was not written to its end."""
        file = self._file(name)
        content = file.read_bytes()
        whole = content[: content.rfind(b"\n") + 1]
        if whole != content:
            with file.open("r+b") as stream:
                stream.truncate(len(whole))

    def _add(self, name: str, line: str) -> None:
        try:
            with self._file(name).open("a", encoding="utf-8") as stream:
                stream.write(f"{line}\n")
                stream.flush()
                os.fsync(stream.fileno())
        except OSError as error:
            raise StoreError(
                where=str(self._folder), given=error.strerror or "an error", allowed="a folder to write to",
                do="Mend its rights or make room, then answer again.",
            ) from None  # fmt: skip


def _same(there: Walk, wanted: Walk) -> bool:
    """Whether one check is the other gone on with: of one machine, form and case, begun the same day."""
    first, second = ((walk.form, walk.machine, walk.case, walk.began_at[:10]) for walk in (there, wanted))
    return first == second
