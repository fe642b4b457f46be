"""What there is to say about the pressure limit: whom it clips, and where model and common practice part."""

from lungeline.case import Case, Finding, Settings
from lungeline.plan.outlook import CLIPPED_SHARE, Outlook
from lungeline.reference import figure

DISAGREEMENT_CMH2O = 4.0
_PRACTICE = "practice.horse_500kg.peak_pressure_cmh2o"


def limit_findings(case: Case, expected: Outlook, settings: Settings, clipped: float) -> tuple[Finding, ...]:
    """Return what a person should know before setting the limit. clipped: share of the herd it cuts short."""
    found = []
    if clipped > CLIPPED_SHARE:
        figures: dict[str, float | str | None] = {
            "limit_cmh2o": settings.pressure_limit_cmh2o,
            "clipped_fraction": clipped,
        }
        found.append(
            Finding(
                code="pressure_limit_clips",
                severity="caution",
                about="settings.pressure_limit_cmh2o",
                figures=figures,
            )
        )
    practice, model = figure(_PRACTICE), expected.numbers["peak_pressure_cmh2o"].value or 0.0
    if case.animal.species == "horse" and abs(model - practice.value) > DISAGREEMENT_CMH2O:
        figures = {
            "model_cmh2o": model,
            "practice_cmh2o": practice.value,
            "practice_low_cmh2o": practice.low,
            "practice_high_cmh2o": practice.high,
            "practice_source": practice.source,
        }
        found.append(
            Finding(
                code="model_against_practice",
                severity="caution",
                about="expected.peak_pressure_cmh2o",
                figures=figures,
            )
        )
    return tuple(found)
