"""What was measured: minute by minute since all was well, and before; and how sure each reading is."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from lungeline.case import Reading
from lungeline.errors import InputError, UnknownNameError
from lungeline.explain.assumed import Assumed
from lungeline.explain.channel import RESERVOIR, channel_of, channels, wander_sd
from lungeline.explain.looks import USUAL_SINCE_S, Look, as_it_was, by_minute, look_of, scatter_of, unrest_of

MOST_LOOKS = 9  # one a minute: nothing is simulated further back
WANDERS_S = 600.0  # what a quantity wanders, it has wandered in no longer than this; assumption
EARLIER_S, EARLIER_WITHIN_S = 120.0, 45.0
# The one is worked out from the other: only the second is compared.
_SAME_SENSOR = {
    "mac_multiple": "end_tidal_agent_fraction",
    "respiratory_rate_per_min": "own_breaths_per_min",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Observed:
    """One quantity as it was measured, in its own unit.

    channel: its name; looks: since all was well, oldest first, the last of them now; before: mean of the last
    readings while all was well, None where there are none; before_sd: how far noise may put that off.
    wander_sd: how far the quantity wanders by itself within minutes; bias_sd: constant error, which drops out
    of differences.
    """

    channel: str
    looks: tuple[Look, ...]
    before: float | None
    before_sd: float
    wander_sd: float
    bias_sd: float

    @property
    def key(self) -> str:
        """The quantity, without its place."""
        return self.channel.partition("@")[0]

    @property
    def now(self) -> float:
        """What it is."""
        return self.looks[-1].value

    @property
    def earlier(self) -> float | None:
        """What it was two minutes ago, None where nobody looked."""

        def apart_s(look: Look) -> float:
            return abs(look.back_s - EARLIER_S)

        nearest = min(self.looks, key=apart_s)
        return nearest.value if apart_s(nearest) <= EARLIER_WITHIN_S else None

    @property
    def sd(self) -> float:
        """How far `now` may be off by noise, steps and wander."""
        return math.hypot(self.looks[-1].noise_sd, self.wander_sd)

    @property
    def change_sd(self) -> float:
        """How far the change since `before` may be off."""
        return math.hypot(self.sd, self.before_sd)

    def moved_by(self, amount: float) -> "Observed":
        """Return it as if it were now so much higher."""
        now = self.looks[-1]
        return replace(self, looks=(*self.looks[:-1], replace(now, value=now.value + amount)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Everything measured, by channel. at_s: of the newest reading; changed_s: until when all was well."""

    observed: Mapping[str, Observed]
    at_s: float
    changed_s: float | None

    @property
    def has_before(self) -> bool:
        """Whether anything can be compared with what it was."""
        return any(it.before is not None for it in self.observed.values())

    @property
    def since_s(self) -> float:
        """In how long quantities have wandered since all was well; a usual span where that is not known."""
        known = USUAL_SINCE_S if self.changed_s is None else self.at_s - self.changed_s
        return min(max(known, 1.0), WANDERS_S)


def measured(readings: Iterable[Reading], assumed: Assumed, changed_s: float | None = None) -> Measured:
    """Return what readings say; missing and doubtful ones are left out.

    readings: in any order, of any instruments; changed_s: until when all was well, on the readings' clock;
    None where no reading is known to be from then. Raises UnknownNameError for a quantity nobody measures,
    InputError where nothing is left.
    """
    by_channel: dict[str, list[Reading]] = {}
    for reading in readings:
        if reading.value is not None and reading.quality == "good":
            by_channel.setdefault(_channel(reading), []).append(reading)
    if not by_channel:
        raise InputError(where="readings", given="none", allowed="one at least", do="Give a reading.")
    at_s = max(reading.time_s for each in by_channel.values() for reading in each)
    found = {}
    for channel, each in by_channel.items():
        seen = _observed(channel, sorted(each, key=_time_s), at_s, changed_s, assumed)
        if seen is not None:
            found[channel] = seen
    for key, other in _SAME_SENSOR.items():
        if other in found:
            found.pop(key, None)
    return Measured(observed=found, at_s=at_s, changed_s=changed_s)


def _channel(reading: Reading) -> str:
    known = channels()
    channel = channel_of(reading.key, RESERVOIR if reading.source == "ventilator" else "")
    if channel not in known:
        raise UnknownNameError.nearest(where="reading", given=reading.key, valid=known)
    return channel


def _time_s(reading: Reading) -> float:
    return reading.time_s


def _observed(
    channel: str, readings: Sequence[Reading], at_s: float, changed_s: float | None, assumed: Assumed
) -> Observed | None:
    """Return one quantity, or None where all of its readings are from before."""
    well = [it for it in readings if changed_s is not None and it.time_s <= changed_s]
    minutes_well, minutes = by_minute(well, changed_s or 0.0), by_minute(readings[len(well) :], at_s)
    if 0 not in minutes:
        return None
    usual = scatter_of(minutes_well.values())
    while_well = [look_of(channel, each, changed_s or 0.0, usual) for each in minutes_well.values()]
    unrest, wander = unrest_of(while_well), wander_sd(channel, assumed)
    then = as_it_was(while_well, unrest, wander)
    looks = [
        look_of(channel, each, at_s, max(usual, scatter_of([each])))
        for i, each in minutes.items()
        if i < MOST_LOOKS
    ]
    return Observed(
        channel=channel,
        looks=tuple(replace(it, noise_sd=math.hypot(it.noise_sd, unrest)) for it in looks),
        before=then.value if then else None, before_sd=then.noise_sd if then else 0.0,
        wander_sd=wander, bias_sd=assumed.bias.get(channel.partition("@")[0], 0.0),
    )  # fmt: skip


def typed(values: Mapping[str, float], at_s: float = 0.0) -> list[Reading]:
    """Return readings a person typed, by channel: `etco2_mmhg`, or `tidal_volume_inspired_l@reservoir`."""
    return [
        Reading(
            time_s=at_s,
            key=name.partition("@")[0],
            value=value,
            source="ventilator" if name.endswith(f"@{RESERVOIR}") else "typed",
        )
        for name, value in values.items()
    ]
