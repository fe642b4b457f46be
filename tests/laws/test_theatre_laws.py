"""What must hold however a case is kept at the desk: the chain stays valid, and nothing is lost."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from unittest.mock import patch

from hypothesis import given, settings
from hypothesis import strategies as st

from lungeline.errors import LungelineError
from lungeline.record import Entry, present_state
from lungeline.theatre import NEXT, Cases, Desk, sign, totals, versions
from lungeline.theatre.anonymised import anonymised

NOW = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
STAR = {"purpose": "real", "name": "Star", "species": "horse", "weight_kg": 520.0}
_FEW = 25  # each example makes a store on disk

steps = st.fixed_dictionaries(
    {
        "what": st.sampled_from(
            ["reading", "drug", "phase", "note", "correct", "strike", "sign", "addendum"]
        ),
        "number": st.integers(20, 120),
        "minute": st.integers(-60, 0),
        "target": st.integers(1, 14),
        "phase": st.sampled_from(sorted(NEXT.keys() - {""})),
        "author": st.sampled_from(["A. Vet", "B. Vet"]),
    }
)


@contextmanager
def kept(told: list[dict[str, Any]]) -> Iterator[tuple[Cases, list[Entry]]]:
    """A case of these steps in a store of its own, and all that was acknowledged."""
    with tempfile.TemporaryDirectory() as folder:
        known = {key: value for key, value in os.environ.items() if key != "LUNGELINE_DATABASE"}
        with patch.dict(os.environ, known, clear=True):
            cases = Cases(Path(folder) / "data", key_file=Path(folder) / "key")
            acknowledged = list(_enter_all(cases, told))
            yield cases, acknowledged
            for store in cases.stores():
                store.close()


def _enter_all(cases: Cases, told: list[dict[str, Any]]) -> Iterator[Entry]:
    desk = Desk(cases=cases, author="A. Vet", device="tablet", clock=lambda: NOW)
    yield desk.open_case(STAR, case="star")
    for step in told:
        before = cases.read("star").state.count
        try:
            yield _done(Desk(cases=cases, author=step["author"], device="tablet", clock=lambda: NOW), step)
        except LungelineError:
            # a signature that is refused may not leave its reason behind
            assert cases.read("star").state.count == before


def _done(desk: Desk, step: dict[str, Any]) -> Entry:
    number, moment = float(step["number"]), NOW + timedelta(minutes=step["minute"])
    bodies: dict[str, dict[str, Any]] = {
        "reading": {"map_mmhg": number},
        "drug": {"drug": "ketamine", "amount_mg": number},
        "phase": {"phase": step["phase"]},
        "note": {"text": f"note {number:g}"},
        "addendum": {"text": f"added {number:g}"},
    }
    match step["what"]:
        case "correct":
            return desk.correct("star", step["target"], "slip", {"map_mmhg": number})
        case "strike":
            return desk.strike("star", step["target"], "mistake")
        case "sign":
            return sign(desk, "star", role="anaesthetist", because="end of shift")
        case kind:
            return desk.enter("star", kind, bodies[kind], event_time=moment)


@settings(max_examples=_FEW)
@given(st.lists(steps, max_size=10))
def test_any_sequence_of_entering_correcting_and_signing_keeps_the_chain(told: list[dict[str, Any]]) -> None:
    with kept(told) as (cases, acknowledged):
        store = cases.find("star")
        store.note_heads(["star"])
        entries = cases.read("star").entries
        verdict = cases.verify("star")
        assert (verdict.outcome, verdict.proven_count) == ("intact", len(entries))
        # what a program knows that followed the case all along is what one finds that starts now
        anew = Cases(cases.path, key_file=cases.path.parent / "key")
        assert (entries, cases.read("star").state) == (anew.read("star").entries, anew.read("star").state)
        anew.store("real").close()
        there = {entry.uid: entry for entry in entries}
        assert all(there[entry.uid] == entry for entry in acknowledged)


@settings(max_examples=_FEW)
@given(st.lists(steps, max_size=10))
def test_phases_that_stand_follow_each_other_as_they_may_unless_one_was_struck_out(
    told: list[dict[str, Any]],
) -> None:
    with kept([step for step in told if step["what"] != "strike"]) as (cases, _):
        state = cases.read("star").state
    begun = [item.body["phase"] for item in state.items if item.kind == "phase"]
    assert all(after in NEXT[before] for before, after in zip(["", *begun], begun, strict=False))


@settings(max_examples=_FEW)
@given(st.lists(steps, max_size=10))
def test_a_signed_version_never_changes(told: list[dict[str, Any]]) -> None:
    with kept(told) as (cases, _):
        entries = cases.read("star").entries
    for version in versions(entries):
        assert entries[version.count - 1].hash == version.hash
        for item in version.signatures:
            # what was frozen was all there was when it was signed
            assert item.entry.seq == version.count + 1
        assert {entry.seq for entry in version.added} <= set(range(version.count + 1, len(entries) + 1))


@settings(max_examples=_FEW)
@given(st.lists(steps, max_size=10))
def test_without_names_a_case_says_the_same(told: list[dict[str, Any]]) -> None:
    with kept(told) as (cases, _):
        entries = cases.read("star").entries
    plain, without = present_state(entries), present_state(anonymised(entries, "x"))
    assert without.given_mg == plain.given_mg
    assert totals(without, NOW + timedelta(days=99999)).doses_mg == totals(plain, NOW).doses_mg
    assert [(it.kind, it.struck, it.corrected) for it in without.items if it.kind != "note"] == [
        (it.kind, it.struck, it.corrected) for it in plain.items if it.kind != "note"
    ]
    assert "Star" not in "".join(entry.line() for entry in anonymised(entries, "x"))
