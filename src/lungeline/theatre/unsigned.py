"""Entries made in an emergency before anybody had signed in: known by their author, claimed afterwards."""

from lungeline.record import Entry
from lungeline.theatre.cases import CaseNow
from lungeline.theatre.desk import Desk

_NOBODY, _CLAIM = (
    "not signed in ({device})",
    "Entries by “{nobody}” up to number {last} were made by {author}.",
)


def nobody_at(device: str) -> str:
    """Return the author of what is entered on a device before anybody has signed in."""
    return _NOBODY.format(device=device)


def unclaimed(now: CaseNow) -> tuple[str, ...]:
    """Return the authors that are nobody yet: on a device before anybody had signed in, and not claimed."""
    made: dict[str, int] = {}
    for entry in now.entries:
        if _is_nobody(entry):
            made[entry.author] = entry.seq
    claims = [str(item.body["text"]) for item in now.state.items if item.kind == "note" and not item.struck]
    return tuple(nobody for nobody, last in made.items() if not _claimed(nobody, last, claims))


def claim(desk: Desk, case: str) -> Entry | None:
    """Enter that this person made what nobody had signed for; None where there is nothing of that kind."""
    now = desk.cases.read(case)
    entry = None
    for nobody in unclaimed(now):
        last = max(each.seq for each in now.entries if each.author == nobody)
        text = _CLAIM.format(nobody=nobody, last=last, author=desk.author)
        entry = desk.enter(case, "note", {"text": text})
    return entry


def _is_nobody(entry: Entry) -> bool:
    before, after = _NOBODY.split("{device}")
    return entry.author.startswith(before) and entry.author.endswith(after)


def _claimed(nobody: str, last: int, claims: list[str]) -> bool:
    begin = _CLAIM.split("{author}", maxsplit=1)[0].format(nobody=nobody, last=last)
    return any(text.startswith(begin) for text in claims)
