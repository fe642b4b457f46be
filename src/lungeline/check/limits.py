"""The clinic's own limits for a leak, and published ones, each with what it was written for."""

from dataclasses import dataclass, field, fields
from typing import Any, Literal

from lungeline.case import Profile
from lungeline.case.checks import check_record
from lungeline.case.fields import number, text
from lungeline.check.leak_law import MIDDLE_NUMBER, REFERENCE_PRESSURE_CMH2O
from lungeline.errors import OutOfRangeError
from lungeline.figure import Figure
from lungeline.physics.leaks import leak_ml_min
from lungeline.reference import figure

AppliesTo = Literal["human circle", "small-animal system", "breathing tubes alone"]
_PROJECT = "limits.leak.project_"
_NUMBERS = ("_ml_min", "_fraction")


def _by_project(name: str, bounds: dict[str, Any]) -> Any:  # noqa: ANN401  stands for a number until made
    return field(default_factory=lambda: figure(_PROJECT + name).value, metadata=bounds)


@dataclass(frozen=True, slots=True, kw_only=True)
class LeakLimits:
    """By what a leak is judged. Defaults are this project's, not a standard's: none exists for large animals.

    pass_ml_min, fail_ml_min: leak at 30 cmH2O up to which it passes, and above which it fails.
    caution_of_fresh_gas_fraction, fail_of_fresh_gas_fraction: mean leak in use, as a share of fresh gas.
    fail_of_tidal_volume_fraction: share of a breath lost.
    signed_by, signed_on: who answers for limits of the clinic's own; reason: why these.
    """

    pass_ml_min: float = _by_project("pass_ml_min", number(0, 20000, "leak that passes"))
    fail_ml_min: float = _by_project("fail_ml_min", number(0, 50000, "leak that fails"))
    caution_of_fresh_gas_fraction: float = _by_project(
        "caution_of_fresh_gas_fraction", number(0, 1, "share of fresh gas that cautions")
    )
    fail_of_fresh_gas_fraction: float = _by_project(
        "fail_of_fresh_gas_fraction", number(0, 1, "share of fresh gas that fails")
    )
    fail_of_tidal_volume_fraction: float = _by_project(
        "fail_of_tidal_volume_fraction", number(0, 1, "share of a breath that fails")
    )
    signed_by: str = field(default="", metadata=text(80, "signed by"))
    signed_on: str = field(default="", metadata=text(20, "signed on"))
    reason: str = field(default="", metadata=text(300, "why these limits"))

    def __post_init__(self) -> None:
        """Refuse limits upside down."""
        check_record(self, "leak_limits")
        if self.pass_ml_min > self.fail_ml_min:
            raise OutOfRangeError(
                where="leak_limits.pass_ml_min",
                given=f"{self.pass_ml_min:g} with fail_ml_min = {self.fail_ml_min:g}",
                allowed="a limit to pass at or below that to fail",
                do="Correct one of the two.",
            )

    @property
    def rest_on(self) -> str:
        """What the limits rest on, in words."""
        why = f" ({self.reason})" if self.reason else ""
        if self.signed_by:
            return f"the clinic's own limits, signed by {self.signed_by} {self.signed_on}".rstrip() + why
        if self.numbers() != LeakLimits().numbers():
            return f"the clinic's own limits, signed by nobody{why}"
        return "this project's default, not a standard: no limit is published for large-animal circles"

    def numbers(self) -> dict[str, float]:
        """Return the limits alone, by name."""
        return {item.name: getattr(self, item.name) for item in fields(self) if item.name.endswith(_NUMBERS)}

    def as_json(self) -> dict[str, Any]:
        """Return everything in force, as a plain object."""
        return {**{item.name: getattr(self, item.name) for item in fields(self)}, "rest_on": self.rest_on}


def limits_of_profile(profile: Profile) -> LeakLimits:
    """Return the limits of a clinic's profile; the project's for what it does not name.

    They are signed where the profile is and names one of them.

    >>> limits_of_profile(Profile(leak_pass_ml_min=400.0, signed_by="A. Vet", signed_on="2026-05-01")).rest_on
    "the clinic's own limits, signed by A. Vet 2026-05-01"
    """
    own = {
        name: value
        for name in LeakLimits().numbers()
        if (value := getattr(profile, f"leak_{name}")) is not None
    }
    if not own:
        return LeakLimits()
    return LeakLimits(
        **own,
        signed_by=profile.signed_by,
        signed_on=profile.signed_on,
        reason=profile.leak_limits_reason,
    )


def leak_of_interest_ml_min(at_pressure_cmh2o: float, limits: LeakLimits | None = None) -> float:
    """Return the leak a test must be able to see: the one that just passes, at the pressure of the test."""
    passes = (limits or LeakLimits()).pass_ml_min
    return float(leak_ml_min(at_pressure_cmh2o, passes, REFERENCE_PRESSURE_CMH2O, MIDDLE_NUMBER))


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedLimit:
    """A limit somebody published, for systems other than a large-animal circle.

    limit: the figure; at_pressure_cmh2o: pressure it is for; applies_to: what it was written for.
    """

    limit: Figure
    at_pressure_cmh2o: float
    applies_to: AppliesTo

    def accepts(self, leak_ml_min: float) -> bool:
        """Whether a leak at the limit's own pressure is acceptable by it."""
        return leak_ml_min <= self.limit.value

    def as_json(self) -> dict[str, Any]:
        """Return the limit as a plain object."""
        return {
            "limit_ml_min": self.limit.value,
            "at_pressure_cmh2o": self.at_pressure_cmh2o,
            "applies_to": self.applies_to,
            "applies_here": False,
            "source": self.limit.source,
            "seen": self.limit.seen,
        }


def published_limits() -> tuple[PublishedLimit, ...]:
    """Return every published limit. None is for a large-animal circle: to compare, never to judge one."""
    rows: tuple[tuple[str, float, AppliesTo], ...] = (
        ("tubes_astm_f1205_ml_min", 30.0, "breathing tubes alone"),
        ("circle_astm_f1208_ml_min", 30.0, "human circle"),
        ("system_iso_80601_2_13_ml_min", 30.0, "human circle"),
        ("circle_anzca_ml_min", 30.0, "human circle"),
        ("small_animal_illinois_ml_min", 20.0, "small-animal system"),
        ("small_animal_coleman_ml_min", 30.0, "small-animal system"),
    )
    return tuple(
        PublishedLimit(limit=figure(f"limits.leak.{name}"), at_pressure_cmh2o=at, applies_to=applies)
        for name, at, applies in rows
    )
