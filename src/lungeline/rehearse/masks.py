"""Which instruments a trainer hid or let stand still, and from when to when."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from lungeline.case.reading import Reading


@dataclass(frozen=True, slots=True)
class _Mask:
    """From this moment on an instrument is shown as it is, or stands at a number, None for hidden."""

    at_s: float
    key: str
    as_it_is: bool
    stands: float | None = None


class Masks:
    """The masks of one rehearsal, in order of time."""

    def __init__(self) -> None:
        """Begin with none."""
        self._row: list[_Mask] = []

    def __len__(self) -> int:
        """How often a mask was put on or taken off."""
        return len(self._row)

    def put_on(self, key: str, at_s: float, stands: float | None = None) -> None:
        """Hide an instrument, or let it stand at a number."""
        self._row.append(_Mask(at_s, key, as_it_is=False, stands=stands))

    def take_off(self, key: str, at_s: float) -> None:
        """Show an instrument as it is."""
        self._row.append(_Mask(at_s, key, as_it_is=True))

    def cut(self, count: int) -> None:
        """Forget all but the first so many."""
        del self._row[count:]

    @property
    def now(self) -> dict[str, float | None]:
        """Instruments that are hidden (None) or stand still at a number, by key."""
        last = {mask.key: mask for mask in self._row}
        return {key: mask.stands for key, mask in last.items() if not mask.as_it_is}

    def as_shown(self, readings: Iterable[Reading], begun_s: float) -> Iterator[Reading]:
        """Yield readings as they were shown at their time, without those that were hidden then.

        begun_s: the moment of the readings' clock from which masks count.
        """
        for each in readings:
            mask = self._at(each.key, each.time_s - begun_s)
            if mask is None or mask.as_it_is:
                yield each
            elif mask.stands is not None:
                yield replace(each, value=mask.stands)

    def _at(self, key: str, at_s: float) -> _Mask | None:
        return next((it for it in reversed(self._row) if it.key == key and it.at_s < at_s), None)
