"""The present state of a case: what was last measured and set, what was given, who signed what."""

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from lungeline.record.clocks import ClockNote, clock_notes
from lungeline.record.entry import Entry
from lungeline.record.fold import Item, fold, items_added

# what is said about a row of numbers, and is no quantity itself
_ABOUT_THE_ROW = frozenset({"estimated", "artefact", "source", "sample", "site", "reason"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Latest:
    """The last value of one quantity, when it was so, and the item that said it."""

    value: Any
    event_time: datetime
    item: Item


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseState:
    """What all entries of a case add up to.

    case: its id, empty where there is no entry.
    count: entries.
    opening: whose record it is, as it now stands; empty where nothing was opened.
    items: every original by time, struck ones too.
    orphans: amendments that lead to no original.
    readings, gases, settings: the last of each quantity; struck and artefact ones do not count.
    phase: the part of the anaesthetic that goes on.
    running: infusions that run, with what was last said of each.
    given_mg: sum of each drug's doses, of infusions what was told when they stopped.
    untold_doses: how many doses of a drug have no amount, so that its sum is too small.
    signatures: in the order of time.
    signed_count: entries that a signature covers; what is beyond it was added afterwards.
    clocks: where clocks disagreed.
    """

    case: str
    count: int
    opening: Mapping[str, Any]
    items: tuple[Item, ...]
    orphans: tuple[Entry, ...]
    readings: Mapping[str, Latest]
    gases: Mapping[str, Latest]
    settings: Mapping[str, Latest]
    phase: str
    running: Mapping[str, Item]
    given_mg: Mapping[str, float]
    untold_doses: Mapping[str, int]
    signatures: tuple[Item, ...]
    signed_count: int
    clocks: tuple[ClockNote, ...]


def present_state(entries: Iterable[Entry]) -> CaseState:
    """Return what the entries of one case add up to."""
    kept = sorted(entries, key=lambda entry: entry.seq)
    return _state(kept, *fold(kept))


def grown_state(state: CaseState, entries: Sequence[Entry]) -> CaseState:
    """Return what entries add up to, where a state tells of all but the newest: as `present_state`, sooner.

    entries: all of them, in the order of their seq.
    """
    items = None if state.orphans else items_added(state.items, entries, state.count)
    return present_state(entries) if items is None else _state(entries, items, ())


def _state(kept: Sequence[Entry], items: tuple[Item, ...], orphans: tuple[Entry, ...]) -> CaseState:
    standing: dict[str, list[Item]] = defaultdict(list)
    for item in items:
        if not item.struck:
            standing[item.kind].append(item)
    given_mg, untold = _given(standing["drug"] + standing["infusion"])
    signatures = tuple(standing["signature"])
    return CaseState(
        case=kept[0].case if kept else "",
        count=len(kept),
        opening=standing["opening"][0].body if standing["opening"] else {},
        items=items,
        orphans=orphans,
        readings=_latest(standing["reading"]),
        gases=_latest(standing["gases"]),
        settings=_latest(standing["setting"]),
        phase=standing["phase"][-1].body["phase"] if standing["phase"] else "",
        running=_running(standing["infusion"]),
        given_mg=given_mg,
        untold_doses=untold,
        signatures=signatures,
        signed_count=max((int(it.body["head_count_number"]) for it in signatures), default=0),
        clocks=clock_notes(kept),
    )


def _latest(items: Iterable[Item]) -> dict[str, Latest]:
    last: dict[str, Item] = {}
    for item in items:
        if not item.body.get("artefact"):
            last.update(dict.fromkeys(item.body, item))
    return {
        key: Latest(value=item.body[key], event_time=item.event_time, item=item)
        for key, item in last.items()
        if key not in _ABOUT_THE_ROW
    }


def _running(items: Iterable[Item]) -> dict[str, Item]:
    running: dict[str, Item] = {}
    for item in items:
        drug = item.body["drug"]
        running.pop(drug, None)
        if item.body["action"] != "stop":
            running[drug] = item
    return running


def _given(items: Iterable[Item]) -> tuple[dict[str, float], dict[str, int]]:
    """Return what was given of each drug, and how often an amount was not told."""
    told: dict[str, list[float]] = defaultdict(list)
    untold: dict[str, int] = defaultdict(int)
    for item in items:
        amount_mg = item.body.get("amount_mg")
        if amount_mg is not None:
            told[item.body["drug"]].append(amount_mg)
        elif item.kind == "drug" or item.body["action"] == "stop":
            untold[item.body["drug"]] += 1
    # summed without regard to order, so that a late entry changes nothing but the sum
    return {drug: math.fsum(amounts) for drug, amounts in told.items()}, dict(untold)
