"""A case without anything that tells whose it was: for audits and teaching.

Left out rather than searched: every free text, as nobody can tell what names stand in it. Names become
numbers, the case and its entries get other ids, and all days are moved so that the case begins on one fixed
day; the time of day stays. What is left has no chain, as the chain holds the names.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from lungeline.export.csv_files import AUDIT, csv_files
from lungeline.record import GENESIS, KINDS, Entry, told_order

_FIRST_DAY = datetime(2000, 1, 1).date()  # noqa: DTZ001  a day only; any would do
# texts that people choose from what their trade or this program offers, not tell stories in
_KEPT_TEXTS: Mapping[str, frozenset[str]] = {
    "opening": frozenset({"breed", "sex"}),
    "reading": frozenset({"rhythm"}),
    "drug": frozenset({"drug", "use", "route"}),
    "infusion": frozenset({"drug"}),
    "controlled": frozenset({"drug"}),
    "fluid": frozenset({"what"}),
    "check": frozenset({"item"}),
    "team": frozenset({"function"}),
    "advice": frozenset({"code", "severity", "about"}),
    "recovery": frozenset({"score"}),
    "signature": frozenset({"role"}),
}
_REMOVED = "removed"


def anonymised(entries: Sequence[Entry], case: str) -> tuple[Entry, ...]:
    """Return the entries of a case under another id, without names, free texts and days, unsealed."""
    told = sorted(entries, key=lambda entry: entry.seq)
    if not told:
        return ()
    names = _Numbered(told)
    shift = timedelta(days=(_FIRST_DAY - min(entry.event_time.date() for entry in told)).days)
    return tuple(_without_names(entry, case, names, shift) for entry in told)


class _Numbered:
    """People, devices and entries by number, in the order in which they first appear."""

    def __init__(self, told: Sequence[Entry]) -> None:
        devices = dict.fromkeys(entry.device for entry in told)
        # the device that noted a wrong clock is named after the one whose clock it was
        own = {name: f"device-{place}" for place, name in enumerate(devices, start=1)}
        self.devices = own
        authors = dict.fromkeys(entry.author for entry in told)
        self.authors = {name: f"person {place}" for place, name in enumerate(authors, start=1)}
        self.uids = {entry.uid: f"entry-{entry.seq}" for entry in told_order(told)}


def _without_names(entry: Entry, case: str, names: _Numbered, shift: timedelta) -> Entry:
    return replace(
        entry,
        uid=names.uids[entry.uid],
        case=case,
        author=names.authors[entry.author],
        device=names.devices[entry.device],
        corrects=None if entry.corrects is None else names.uids.get(entry.corrects, "entry-unknown"),
        event_time=entry.event_time + shift,
        entry_time=entry.entry_time + shift,
        body=_body(entry.kind, entry.body),
        prev=GENESIS,
        hash="",
    )


def _body(kind: str, body: Mapping[str, Any]) -> dict[str, Any]:
    match kind:
        case "correction":
            return {"reason": _REMOVED, "kind": body["kind"], "body": _body(body["kind"], body["body"])}
        case "plan":
            return {"case": {**body["case"], "title": ""}, "doses": body.get("doses", [])}
        case "note" | "addendum":
            return {"text": _REMOVED}
        case "clock":
            return {"device_time": _REMOVED, "store_time": _REMOVED, "ahead_s": body["ahead_s"]}
    docs, kept = KINDS[kind].docs, _KEPT_TEXTS.get(kind, frozenset())
    return {key: value if _says_nothing(key, docs, kept) else _REMOVED for key, value in body.items()}


def _says_nothing(key: str, docs: Mapping[str, Any], kept: frozenset[str]) -> bool:
    return key in kept or (key in docs and docs[key].kind != "text")


def write_anonymised(entries: Sequence[Entry], case: str, folder: Path) -> list[Path]:
    """Write the CSV files of a case without names into a folder; the flat file with its chain is left out."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for name, text in csv_files(anonymised(entries, case)).items():
        if name != AUDIT:
            (folder / name).write_text(text, encoding="utf-8-sig", newline="")
            paths.append(folder / name)
    return paths
