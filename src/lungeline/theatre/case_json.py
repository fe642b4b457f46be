"""A case as one plain object: what stands, sums, what is missing, every entry and what became of it."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any

from lungeline.case import Finding
from lungeline.record import Item
from lungeline.theatre.case_clock import case_clock
from lungeline.theatre.case_list import CaseInList, in_list
from lungeline.theatre.cases import SIMULATED, CaseNow
from lungeline.theatre.completeness import reading_gaps
from lungeline.theatre.controlled import reconciled
from lungeline.theatre.planned import doses_beside_plan
from lungeline.theatre.signing import versions
from lungeline.theatre.team import team
from lungeline.theatre.totals import totals


def listed_json(listed: CaseInList) -> dict[str, Any]:
    """Return a case as a list gives it."""
    opening = listed.opening
    return {
        "id": listed.case,
        "name": opening.get("name"),
        "species": opening.get("species"),
        "weight_kg": opening.get("weight_kg"),
        "purpose": opening.get("purpose"),
        "mark": SIMULATED if listed.simulated else "",
        "opened": _time(listed.opened),
        "phase": listed.phase,
        "entries": listed.count,
        "signed_count": listed.signed_count,
    }


def record_json(now: CaseNow, moment: datetime, findings: Sequence[Finding]) -> dict[str, Any]:
    """Return a case as it stands as one object."""
    state, sums = now.state, totals(now.state, moment)
    return {
        "schema": "lungeline.case_record/1",
        **listed_json(in_list(now.entries, now.state)),
        "opening": dict(state.opening),
        "clock": {key: _plain(value) for key, value in asdict(case_clock(state, moment)).items()},
        "readings": _latest(state.readings),
        "gases": _latest(state.gases),
        "settings": _latest(state.settings),
        "totals": {**asdict(sums), "balance_l": sums.balance_l},
        "controlled": [
            {
                "drug": it.drug, "drawn_mg": it.drawn_mg, "given_mg": it.given_mg, "wasted_mg": it.wasted_mg,
                "difference_mg": it.difference_mg, "balanced": it.balanced,
                "unwitnessed": [each.entry.seq for each in it.unwitnessed],
            }
            for it in reconciled(state, moment)
        ],
        "beside_plan": [
            {
                "seq": it.item.entry.seq, "drug": it.drug, "use": it.use, "given_mg": it.given_mg,
                "planned_mg": it.planned_mg, "in_plan": it.in_plan, "more": it.more,
            }
            for it in doses_beside_plan(state)
        ],
        "team": [{key: _plain(value) for key, value in asdict(it).items()} for it in team(state)],
        "missing": [finding.as_json() for finding in findings],
        "reading_gaps": [[_time(begin), _time(end)] for begin, end in reading_gaps(state, moment)],
        "items": [_item_json(item) for item in state.items],
        "versions": [
            {
                "count": it.count, "hash": it.hash, "added": [entry.seq for entry in it.added],
                "signatures": [_signature_json(item) for item in it.signatures],
            }
            for it in versions(now.entries)
        ],
        "clocks": [asdict(note) for note in state.clocks],
        "orphans": [entry.seq for entry in state.orphans],
    }  # fmt: skip


def _latest(values: Mapping[str, Any]) -> dict[str, Any]:
    return {
        key: {"value": it.value, "event_time": _time(it.event_time), "seq": it.item.entry.seq}
        for key, it in values.items()
    }


def _item_json(item: Item) -> dict[str, Any]:
    return {
        "seq": item.entry.seq,
        "kind": item.kind,
        "event_time": _time(item.event_time),
        "entry_time": _time(item.entry.entry_time),
        "author": item.entry.author,
        "device": item.entry.device,
        "body": dict(item.body),
        "first_body": dict(item.entry.body),
        "late": item.late,
        "corrected": item.corrected,
        "struck": item.struck,
        "history": [
            {"seq": it.seq, "kind": it.kind, "author": it.author, "reason": it.body.get("reason", "")}
            for it in item.history
        ],
    }


def _signature_json(item: Item) -> dict[str, Any]:
    told = {"signer": item.entry.author, "role": item.body["role"], "meaning": item.body["meaning"]}
    return {**told, "time": _time(item.event_time), "seq": item.entry.seq}


def _time(moment: datetime) -> str:
    return moment.isoformat(timespec="milliseconds")


def _plain(value: object) -> object:
    return _time(value) if isinstance(value, datetime) else value
