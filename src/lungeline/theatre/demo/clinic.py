"""Fills an empty data folder with the demonstration: cases told by stories, their readings by the model."""

from collections.abc import Iterator, Mapping
from dataclasses import asdict, replace
from datetime import datetime, timedelta
from importlib.resources import files
from itertools import count
from pathlib import Path
from typing import Any

from lungeline.case import Case
from lungeline.plan import Plan, make_plan
from lungeline.record import Draft
from lungeline.record.store.store import Store
from lungeline.simulate import simulate
from lungeline.theatre.cases import Cases
from lungeline.theatre.demo.machines import make_machines
from lungeline.theatre.demo.rows import gases_rows, reading_rows
from lungeline.theatre.demo.story import Story, read_story
from lungeline.theatre.desk import Desk
from lungeline.theatre.planned import plan_body

_DEVICE = "demo"
_PLAN_ANIMALS = 8  # enough for a plan to look at
_TOLD_AFTER_S = 8.0  # between something happening and its being entered


def stories() -> Iterator[Story]:
    """Yield the stories, the oldest first."""
    folder = files("lungeline.theatre.demo").joinpath("stories")
    texts = (each.read_text(encoding="utf-8") for each in folder.iterdir() if each.name.endswith(".toml"))
    told = [read_story(text) for text in texts]
    yield from sorted(told, key=lambda story: -story.began_min_ago)


def make_clinic(path: Path, now: datetime, *, key_file: Path | None = None) -> bool:
    """Fill the simulated side of a folder, unless it has cases already; returns whether it was filled.

    now: the moment up to which the stories are told.
    """
    hands = _Hands(now)
    cases = Cases(path, key_file=key_file, clock=hands.read)
    store = cases.store("simulated")
    if store.cases():
        return False
    for number, story in enumerate(stories(), start=1):
        _tell(store, hands, story, f"demo-{number}", now)
    make_machines(Desk(cases=cases, author="R. Alder", device=_DEVICE, clock=hands.read), now, hands.stand_at)
    store.note_heads([listed.case for listed in store.cases()])
    return True


class _Hands:
    """The store's clock while the past is told: it stands where the telling is."""

    def __init__(self, now: datetime) -> None:
        self.at = now

    def stand_at(self, moment: datetime) -> None:
        self.at = moment

    def read(self) -> datetime:
        return self.at


def _tell(store: Store, hands: _Hands, story: Story, case_id: str, now: datetime) -> None:
    began = now - timedelta(minutes=story.began_min_ago)
    plan = make_plan(story.case, animals=_PLAN_ANIMALS)
    uids = (f"{case_id}-{number}" for number in count(1))
    rows = sorted(_rows(story, plan), key=lambda row: row[0])
    for at_min, kind, body in rows:
        moment = began + timedelta(minutes=at_min)
        if moment > now:
            continue
        hands.at = min(moment + timedelta(seconds=_TOLD_AFTER_S), now)
        draft = Draft(
            uid=next(uids),
            case=case_id,
            kind=kind,
            event_time=moment,
            author=story.author,
            device=_DEVICE,
            body=body,
            sent_time=hands.at,
        )
        store.append(draft)


def _rows(story: Story, plan: Plan) -> Iterator[tuple[float, str, Mapping[str, Any]]]:
    """Yield everything that happens: minute, kind of entry, body. The plan first, then by time."""
    yield -40.0, "opening", story.opening
    yield -39.0, "plan", plan_body(plan.as_json())
    yield -38.0, "phase", {"phase": "prepare"}
    yield from ((told.at_min, told.kind, dict(told.body)) for told in story.told)
    if not story.minutes:
        return
    conducted = _conducted(story, plan)
    settings = {name: value for name, value in asdict(conducted.settings).items() if value is not None}
    yield 0.5, "setting", settings
    for change in conducted.changes:
        if change.at_min < story.minutes and change.settings:
            yield change.at_min, "setting", dict(change.settings)
    run = simulate(conducted, minutes=story.minutes)
    yield from reading_rows(run.breaths, story.seed)
    yield from gases_rows(run.breaths, story.gases_at_min, story.seed)


def _conducted(story: Story, plan: Plan) -> Case:
    """Return the planned case with what the story adds: changes of its own, and faults."""
    planned = plan.planned
    changes = sorted((*planned.changes, *story.changes), key=lambda change: change.at_min)
    return replace(planned, changes=tuple(changes), faults=story.faults)
