"""What entries add up to, corrected and struck out; clocks; and what may follow what."""

from datetime import UTC, datetime, timedelta
from itertools import count
from typing import Any

import pytest

from lungeline.errors import ConflictError, InputError, MissingError, RecordError, UnknownNameError
from lungeline.record import CaseInMemory, CaseState, Draft, Entry, Item, Key, present_state

NOW = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
OPENING = {"purpose": "real", "name": "Star", "species": "horse", "weight_kg": 520.0}


class Case:
    """A case that is written down as the test goes, a minute at a time."""

    def __init__(self, purpose: str = "real") -> None:
        """Open it."""
        self.kept = CaseInMemory(Key(secret=bytes(32)))
        self._uids = count(1)
        self.enter("opening", OPENING | {"purpose": purpose})

    def enter(
        self,
        kind: str,
        body: dict[str, Any],
        at_min: float = 0.0,
        corrects: Entry | str | None = None,
        **changed: Any,  # noqa: ANN401  any field of a draft
    ) -> Entry:
        """Enter something, at once unless `now` says otherwise."""
        usual: dict[str, Any] = {
            "uid": f"u{next(self._uids)}",
            "case": "c1",
            "kind": kind,
            "event_time": NOW + timedelta(minutes=at_min),
            "author": "A. Vet",
            "device": "tablet",
            "body": body,
            "corrects": corrects.uid if isinstance(corrects, Entry) else corrects,
        }
        now = changed.pop("now", NOW + timedelta(minutes=at_min))
        return self.kept.append(Draft(**(usual | changed)), now)

    def correct(self, entry: Entry, body: dict[str, Any], at_min: float = 0.0) -> Entry:
        """Correct an entry."""
        whole = {"reason": "slip", "kind": entry.kind, "body": body}
        return self.enter("correction", whole, at_min, corrects=entry)

    def strike(self, entry: Entry) -> Entry:
        """Strike an entry out."""
        return self.enter("strike", {"reason": "wrong horse"}, corrects=entry)

    @property
    def state(self) -> CaseState:
        """What it adds up to."""
        return present_state(self.kept.entries)

    def item(self, entry: Entry) -> Item:
        """The item an original became."""
        (item,) = (item for item in self.state.items if item.entry.uid == entry.uid)
        return item


def test_an_empty_case_adds_up_to_nothing() -> None:
    state = present_state([])
    assert (state.case, state.count, state.opening, state.items) == ("", 0, {}, ())


def test_the_latest_value_is_the_one_that_happened_last_not_the_one_written_last() -> None:
    case = Case()
    case.enter("reading", {"heart_rate_per_min": 40.0, "map_mmhg": 60.0}, at_min=10)
    case.enter("reading", {"heart_rate_per_min": 36.0, "map_mmhg": 72.0}, at_min=5)
    case.enter("reading", {"map_mmhg": 65.0}, at_min=12)
    now = {key: latest.value for key, latest in case.state.readings.items()}
    assert now == {"heart_rate_per_min": 40, "map_mmhg": 65}


def test_a_correction_holds_and_the_original_stays_visible() -> None:
    case = Case()
    wrong = case.enter("reading", {"map_mmhg": 170.0}, at_min=5)
    case.correct(wrong, {"map_mmhg": 70.0}, at_min=6)
    item = case.item(wrong)
    assert (item.body["map_mmhg"], item.entry.body["map_mmhg"]) == (70, 170)
    assert item.event_time == NOW + timedelta(minutes=6)
    assert item.corrected
    assert not item.struck
    assert [entry.body["reason"] for entry in item.history] == ["slip"]
    assert case.state.readings["map_mmhg"].value == 70


def test_the_last_correction_holds_whether_it_names_the_original_or_another_correction() -> None:
    case = Case()
    wrong = case.enter("reading", {"map_mmhg": 170.0})
    first = case.correct(wrong, {"map_mmhg": 70.0})
    second = case.enter(
        "correction", {"reason": "again", "kind": "reading", "body": {"map_mmhg": 71.0}}, corrects=first
    )
    assert case.item(wrong).body["map_mmhg"] == 71
    case.strike(second)
    assert case.item(wrong).body["map_mmhg"] == 70
    case.strike(first)
    assert case.item(wrong).body["map_mmhg"] == 170
    assert not case.item(wrong).corrected


def test_what_is_struck_out_counts_no_more_but_is_seen_and_can_be_restored() -> None:
    case = Case()
    before = case.enter("reading", {"map_mmhg": 72.0}, at_min=1)
    wrong = case.enter("reading", {"map_mmhg": 20.0}, at_min=2)
    strike = case.strike(wrong)
    assert case.item(wrong).struck
    assert case.state.readings["map_mmhg"].item.entry == before
    undone = case.strike(strike)
    assert not case.item(wrong).struck
    assert case.item(wrong).history == (strike, undone)
    case.strike(undone)
    assert case.item(wrong).struck


def test_an_artefact_is_kept_but_not_used() -> None:
    case = Case()
    case.enter("reading", {"map_mmhg": 72.0}, at_min=1)
    case.enter("reading", {"map_mmhg": 250.0, "artefact": True}, at_min=2)
    assert case.state.readings["map_mmhg"].value == 72
    assert len(case.state.items) == 3


def test_settings_phase_and_infusions_as_they_stand() -> None:
    case = Case()
    case.enter("setting", {"peep_cmh2o": 5.0, "mode": "volume"}, at_min=1)
    case.enter("setting", {"peep_cmh2o": 10.0, "reason": "PaO2 low"}, at_min=2)
    case.enter("phase", {"phase": "maintain"}, at_min=2)
    case.enter("infusion", {"drug": "dobutamine", "action": "start", "dose_ug_kg_min": 0.5}, at_min=3)
    case.enter("infusion", {"drug": "dobutamine", "action": "change", "dose_ug_kg_min": 1.0}, at_min=4)
    case.enter("infusion", {"drug": "lidocaine", "action": "start", "rate_ml_h": 80.0}, at_min=4)
    case.enter("infusion", {"drug": "lidocaine", "action": "stop", "amount_mg": 900.0}, at_min=30)
    state = case.state
    assert {key: it.value for key, it in state.settings.items()} == {"peep_cmh2o": 10, "mode": "volume"}
    assert state.phase == "maintain"
    assert {drug: it.body["dose_ug_kg_min"] for drug, it in state.running.items()} == {"dobutamine": 1}
    assert state.given_mg == {"lidocaine": 900}


def test_doses_add_up_without_those_struck_out_and_tell_what_is_untold() -> None:
    case = Case()
    for _ in range(10):
        case.enter("drug", {"drug": "ketamine", "amount_mg": 0.1})
    wrong = case.enter("drug", {"drug": "ketamine", "amount_mg": 1000.0})
    case.strike(wrong)
    case.enter("drug", {"drug": "ketamine", "volume_ml": 2.0})
    assert case.state.given_mg == {"ketamine": 1.0}  # arithmetic: ten tenths
    assert case.state.untold_doses == {"ketamine": 1}


def test_a_late_entry_is_marked_late() -> None:
    case = Case()
    late = case.enter("event", {"what": "intubated"}, at_min=0, now=NOW + timedelta(minutes=10))
    prompt = case.enter("event", {"what": "cuff filled"}, at_min=10)
    assert case.item(late).late
    assert not case.item(prompt).late


# --- devices and clocks -------------------------------------------------------------------------------


def test_a_device_is_heard_in_its_own_order_whatever_arrives_first() -> None:
    case = Case()
    first = case.enter("reading", {"map_mmhg": 170.0}, device="phone", device_seq=1)
    later = {"reason": "still wrong", "kind": "reading", "body": {"map_mmhg": 71.0}}
    sooner = {"reason": "slip", "kind": "reading", "body": {"map_mmhg": 17.0}}
    case.enter("correction", later, corrects=first, device="phone", device_seq=3)
    case.enter("correction", sooner, corrects=first, device="phone", device_seq=2)
    assert case.item(first).body["map_mmhg"] == 71


def test_one_count_of_a_device_is_not_given_twice() -> None:
    case = Case()
    case.enter("event", {"what": "one"}, device="phone", device_seq=7)
    with pytest.raises(ConflictError, match="phone"):
        case.enter("event", {"what": "two"}, device="phone", device_seq=7)
    assert case.enter("event", {"what": "two"}, device="phone").device_seq == 8


def test_a_device_whose_clock_is_off_is_noted_once_not_at_each_entry() -> None:
    case = Case()
    for minute in range(3):
        at = NOW + timedelta(minutes=minute)
        case.enter("event", {"what": "x"}, minute, sent_time=at + timedelta(seconds=90), device="phone")
    notes = case.state.clocks
    assert [(note.device, note.what, note.ahead_s) for note in notes] == [("phone", "device differs", 90)]
    case.enter("event", {"what": "x"}, 4, sent_time=NOW + timedelta(minutes=4), device="phone")
    assert [note.ahead_s for note in case.state.clocks] == [90, 0]


def test_an_event_in_the_future_and_a_store_whose_clock_went_back_are_noted() -> None:
    case = Case()
    case.enter("event", {"what": "x"}, at_min=30, now=NOW)
    case.enter("event", {"what": "y"}, at_min=-60, now=NOW - timedelta(hours=1))
    assert [(note.at_seq, note.what, note.ahead_s) for note in case.state.clocks] == [
        (2, "event in the future", 1800),
        (3, "store went back", -3600),
    ]


# --- what may follow what -----------------------------------------------------------------------------


def test_sent_twice_is_entered_once_and_another_content_under_the_same_uid_is_refused() -> None:
    case = Case()
    once = case.enter("reading", {"map_mmhg": 72.0}, uid="same")
    assert case.enter("reading", {"map_mmhg": 72.0}, uid="same", now=NOW + timedelta(hours=1)) == once
    with pytest.raises(ConflictError, match="new uid"):
        case.enter("reading", {"map_mmhg": 73.0}, uid="same")
    with pytest.raises(ConflictError):
        case.enter("reading", {"map_mmhg": 72.0}, uid="same", author="B. Vet")
    assert case.state.count == 2


def test_a_case_begins_with_its_opening_and_has_one() -> None:
    empty = CaseInMemory(Key(secret=bytes(32)))
    event = {"uid": "u", "case": "c", "event_time": NOW, "author": "A", "device": "d"}
    with pytest.raises(UnknownNameError, match="Open the case"):
        empty.append(Draft(**event, kind="event", body={"what": "x"}), NOW)  # type: ignore[arg-type]  # mixed
    with pytest.raises(ConflictError):
        Case().enter("opening", OPENING)


def test_amendments_must_lead_to_an_entry_of_content() -> None:
    case = Case()
    opening = case.kept.entries[0]
    with pytest.raises(MissingError):
        case.enter("strike", {"reason": "x"})
    with pytest.raises(UnknownNameError):
        case.enter("strike", {"reason": "x"}, corrects="nobody")
    with pytest.raises(InputError, match="correction"):
        case.enter("event", {"what": "x"}, corrects=opening)
    with pytest.raises(RecordError):
        case.strike(opening)
    strike = case.strike(case.enter("event", {"what": "x"}))
    with pytest.raises(InputError, match=r"correction\.kind"):
        case.correct(strike, {"reason": "y"})
    with pytest.raises(RecordError, match="a strike"):
        case.enter("correction", {"reason": "x", "kind": "event", "body": {"what": "y"}}, corrects=strike)


def test_an_opening_is_corrected_but_never_from_rehearsal_to_real() -> None:
    case = Case("rehearsal")
    opening = case.kept.entries[0]
    case.correct(opening, OPENING | {"purpose": "rehearsal", "name": "Moon"})
    assert case.state.opening["name"] == "Moon"
    with pytest.raises(RecordError, match="never change"):
        case.correct(opening, OPENING)
    event = case.enter("event", {"what": "x"})
    with pytest.raises(RecordError):
        case.enter("correction", {"reason": "x", "kind": "opening", "body": OPENING}, corrects=event)


def signature(entry: Entry) -> dict[str, Any]:
    return {
        "meaning": "signed",
        "role": "anaesthetist",
        "head_count_number": entry.seq,
        "head_hash": entry.hash,
    }


def test_a_signature_fits_its_head_and_freezes_what_was_there() -> None:
    case = Case()
    event = case.enter("event", {"what": "x"})
    case.enter("signature", signature(event))
    case.enter("addendum", {"text": "seen next morning"})
    assert case.state.signed_count == 2
    assert [item.entry.author for item in case.state.signatures] == ["A. Vet"]
    with pytest.raises(ConflictError, match="Read the case again"):
        case.enter("signature", signature(event) | {"head_hash": "0" * 64})
    with pytest.raises(ConflictError):
        case.enter("signature", signature(event) | {"head_count_number": 99.0})
    with pytest.raises(ConflictError):
        case.enter("signature", signature(event) | {"head_count_number": 1.5})


@pytest.mark.parametrize("purpose", ["rehearsal", "demo"])
def test_nothing_simulated_is_signed(purpose: str) -> None:
    case = Case(purpose)
    with pytest.raises(RecordError, match="unsigned"):
        case.enter("signature", signature(case.kept.entries[0]))


def test_a_signature_is_not_struck_out() -> None:
    case = Case()
    signed = case.enter("signature", signature(case.kept.entries[0]))
    with pytest.raises(RecordError):
        case.strike(signed)
