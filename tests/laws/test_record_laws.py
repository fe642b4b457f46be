"""What must hold of any record: nothing changes unseen, nothing is lost unseen, arrival is no order."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from lungeline.errors import InputError, RecordError
from lungeline.record import CaseInMemory, Draft, Entry, Key, grown_state, head_of, present_state, verify
from lungeline.record.canonical import canonical, read

NOW = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
KEY = Key(secret=bytes(range(32)))
DEVICES = ("tablet", "phone")

texts = st.text(min_size=1, max_size=30).filter(lambda text: text.isprintable() and bool(text.strip()))
json_values = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner, max_size=4)
    | st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])), inner, max_size=4),
    max_leaves=20,
)  # fmt: skip


@given(json_values)
def test_the_canonical_text_reads_back_as_the_same_value_and_is_valid_json(value: object) -> None:
    text = canonical(value)
    # as any other reader of JSON has it, whose numbers are doubles
    assert json.loads(text, parse_int=float) == value
    assert read(text) == value
    assert canonical(read(text)) == text


@st.composite
def told(draw: st.DrawFn) -> list[dict[str, Any]]:
    """What a few people tell: (kind, body, device, minute, which earlier entry it amends)."""
    steps = draw(
        st.lists(
            st.fixed_dictionaries(
                {
                    "what": st.sampled_from(["reading", "note", "drug", "correction", "strike", "signature"]),
                    "number": st.integers(20, 120),
                    "text": texts,
                    "device": st.sampled_from(DEVICES),
                    "minute": st.integers(-30, 30),
                    "target": st.integers(0, 30),
                }
            ),
            max_size=14,
        )
    )
    return [{"what": "opening", "text": draw(texts), "device": "tablet", "minute": 0}, *steps]


def body_of(step: dict[str, Any], kept: CaseInMemory) -> tuple[str, dict[str, Any], str | None]:
    """Kind, body and target of a step, given what is there."""
    there = kept.entries
    number, text = step.get("number", 0), step["text"]
    head = {"head_count_number": there[-1].seq, "head_hash": there[-1].hash} if there else {}
    bodies: dict[str, dict[str, Any]] = {
        "opening": {"purpose": "real", "name": text, "species": "horse"},
        "reading": {"map_mmhg": number, "heart_rate_per_min": number / 3},
        "note": {"text": text},
        "drug": {"drug": "ketamine", "amount_mg": number / 7},
        "signature": {"meaning": "signed", "role": "anaesthetist", **head},
        "strike": {"reason": text},
        "correction": {"reason": text, "kind": "reading", "body": {"map_mmhg": number}},
    }
    amends = step["what"] in {"strike", "correction"}
    return step["what"], bodies[step["what"]], there[step["target"] % len(there)].uid if amends else None


def drafts_and_entries(steps: list[dict[str, Any]]) -> tuple[list[Draft], list[Entry]]:
    """Enter what can be entered; what the rules refuse leaves no trace."""
    kept = CaseInMemory(KEY)
    drafts = []
    for place, step in enumerate(steps):
        kind, body, corrects = body_of(step, kept)
        draft = Draft(
            uid=f"u{place}",
            case="c1",
            kind=kind,
            event_time=NOW + timedelta(minutes=step["minute"]),
            author="A. Vet",
            device=step["device"],
            body=body,
            corrects=corrects,
        )
        before = kept.entries
        try:
            kept.append(draft, NOW + timedelta(seconds=place))
        except (InputError, RecordError):
            assert kept.entries == before
        else:
            drafts.append(draft)
    return drafts, list(kept.entries)


def lines_of(entries: list[Entry]) -> list[str]:
    return [entry.line() for entry in entries]


@given(told())
def test_whatever_was_entered_corrected_and_signed_is_intact(steps: list[dict[str, Any]]) -> None:
    _, entries = drafts_and_entries(steps)
    verdict = verify("c1", lines_of(entries), KEY, [head_of(entries[-1], KEY)])
    assert (verdict.outcome, verdict.proven_count) == ("intact", len(entries))


@given(told(), st.data())
def test_any_change_of_any_byte_is_found_where_it_is(
    steps: list[dict[str, Any]], data: st.DataObject
) -> None:
    _, entries = drafts_and_entries(steps)
    lines = lines_of(entries)
    seq = data.draw(st.integers(1, len(lines)))
    raw = bytearray(lines[seq - 1].encode())
    place = data.draw(st.integers(0, len(raw) - 1))
    raw[place] ^= data.draw(st.integers(1, 255))
    lines[seq - 1] = raw.decode(errors="surrogateescape")
    verdict = verify("c1", lines, KEY, [head_of(entries[-1], KEY)])
    assert (verdict.outcome, verdict.at_seq) == ("changed", seq)


@given(told(), st.data())
def test_any_cut_tail_is_found_with_the_head(steps: list[dict[str, Any]], data: st.DataObject) -> None:
    _, entries = drafts_and_entries(steps)
    left = data.draw(st.integers(0, len(entries) - 1))
    verdict = verify("c1", lines_of(entries[:left]), KEY, [head_of(entries[-1], KEY)])
    assert (verdict.outcome, verdict.at_seq) == ("cut", left + 1)
    assert verify("c1", lines_of(entries[:left]), KEY, []).outcome == "unverifiable"


@given(told(), st.randoms(use_true_random=False))
def test_any_other_order_or_selection_is_found(steps: list[dict[str, Any]], random: Any) -> None:  # noqa: ANN401  a generator
    _, entries = drafts_and_entries(steps)
    other = random.choices(entries, k=random.randint(0, len(entries)))
    verdict = verify("c1", lines_of(other), KEY, [head_of(entries[-1], KEY)])
    assert (verdict.outcome == "intact") == (other == entries)


def present(entries: list[Entry]) -> tuple[object, ...]:
    """What a case says, apart from when and in what order it arrived."""
    state = present_state(entries)
    items = {
        it.entry.uid: (it.kind, canonical(it.body), it.event_time, it.struck, [e.uid for e in it.history])
        for it in state.items
    }
    latest = {key: (it.value, it.item.entry.uid) for key, it in state.readings.items()}
    return items, latest, state.given_mg, state.opening, [it.entry.uid for it in state.items]


@given(told(), st.randoms(use_true_random=False))
def test_what_a_case_says_does_not_depend_on_the_order_in_which_a_device_was_heard(
    steps: list[dict[str, Any]],
    random: Any,  # noqa: ANN401  a generator
) -> None:
    _, entries = drafts_and_entries(steps)
    arrived = list(entries)
    for device in DEVICES:
        # the opening is first by the rules; all else of a device may come in any order
        places = [place for place, entry in enumerate(entries) if entry.device == device and place > 0]
        shuffled = random.sample(places, len(places))
        for to, origin in zip(places, shuffled, strict=True):
            arrived[to] = replace(entries[origin], seq=to + 1, entry_time=entries[to].entry_time)
    assert present(arrived) == present(entries)
    assert present(random.sample(arrived, len(arrived))) == present(entries)


@given(told(), st.randoms(use_true_random=False))
def test_sending_anything_again_changes_nothing(steps: list[dict[str, Any]], random: Any) -> None:  # noqa: ANN401  a generator
    drafts, entries = drafts_and_entries(steps)
    kept = CaseInMemory(KEY, entries)
    for draft in random.choices(drafts, k=5):
        assert kept.append(draft, NOW + timedelta(days=1)).uid == draft.uid
    assert list(kept.entries) == entries


@given(told())
def test_every_original_stays_in_view_whatever_came_after(steps: list[dict[str, Any]]) -> None:
    _, entries = drafts_and_entries(steps)
    state = present_state(entries)
    seen = [item.entry for item in state.items] + [entry for item in state.items for entry in item.history]
    assert sorted(entry.seq for entry in seen) == list(range(1, len(entries) + 1))
    assert state.orphans == ()


@given(told(), st.randoms(use_true_random=False), st.booleans(), st.data())
def test_a_state_that_grew_is_the_state_told_at_once(
    steps: list[dict[str, Any]],
    chance: Any,  # noqa: ANN401  random.Random, as drawn
    in_order: bool,  # noqa: FBT001  drawn
    data: st.DataObject,
) -> None:
    """Whatever a program knows already, and however a device's entries arrive."""
    _, entries = drafts_and_entries(steps)
    if not in_order:
        for device in DEVICES:
            places = [place for place, entry in enumerate(entries) if entry.device == device]
            counts = [entries[place].device_seq for place in places]
            chance.shuffle(counts)
            for place, count in zip(places, counts, strict=True):
                entries[place] = replace(entries[place], device_seq=count)
    state, known = present_state([]), 0
    while known < len(entries):
        known = data.draw(st.integers(known + 1, len(entries)))
        state = grown_state(state, entries[:known])
        assert state == present_state(entries[:known])
