"""Plans that are open on a page: kept for a while, so that a slider or a "why?" needs no new one.

A plan is known by what it was made from, so the same question has the same plan whoever asks. Which device
moves a slider is told apart, so that one hand does not end another's question. All is bounded; what was
dropped is made again when it is asked for with the case.
"""

import hashlib
import json
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

from lungeline.case import Case, Profile, case_to_json
from lungeline.errors import StoppedError, UnknownNameError
from lungeline.plan import Plan, Preview, make_plan
from lungeline.plan.bands import Bands, bands
from lungeline.plan.preview import preview_of
from lungeline.plan.settled_doses import DoseChoice, with_doses

_MOST_PLANS, _MOST_PREVIEWS, _MOST_TICKETS = 32, 16, 64
_KEY_SIGNS = 24
_Value = TypeVar("_Value")
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """All a plan is made from."""

    case: Case
    profile: Profile = field(default_factory=Profile)
    animals: int = 100
    seed: int = 1
    doses: tuple[DoseChoice, ...] = ()

    def key(self, *, doses: bool = True) -> str:
        """Return a name no other question has. doses: whether what was settled of them counts."""
        told = [case_to_json(self.case), self.profile.as_json(), self.animals, self.seed]
        settled = [[getattr(each, name) for name in each.__slots__] for each in self.doses] if doses else []
        text = json.dumps([told, settled], sort_keys=True, default=str)
        return hashlib.sha256(text.encode()).hexdigest()[:_KEY_SIGNS]


class _Recent(Generic[_Value]):
    """So many of the values used last, each made once however many ask for it at a time."""

    def __init__(self, most: int) -> None:
        self._most, self._kept = most, OrderedDict[str, _Value]()
        self._lock, self._making = threading.Lock(), dict[str, threading.Lock]()

    def get(self, key: str) -> _Value | None:
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
            return self._kept.get(key)

    def made(self, key: str, make: Callable[[], _Value]) -> _Value:
        with self._lock:
            mine = self._making.setdefault(key, threading.Lock())
        with mine:
            found = self.get(key)
            if found is None:
                found = make()
                self.put(key, found)
        with self._lock:
            self._making.pop(key, None)
        return found

    def put(self, key: str, value: _Value) -> None:
        with self._lock:
            self._kept[key] = value
            self._kept.move_to_end(key)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)


class Plannings:
    """The open plans of this process."""

    def __init__(self) -> None:
        """Begin with none."""
        self._plans = _Recent[Plan](_MOST_PLANS)
        self._bands = _Recent[Bands](_MOST_PLANS)
        self._previews = _Recent[Preview](_MOST_PREVIEWS)
        self._done = _Recent[tuple[int, int]](_MOST_TICKETS)
        self._moves = _Recent[int](_MOST_TICKETS)

    def plan(self, asked: Asked, ticket: str = "", device: str = "") -> tuple[str, Plan]:
        """Return the plan and its key, made where it is not kept.

        ticket: to ask how far it is by; with one, the work stops once the device moves a number again.
        """

        def made() -> Plan:
            return make_plan(
                asked.case,
                asked.profile,
                animals=asked.animals,
                seed=asked.seed,
                progress=self._told(ticket, device),
            )

        plan = self._plans.made(asked.key(doses=False), made)
        key = asked.key()
        return key, self._plans.made(key, lambda: with_doses(plan, asked.doses)) if asked.doses else plan

    def find(self, key: str) -> Plan:
        """Return an open plan. Raises UnknownNameError where it is open no longer."""
        found = self._plans.get(key)
        if found is None:
            raise UnknownNameError(
                where="plan", given=key, allowed="a plan that is open", do="Plan again; the same comes out."
            )
        return found

    def preview(self, key: str, device: str) -> Preview:
        """Return the preview of an open plan for one device."""
        plan = self.find(key)
        return self._previews.made(
            f"{key} {device}", lambda: preview_of(plan.case, plan.settings, plan.changes, plan.profile)
        )

    def moved(self, device: str) -> None:
        """Note that a device moves a number: longer work it asked for before is of no use any more."""
        self._moves.put(device, (self._moves.get(device) or 0) + 1)

    def bands(self, key: str, ticket: str = "", device: str = "") -> Bands:
        """Return the bands of an open plan; ticket and device as of a plan."""
        plan = self.find(key)
        return self._bands.made(key, lambda: bands(plan, progress=self._told(ticket, device)))

    def progress(self, ticket: str) -> dict[str, Any]:
        """Return how far the work under a ticket is."""
        done, of = self._done.get(ticket) or (0, 0)
        return {"done": done, "of": of}

    def _told(self, ticket: str, device: str) -> Progress | None:
        if not ticket:
            return None
        began = self._moves.get(device)

        def tell(done: int, of: int) -> None:
            self._done.put(ticket, (done, of))
            if self._moves.get(device) != began:
                raise StoppedError(
                    where="plan", given="a number moved meanwhile", allowed="one thing at a time",
                    do="Nothing: the page asks again.",
                )  # fmt: skip

        return tell


plannings = Plannings()
