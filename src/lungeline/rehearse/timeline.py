"""What the learner saw and did, and what was hidden: plain data over time, ready to be drawn."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from lungeline.case.breath import Breath
from lungeline.case.reading import Reading
from lungeline.rehearse.acting import Act, deed_named
from lungeline.rehearse.rehearsal import Rehearsal, Told

SCHEMA = "lungeline.rehearsal-timeline/1"
# What no instrument shows while it goes on, or only a sample of blood now and then.
HIDDEN = (
    "pao2_mmhg", "paco2_mmhg", "arterial_ph", "shunt_fraction", "cardiac_output_l_min", "spare_volume_l",
    "trapped_volume_l", "compliance_l_cmh2o", "mac_multiple", "room_air_entrained_l",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """One quantity over time, oldest first; None where there was no value. source: who showed it."""

    key: str
    times_s: tuple[float, ...]
    values: tuple[float | None, ...]
    source: str = ""

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        return {
            "key": self.key,
            "source": self.source,
            "times_s": list(self.times_s),
            "values": list(self.values),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Timeline:
    """One rehearsal over time; times count from the moment the learner took over.

    end_s: how far it came. shown: what instruments showed, late and noisy as they are. hidden: the animal
    itself, breath by breath. severities: of each fault, each value until the next time. told: what happened,
    with words where the learner was told. acts: what the learner did.
    """

    scenario: str
    end_s: float
    shown: tuple[Track, ...]
    hidden: tuple[Track, ...]
    severities: tuple[Track, ...]
    told: tuple[Told, ...]
    acts: tuple[Act, ...]

    def of(self, key: str, *, hidden: bool = False) -> Track | None:
        """Return the track of a quantity; None where there is none."""
        return next((it for it in (self.hidden if hidden else self.shown) if it.key == key), None)

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        return {
            "schema": SCHEMA,
            "simulated": True,
            "scenario": self.scenario,
            "end_s": self.end_s,
            "shown": [track.as_json() for track in self.shown],
            "hidden": [track.as_json() for track in self.hidden],
            "severities": [track.as_json() for track in self.severities],
            "told": [{"at_s": it.at_s, "name": it.name, "says": it.says} for it in self.told],
            "acts": [_act(act) for act in self.acts],
        }


def timeline(run: Rehearsal, readings: Iterable[Reading] | None = None) -> Timeline:
    """Return a rehearsal over time, as far as it has come.

    readings: what was shown, where a trainer hid some of what the instruments had.
    """
    return Timeline(
        scenario=run.scenario.name,
        end_s=run.now_s,
        shown=_shown(run.readings(0.0) if readings is None else readings, run.begun_s),
        hidden=tuple(_hidden(key, run.breaths, run.begun_s) for key in HIDDEN),
        severities=tuple(_severity(code, steps) for code, steps in sorted(run.severities.items())),
        told=run.told,
        acts=run.acts,
    )


def _act(act: Act) -> dict[str, Any]:
    label = deed_named(act.deed).label
    return {
        "at_s": act.at_s,
        "deed": act.deed,
        "label": label,
        "with": dict(act.given),
        "shown": act.shown,
    }


def _shown(readings: Iterable[Reading], begun_s: float) -> tuple[Track, ...]:
    by_instrument: dict[tuple[str, str], list[Reading]] = {}
    for reading in readings:
        by_instrument.setdefault((reading.key, reading.source), []).append(reading)
    return tuple(
        Track(
            key=key,
            source=source,
            times_s=tuple(it.time_s - begun_s for it in told),
            values=tuple(it.value for it in told),
        )
        for (key, source), told in by_instrument.items()
    )


def _hidden(key: str, breaths: Sequence[Breath], begun_s: float) -> Track:
    return Track(
        key=key,
        source="the animal",
        times_s=tuple(breath.time_s - begun_s for breath in breaths),
        values=tuple(getattr(breath, key) for breath in breaths),
    )


def _severity(code: str, steps: Sequence[tuple[float, float]]) -> Track:
    times_s, values = zip(*steps, strict=True) if steps else ((), ())
    return Track(key=code, source="fault", times_s=tuple(times_s), values=tuple(values))
