"""The chain, its key, its heads, and what a check of them tells."""

import hashlib
import hmac
import json
import os
import stat
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from lungeline.errors import KeyFileError, StoreError
from lungeline.record import (
    GENESIS,
    CaseInMemory,
    Draft,
    Entry,
    Head,
    Key,
    Verdict,
    add_head,
    head_of,
    load_key,
    make_key,
    read_heads,
    sealed,
    verify,
)

NOW = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
KEY = Key(secret=bytes(range(32)))
OTHER = Key(secret=bytes(32))
OPENING = {"purpose": "real", "name": "Star", "species": "horse"}


def case_of(count: int, key: Key = KEY, case: str = "c1") -> list[Entry]:
    kept = CaseInMemory(key)
    for place in range(count):
        kind, body = ("event", {"what": f"event {place}"}) if place else ("opening", OPENING)
        kept.append(
            Draft(
                uid=f"{case}-{place}",
                case=case,
                kind=kind,
                event_time=NOW,
                author="A. Vet",
                device="tablet",
                body=body,
            ),
            NOW,
        )
    return list(kept.entries)


def checked(entries: list[Entry], *heads: Head, key: Key | None = KEY) -> Verdict:
    return verify("c1", [entry.line() for entry in entries], key, heads)


def test_each_entry_carries_the_keyed_hash_of_itself_and_of_the_one_before() -> None:
    first, second = case_of(2)
    assert first.prev == GENESIS
    assert second.prev == first.hash
    plain = json.loads(second.line())
    del plain["hash"]
    # what anybody with the key can do without this program: RFC 2104 over RFC 8785; these values have but
    # one JSON text, so sorting the keys is enough
    text = json.dumps(plain, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert second.hash == hmac.new(KEY.secret, text.encode(), hashlib.sha256).hexdigest()


def test_a_whole_case_is_intact_only_with_key_and_head() -> None:
    entries = case_of(4)
    head = head_of(entries[-1], KEY)
    assert checked(entries, head) == Verdict(outcome="intact", case="c1", count=4, proven_count=4)
    assert checked(entries).reason == "no head"
    assert checked(entries, head, key=None).reason == "no key"
    assert {checked(entries).outcome, checked(entries, head, key=None).outcome} == {"unverifiable"}


def test_entries_after_the_newest_head_are_not_called_proven() -> None:
    entries = case_of(4)
    verdict = checked(entries, head_of(entries[1], KEY))
    assert (verdict.outcome, verdict.count, verdict.proven_count) == ("intact", 4, 2)


def test_a_cut_tail_is_found_with_the_head_and_never_called_intact_without() -> None:
    entries = case_of(5)
    head = head_of(entries[-1], KEY)
    for left in range(5):
        verdict = checked(entries[:left], head)
        assert (verdict.outcome, verdict.at_seq) == ("cut", left + 1)
        assert checked(entries[:left]).outcome == "unverifiable"


def test_the_first_entry_that_does_not_fit_is_named() -> None:
    entries = case_of(5)
    head = head_of(entries[-1], KEY)
    changed = replace(entries[2], author="B. Vet")
    assert checked([*entries[:2], changed, *entries[3:]], head).at_seq == 3
    taken_out = checked([*entries[:2], *entries[3:]], head)
    assert (taken_out.outcome, taken_out.at_seq, taken_out.reason) == ("changed", 3, "out of order")
    swapped = checked([entries[0], entries[2], entries[1], *entries[3:]], head)
    assert (swapped.outcome, swapped.at_seq) == ("changed", 2)


def test_renumbering_resealing_with_another_key_and_entries_of_another_case_are_found() -> None:
    entries = case_of(4)
    head = head_of(entries[-1], KEY)
    renumbered = [*entries[:2], replace(entries[3], seq=3)]
    assert checked(renumbered, head).reason == "broken link"
    forged = case_of(4, OTHER)
    assert checked(forged, head).reason == "wrong hash"
    assert checked([entries[0], *case_of(4, case="c2")[1:]], head).reason == "another case"
    resealed = sealed(replace(entries[3], author="B. Vet"), KEY)  # somebody who has the key
    assert checked([*entries[:3], resealed], head).reason == "not the head"


def test_damage_that_shows_without_a_key_is_told_without_one() -> None:
    entries = case_of(3)
    assert checked([entries[0], entries[2]], key=None).at_seq == 2


def test_another_key_makes_it_unverifiable_only_where_nothing_else_shows() -> None:
    entries = case_of(2, OTHER)
    head = head_of(entries[-1], OTHER)
    assert checked(entries, head, key=KEY).outcome == "unverifiable"
    assert checked(entries, head, key=KEY).reason == "another key"


# --- the key file -------------------------------------------------------------------------------------


def test_a_key_is_made_once_for_its_owner_only_and_stays(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "record.key"
    assert load_key(path) is None
    key = make_key(path)
    assert make_key(path) == key == load_key(path)
    assert len(key.secret) == 32
    if os.name != "nt":
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert [file.name for file in path.parent.iterdir()] == ["record.key"]


def test_two_keys_differ_and_neither_shows_its_secret(tmp_path: Path) -> None:
    one, two = make_key(tmp_path / "1"), make_key(tmp_path / "2")
    assert one.secret != two.secret
    assert one.id != two.id
    assert one.secret.hex() not in repr(one)
    assert one.id not in one.secret.hex()


@pytest.mark.parametrize("content", ["", "lungeline-record-key/1 00\n", "é" * 10])
def test_a_damaged_key_file_is_refused_and_left_alone(tmp_path: Path, content: str) -> None:
    path = tmp_path / "record.key"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(KeyFileError):
        make_key(path)
    assert path.read_text(encoding="utf-8") == content


# --- the head file ------------------------------------------------------------------------------------


def test_heads_are_added_and_read_back_in_order(tmp_path: Path) -> None:
    path = tmp_path / "heads.jsonl"
    heads = [head_of(entry, KEY) for entry in case_of(3)]
    for head in heads:
        add_head(path, head, KEY)
    assert read_heads(path, KEY) == heads
    assert read_heads(tmp_path / "none", KEY) == []


def test_a_torn_last_line_is_passed_over_and_swallows_nothing(tmp_path: Path) -> None:
    path = tmp_path / "heads.jsonl"
    first, second = (head_of(entry, KEY) for entry in case_of(2))
    add_head(path, first, KEY)
    with path.open("a", encoding="utf-8") as file:
        file.write('{"case":"c1","cou')
    add_head(path, second, KEY)
    assert read_heads(path, KEY) == [first, second]


def test_a_head_that_the_key_did_not_seal_counts_for_nothing(tmp_path: Path) -> None:
    path = tmp_path / "heads.jsonl"
    entries = case_of(4)
    add_head(path, head_of(entries[-1], KEY), KEY)
    line = path.read_text(encoding="utf-8")
    path.write_text(line.replace('"count":4', '"count":2'), encoding="utf-8")
    assert read_heads(path, KEY) == []
    assert read_heads(path, None) != []


def test_a_head_file_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="heads"):
        add_head(tmp_path / "no" / "heads.jsonl", head_of(case_of(1)[0], KEY), KEY)
