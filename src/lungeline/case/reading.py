"""What a monitor tells: single readings, and blocks of a curve."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from lungeline.errors import InputError

Quality = Literal["good", "doubtful", "missing"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One value of one quantity at one time.

    time_s: since the feed began.
    key: the quantity, named as in a breath, so that the name says the unit.
    value: None where the instrument had none.
    source: which instrument or file said so.
    quality: good, doubtful or missing.
    """

    time_s: float
    key: str
    value: float | None
    source: str
    quality: Quality = "good"

    def __post_init__(self) -> None:
        """Hold missing, None and quality together: a number that is none must not travel as one."""
        if self.quality not in get_args(Quality):
            raise _refuse(where="quality", given=self.quality, allowed=", ".join(get_args(Quality)))
        if not math.isfinite(self.time_s):
            raise _refuse(where="time_s", given=self.time_s, allowed="a finite number of seconds")
        if self.value is not None and not math.isfinite(self.value):
            raise _refuse(where="value", given=self.value, allowed="a finite number, or None")
        if (self.value is None) != (self.quality == "missing"):
            raise _refuse(
                where="quality", given=self.quality, allowed='"missing" exactly where the value is None'
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A stretch of a curve, evenly sampled.

    epoch: changes whenever the source starts anew, so that an index is never taken for an old one.
    channel: the quantity.
    unit: suffix of the units table.
    rate_hz: samples a second.
    start_index: place of the first value in its epoch.
    values: the samples.
    """

    epoch: str
    channel: str
    unit: str
    rate_hz: float
    start_index: int
    values: Sequence[float]

    def __post_init__(self) -> None:
        """Refuse a block that has no place in time."""
        if not (math.isfinite(self.rate_hz) and self.rate_hz > 0):
            raise _refuse(where="rate_hz", given=self.rate_hz, allowed="above 0 Hz")
        if self.start_index < 0:
            raise _refuse(where="start_index", given=self.start_index, allowed="0 or more")


def _refuse(where: str, given: object, allowed: str) -> InputError:
    return InputError(where=where, given=given, allowed=allowed, do="Correct what the feed hands over.")
