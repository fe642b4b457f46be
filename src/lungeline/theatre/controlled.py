"""Controlled drugs: what was drawn must be what was given and thrown away, seen by a witness."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from lungeline.record import CaseState, Item
from lungeline.theatre.people import same_person
from lungeline.theatre.totals import Totals, totals

_SAME_MG = 1e-6  # of sums of decimals


@dataclass(frozen=True, slots=True, kw_only=True)
class Reconciled:
    """One drug that was drawn from stock.

    difference_mg: drawn less given and wasted; None where something given has no amount.
    unwitnessed: entries without a witness other than their author.
    """

    drug: str
    drawn_mg: float
    given_mg: float | None
    wasted_mg: float
    unwitnessed: tuple[Item, ...]

    @property
    def difference_mg(self) -> float | None:
        """What is not accounted for [mg]."""
        return None if self.given_mg is None else self.drawn_mg - self.given_mg - self.wasted_mg

    @property
    def balanced(self) -> bool:
        """Whether drawn is given and wasted."""
        return self.difference_mg is not None and abs(self.difference_mg) < _SAME_MG * max(1.0, self.drawn_mg)


def reconciled(state: CaseState, now: datetime) -> tuple[Reconciled, ...]:
    """Return every drug that was entered as drawn or wasted; which drugs these are is the law's matter."""
    items = [item for item in state.items if item.kind == "controlled" and not item.struck]
    drugs = dict.fromkeys(item.body["drug"].casefold() for item in items)
    sums = totals(state, now)
    return tuple(
        _of_drug([item for item in items if item.body["drug"].casefold() == drug], sums) for drug in drugs
    )


def _of_drug(items: list[Item], sums: Totals) -> Reconciled:
    drug = items[0].body["drug"]
    return Reconciled(
        drug=drug,
        drawn_mg=_sum(items, "drawn_mg"),
        given_mg=_given_mg(drug, sums),
        wasted_mg=_sum(items, "wasted_mg"),
        unwitnessed=tuple(item for item in items if not _witnessed(item)),
    )


def _witnessed(item: Item) -> bool:
    witness = item.body.get("witness", "").strip()
    return bool(witness) and not same_person(witness, item.entry.author)


def _sum(items: Iterable[Item], key: str) -> float:
    return math.fsum(item.body[key] for item in items if item.body.get(key) is not None)


def _given_mg(drug: str, sums: Totals) -> float | None:
    parts = list(_parts_mg(drug.casefold(), sums))
    known = [part for part in parts if part is not None]
    return math.fsum(known) if len(known) == len(parts) else None


def _parts_mg(drug: str, sums: Totals) -> Iterator[float | None]:
    yield from (amount for name, amount in sums.doses_mg.items() if name.casefold() == drug)
    yield from (None for name in sums.untold_number if name.casefold() == drug)
    yield from (each.amount_mg for each in sums.infusions if each.drug.casefold() == drug)
