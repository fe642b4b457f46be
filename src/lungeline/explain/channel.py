"""Every reading that can be explained: its name, the instrument that shows it, and how far that errs."""

import math
from dataclasses import replace
from functools import cache

from lungeline.explain.assumed import Assumed
from lungeline.simulate.instruments import blood_gas_instruments, counting, usual_instruments
from lungeline.simulate.sensors import Instrument

PLATEAU_KEY = "plateau_pressure_cmh2o"  # shown of breaths with a pause, or read while one is held in
HOLD_KEY = "end_expiratory_hold_pressure_cmh2o"
RESERVOIR = "reservoir"
_STEP_SD = 1.0 / math.sqrt(12.0)  # of rounding to a step of 1


@cache
def channels() -> dict[str, Instrument]:
    """Return every reading that can be explained: its name, and the instrument that shows it.

    The volume that the machine's own scale shows is another reading than that at the Y.
    """
    hold = replace(_pressure(), key="end_expiratory_pressure_cmh2o")
    shown = (*usual_instruments(), counting(), *blood_gas_instruments())
    found = {channel_of(it.key, it.place): it for it in shown}
    return {**found, HOLD_KEY: hold}


def _pressure() -> Instrument:
    return next(it for it in usual_instruments() if it.key == "end_expiratory_pressure_cmh2o")


def channel_of(key: str, place: str) -> str:
    """Return the name of a reading: its key, with its place where the key alone does not say it."""
    return f"{key}@{RESERVOIR}" if key == "tidal_volume_inspired_l" and place == RESERVOIR else key


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
