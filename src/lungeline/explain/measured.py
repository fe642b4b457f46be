"""What was measured: readings now, readings before anything happened, their trend, and how sure each is."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from lungeline.case import Reading
from lungeline.errors import InputError, UnknownNameError
from lungeline.explain.assumed import Assumed
from lungeline.simulate.instruments import blood_gas_instruments, usual_instruments
from lungeline.simulate.sensors import Instrument

AVERAGED_READINGS = 5
FRESH_S = 60.0  # readings older than this against the newest are not "now"
TREND_S = 120.0
HOLD_KEY = "end_expiratory_hold_pressure_cmh2o"
RESERVOIR = "reservoir"
_STEP_SD = 1.0 / math.sqrt(12.0)  # of rounding to a step of 1
# Wander is a random walk (assumed): of its variance, the share that was there two minutes ago.
WANDERED_EARLIER = 0.5
_SAME_SENSOR = {"mac_multiple": "end_tidal_agent_fraction"}  # the one is worked out from the other


@cache
def channels() -> dict[str, Instrument]:
    """Return every reading that can be explained: its name, and the instrument that shows it.

    The volume that the machine's own scale shows is another reading than that at the Y.
    """
    hold = replace(_pressure(), key="end_expiratory_pressure_cmh2o")
    found = {channel_of(it.key, it.place): it for it in (*usual_instruments(), *blood_gas_instruments())}
    return {**found, HOLD_KEY: hold}


def _pressure() -> Instrument:
    return next(it for it in usual_instruments() if it.key == "end_expiratory_pressure_cmh2o")


def channel_of(key: str, place: str) -> str:
    """Return the name of a reading: its key, with its place where the key alone does not say it."""
    return f"{key}@{RESERVOIR}" if key == "tidal_volume_inspired_l" and place == RESERVOIR else key


@dataclass(frozen=True, slots=True, kw_only=True)
class Observed:
    """One quantity as it was measured, in its own unit.

    channel: its name; now: mean of the latest readings; before: mean of the last ones while all was well,
    None where there are none; earlier: mean of those two minutes ago, None where there are none.
    sd: how far `now` may be off by noise, steps and wander; change_sd: how far the change since `before` may;
    trend_sd: how far the change since `earlier` may; shared: of the variance of `now`, what it has in common
    with the change since `earlier`. bias_sd: constant error, which drops out of differences.
    """

    channel: str
    now: float
    before: float | None
    earlier: float | None
    sd: float
    change_sd: float
    trend_sd: float
    shared: float
    bias_sd: float

    @property
    def key(self) -> str:
        """The quantity, without its place."""
        return self.channel.partition("@")[0]


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
    after = [it for it in readings if changed_s is None or it.time_s > changed_s]
    late = [it for it in after if it.time_s > at_s - FRESH_S]
    if not late:
        return None
    before = [] if changed_s is None else [it for it in readings if it.time_s <= changed_s]
    split_s = late[-1].time_s - TREND_S
    earlier = [it for it in after if split_s - FRESH_S / 2.0 < it.time_s <= split_s + FRESH_S / 4.0]
    now = late[-AVERAGED_READINGS:]
    sd, bias = reading_sd(channel, _mean(now) or 0.0, len(now), assumed)
    then_sd, earlier_sd, now_sd = (
        noise_sd(channel, _mean(each) or 0.0, min(len(each), AVERAGED_READINGS))
        for each in (before, earlier, now)
    )
    walked = (1.0 - WANDERED_EARLIER) * (sd**2 - now_sd**2)
    return Observed(
        channel=channel, now=_mean(now) or 0.0, before=_mean(before[-AVERAGED_READINGS:]),
        earlier=_mean(earlier[-AVERAGED_READINGS:]), sd=sd, change_sd=math.hypot(sd, then_sd),
        trend_sd=math.sqrt(walked + now_sd**2 + earlier_sd**2), shared=walked + now_sd**2, bias_sd=bias,
    )  # fmt: skip


def _mean(readings: Sequence[Reading]) -> float | None:
    values = [it.value for it in readings if it.value is not None]
    return math.fsum(values) / len(values) if values else None


def noise_sd(channel: str, value: float, count: int) -> float:
    """Return how far the mean of `count` readings may be off by noise and the steps of the display.

    Noise makes readings fall to both sides of a step, so that their mean lies between: what a step then
    keeps off falls as exp(-4π² noise² / step²), the first harmonic of a rounded bell.
    """
    it = channels()[channel]
    noise, count = math.hypot(it.noise_sd, it.noise_fraction * value), max(count, 1)
    if it.display_step <= 0.0:
        return noise / math.sqrt(count)
    rounding = (it.display_step * _STEP_SD) ** 2
    stays = rounding * math.exp(-((2.0 * math.pi * noise / it.display_step) ** 2))
    return math.sqrt(stays + (noise**2 + rounding - stays) / count)


def reading_sd(channel: str, value: float, count: int, assumed: Assumed) -> tuple[float, float]:
    """Return the same with what a quantity wanders within minutes, and the instrument's constant error."""
    key = channel.partition("@")[0]
    sd = math.hypot(noise_sd(channel, value, count), wander_sd(channel, assumed))
    return sd, assumed.bias.get(key, 0.0)


def wander_sd(channel: str, assumed: Assumed) -> float:
    """Return how far a quantity wanders within minutes."""
    return assumed.wander[channel.partition("@")[0]]


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
