"""What each reading has been lately, and how far the newest are from it: it follows drift, not a fault."""

import math
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field

from lungeline.explain.assumed import Assumed
from lungeline.explain.channel import noise_sd, reading_sd, wander_sd
from lungeline.explain.looks import Look
from lungeline.explain.measured import EARLIER_S, Observed

AVERAGED = 3  # newest readings
ENTERS_SD, LEAVES_SHARE = 4.0, 0.5  # of what a change must be; a finding stays until half of it is left
FOLLOWS_LESS = 6.0  # times slower while a reading is off; assumption
ERRS_SD = 2.0  # of one reading, before it counts as fallen or risen
WORSE = {"end_expiratory_pressure_cmh2o": 1.0}  # which way; all others are worse when lower
OLDER = 24  # readings kept to know what was two minutes ago


@dataclass(slots=True, kw_only=True)
class Usual:
    """One reading as it is followed. level: what is usual; off: by how much the newest differ."""

    channel: str
    newest: deque[tuple[float, float]] = field(default_factory=lambda: deque(maxlen=AVERAGED))
    older: deque[tuple[float, float]] = field(default_factory=lambda: deque(maxlen=OLDER))
    level: float | None = None
    level_s: float = 0.0
    is_off: bool = False

    @property
    def now(self) -> float:
        """The mean of the newest readings."""
        return math.fsum(value for _, value in self.newest) / len(self.newest)

    @property
    def off(self) -> float:
        """How far the newest are from what is usual; 0 while nothing is known of that."""
        full = len(self.newest) == AVERAGED
        return self.now - self.level if full and self.level is not None else 0.0

    def take(self, at_s: float, value: float, assumed: Assumed, *, settling: bool = False) -> None:
        """Take the newest reading, and let what is usual follow; at once while it moves on purpose."""
        if self.newest and at_s - self.newest[-1][0] > 2.0 * EARLIER_S:
            self.newest.clear()  # there was a gap
        self.newest.append((at_s, value))
        self.older.append((at_s, value))
        if len(self.newest) < AVERAGED:
            return
        if self.level is None or settling:
            self.is_off = False
            self.level, self.level_s = self.now, at_s
            return
        self.is_off = self._off_now(assumed)
        span_s = 60.0 * assumed.watching["follows_min"] * (FOLLOWS_LESS if self.is_off else 1.0)
        share = 1.0 - math.exp(-max(at_s - self.level_s, 0.0) / span_s)
        self.level += share * (self.now - self.level)
        self.level_s = at_s

    def _off_now(self, assumed: Assumed) -> bool:
        least = assumed.matters.get(self.channel, math.inf)
        noise = noise_sd(self.channel, self.now, AVERAGED)
        enters = max(least, ENTERS_SD * math.hypot(noise, assumed.wander[self.channel]))
        return abs(self.off) >= enters * (LEAVES_SHARE if self.is_off else 1.0)

    def forget(self) -> None:
        """Know nothing of what is usual: something was changed on purpose."""
        self.level, self.is_off = None, False
        self.newest.clear()


def observed(followed: Mapping[str, Usual], assumed: Assumed, *, compared: bool) -> dict[str, Observed]:
    """Return readings as they are now, for life threats: nothing averaged, compared with what is usual.

    compared: whether what was usual still means something.
    """
    found = {}
    for channel, it in followed.items():
        at_s, value = it.older[-1]
        earlier = [old for old_s, old in it.older if old_s <= at_s - EARLIER_S]
        sd, bias_sd = reading_sd(channel, value, 1, assumed)
        before = _nearer(it.level, value, sd) if compared else None
        was = _nearer(earlier[-1] if earlier else None, value, sd) if compared else None
        noise = noise_sd(channel, value, 1)
        looks = [(EARLIER_S, was)] if was is not None else []
        found[channel] = Observed(
            channel=channel,
            looks=tuple(Look(back_s=back_s, value=v, noise_sd=noise) for back_s, v in (*looks, (0.0, value))),
            before=before, before_sd=0.0, wander_sd=wander_sd(channel, assumed), bias_sd=bias_sd,
        )  # fmt: skip
    return found


def worse(found: Mapping[str, Observed], assumed: Assumed) -> dict[str, Observed]:
    """Return readings worse by as much as each must be better before a threat is taken as gone."""
    return {
        channel: it.moved_by(WORSE.get(channel, -1.0) * assumed.clears.get(channel, 0.0))
        for channel, it in found.items()
    }


def _nearer(was: float | None, now: float, sd: float) -> float | None:
    """Return what was, nearer to what is by as much as one reading may err."""
    if was is None:
        return None
    apart = was - now
    return now + math.copysign(max(abs(apart) - ERRS_SD * sd, 0.0), apart)
