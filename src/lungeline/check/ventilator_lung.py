"""The ventilator on a test lung: what it was set to, what came out, and the pressure the model expects."""

from dataclasses import dataclass, field, fields, replace
from typing import Any

from lungeline.case import Animal, Breath, Case, Equipment, Finding, Reasoned, Settings, gravest_first
from lungeline.case.checks import check_record
from lungeline.case.fields import number
from lungeline.check.verdict import Verdict, verdict_of
from lungeline.errors import SimulationError
from lungeline.reference import figure
from lungeline.simulate.run import simulate

SCHEMA = "lungeline.test_lung/1"
_SIMULATED_MIN = 1.5  # enough breaths for a test lung to settle
_PRESSURE_TOLERANCE_CMH2O = (
    3.0  # the gauge's step, and the resistance of a lung nobody knows well; assumption
)
_STANDS_FOR = Animal(species="horse", weight_kg=500)  # a case wants an animal; a test lung asks nothing of it


@dataclass(frozen=True, slots=True, kw_only=True)
class LungTest:
    """What was set, and what was read. Leave out what was not read.

    compliance_l_cmh2o, resistance_cmh2o_s_l: of the test lung. All else as set, then as measured.
    """

    set_tidal_volume_l: float = field(metadata=number(0.02, 40, "volume set"))
    set_rate_per_min: float = field(metadata=number(1, 80, "rate set"))
    set_inspiratory_time_s: float = field(metadata=number(0.2, 15, "inspiratory time set"))
    compliance_l_cmh2o: float = field(default=0.5, metadata=number(0.005, 3, "compliance of the test lung"))
    resistance_cmh2o_s_l: float = field(default=1.0, metadata=number(0, 50, "resistance of the test lung"))
    set_peep_cmh2o: float = field(default=0.0, metadata=number(0, 50, "PEEP set"))
    measured_tidal_volume_l: float | None = field(default=None, metadata=number(0, 60, "volume read"))
    measured_rate_per_min: float | None = field(default=None, metadata=number(0, 120, "rate read"))
    measured_peak_cmh2o: float | None = field(default=None, metadata=number(0, 150, "peak read"))
    volume_tolerance_fraction: float = field(
        default_factory=lambda: figure("limits.preuse.tidal_volume_tolerance_fraction").value,
        metadata=number(0.001, 0.5, "tolerance of volume"),
    )
    rate_tolerance_fraction: float = field(
        default_factory=lambda: figure("practice.delivered_rate_tolerance_fraction").value,
        metadata=number(0.001, 0.5, "tolerance of rate"),
    )
    pressure_tolerance_cmh2o: float = field(
        default=_PRESSURE_TOLERANCE_CMH2O, metadata=number(0.1, 30, "tolerance of pressure")
    )

    def __post_init__(self) -> None:
        """Refuse what no test is."""
        check_record(self, "lung_test")


@dataclass(frozen=True, slots=True, kw_only=True)
class LungTestResult:
    """What was expected, and how what was read compares."""

    test: LungTest
    expected_peak: Reasoned
    expected_volume: Reasoned
    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> Verdict:
        """Go, caution or stop."""
        return verdict_of(list(self.findings))

    def as_json(self) -> dict[str, Any]:
        """Return the result as a plain object."""
        return {
            "schema": SCHEMA,
            **{item.name: getattr(self.test, item.name) for item in fields(self.test)},
            "expected_peak_cmh2o": self.expected_peak.value,
            "expected_peak_low_cmh2o": self.expected_peak.low,
            "expected_peak_high_cmh2o": self.expected_peak.high,
            "expected_tidal_volume_l": self.expected_volume.value,
            "verdict": self.verdict,
            "findings": [finding.as_json() for finding in self.findings],
            "why": [self.expected_peak.why(), self.expected_volume.why()],
        }


def ventilator_on_lung(test: LungTest, equipment: Equipment | None = None) -> LungTestResult:
    """Return how a ventilator did on a test lung; the pressure to expect is simulated on this equipment."""
    breath = _expected(test, equipment or Equipment())
    peak, volume = breath.peak_pressure_cmh2o or 0.0, breath.tidal_volume_inspired_l or 0.0
    margin = test.pressure_tolerance_cmh2o
    expected_peak = _number("expected_peak_cmh2o", peak, test, margin)
    expected_volume = _number(
        "expected_tidal_volume_l", volume, test, volume * test.volume_tolerance_fraction
    )
    found = [
        *_apart(
            "volume", test.measured_tidal_volume_l, test.set_tidal_volume_l, test.volume_tolerance_fraction
        ),
        *_apart("rate", test.measured_rate_per_min, test.set_rate_per_min, test.rate_tolerance_fraction),
        *_pressure(test, peak),
        Finding(
            code="lung_test_no_animal",
            severity="note",
            about="check.expected_peak_cmh2o",
            figures={
                "expected_peak_cmh2o": peak,
                "animal_peak_cmh2o": figure("practice.horse_500kg.peak_pressure_cmh2o").value,
            },
        ),
    ]
    return LungTestResult(
        test=test,
        expected_peak=expected_peak,
        expected_volume=expected_volume,
        findings=gravest_first(found),
    )


def _expected(test: LungTest, equipment: Equipment) -> Breath:
    """Return the last breath of the simulated machine on the test lung."""
    case = Case(
        animal=_STANDS_FOR,
        equipment=replace(
            equipment,
            patient_port="test lung",
            test_lung_compliance_l_cmh2o=test.compliance_l_cmh2o,
            test_lung_resistance_cmh2o_s_l=test.resistance_cmh2o_s_l,
        ),
        settings=Settings(
            tidal_volume_l=test.set_tidal_volume_l,
            respiratory_rate_per_min=test.set_rate_per_min,
            inspiratory_time_s=test.set_inspiratory_time_s,
            pause_s=0.0,
            peep_cmh2o=test.set_peep_cmh2o,
            pressure_limit_cmh2o=100.0,
        ),
    )
    breaths = [breath for breath in simulate(case, _SIMULATED_MIN).breaths if breath.respiratory_rate_per_min]
    if not breaths:
        raise SimulationError(
            where="lung_test", given="no breath", allowed="a breath or more", do="Give a faster rate."
        )
    return breaths[-1]


def _number(name: str, value: float, test: LungTest, margin: float) -> Reasoned:
    return Reasoned(
        name=f"check.{name}",
        value=value,
        low=max(value - margin, 0.0),
        high=value + margin,
        formula="simulated: this machine on a lung of this compliance and resistance",
        inputs={
            "set_tidal_volume_l": test.set_tidal_volume_l,
            "set_rate_per_min": test.set_rate_per_min,
            "set_inspiratory_time_s": test.set_inspiratory_time_s,
            "set_peep_cmh2o": test.set_peep_cmh2o,
            "compliance_l_cmh2o": test.compliance_l_cmh2o,
            "resistance_cmh2o_s_l": test.resistance_cmh2o_s_l,
        },
        sources=("case", "project-assumption"),
    )


def _apart(what: str, measured: float | None, wanted: float, tolerance: float) -> list[Finding]:
    """Return whether volume or rate is within its tolerance of what was set."""
    unit = "l" if what == "volume" else "per_min"
    figures: dict[str, float | str | None] = {f"set_{unit}": wanted, f"measured_{unit}": measured}
    if measured is None:
        return [Finding(code=f"lung_test_{what}_not_read", severity="caution", about=f"lung_test.{what}")]
    figures["tolerance_fraction"] = tolerance
    if abs(measured - wanted) <= tolerance * wanted:
        return [
            Finding(
                code=f"lung_test_{what}_right", severity="note", about=f"lung_test.{what}", figures=figures
            )
        ]
    return [
        Finding(code=f"lung_test_{what}_wrong", severity="stop", about=f"lung_test.{what}", figures=figures)
    ]


def _pressure(test: LungTest, expected: float) -> list[Finding]:
    measured, about = test.measured_peak_cmh2o, "lung_test.measured_peak_cmh2o"
    if measured is None:
        return [Finding(code="lung_test_pressure_not_read", severity="caution", about=about)]
    figures: dict[str, float | str | None] = {
        "measured_peak_cmh2o": measured,
        "expected_peak_cmh2o": expected,
    }
    if measured > expected + test.pressure_tolerance_cmh2o:
        return [Finding(code="lung_test_pressure_high", severity="caution", about=about, figures=figures)]
    if measured < expected - test.pressure_tolerance_cmh2o:
        return [Finding(code="lung_test_pressure_low", severity="caution", about=about, figures=figures)]
    return [Finding(code="lung_test_pressure_right", severity="note", about=about, figures=figures)]
