"""How a dose stands to what is published: within, outside, beyond the ceiling, or a slip of point or unit."""

from dataclasses import dataclass

from lungeline.case import Finding
from lungeline.plan.drugs.dose_text import dose_text
from lungeline.reference import figure
from lungeline.reference.formulary import PublishedDose
from lungeline.units import convert


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What is published for one use, in one unit. Outside the range is a caution, above the ceiling a stop.

    ceiling_source: "project-assumption" where the ceiling is a multiple of the highest published dose.
    """

    unit: str
    low_number: float
    high_number: float
    ceiling_number: float
    ceiling_source: str
    usual_numbers: tuple[float, ...]


def limits(published: tuple[PublishedDose, ...], ceiling: PublishedDose | None, unit: str) -> Limits | None:
    """Return the limits that follow from published doses, or None where nothing is published."""
    figures = [dose.figure for dose in published]
    if not figures:
        return None
    high = max(convert(each.high, each.unit, unit) for each in figures)
    if ceiling is None:
        top, source = high * figure("formulary.general.hard_ceiling_multiple").value, "project-assumption"
    else:
        top, source = convert(ceiling.figure.value, ceiling.figure.unit, unit), ceiling.figure.source
    return Limits(
        unit=unit,
        low_number=min(convert(each.low, each.unit, unit) for each in figures),
        high_number=high,
        ceiling_number=max(top, high),
        ceiling_source=source,
        usual_numbers=tuple(convert(each.value, each.unit, unit) for each in figures),
    )


def judged(about: str, amount_number: float, within: Limits) -> tuple[Finding, ...]:
    """Return what speaks against a dose; nothing where it lies in the published range.

    A slip is named before a limit, for it says what to mend. The gravest alone is told.
    """
    rounding = 1e-9 * amount_number
    if within.low_number - rounding <= amount_number <= within.high_number + rounding:
        return ()
    slip = _slip(about, amount_number, within)
    if slip is not None:
        return (slip,)
    if amount_number > within.ceiling_number + rounding:
        return (_finding("dose_beyond_limit", about, amount_number, within),)
    if amount_number < within.low_number / figure("formulary.general.slip_least_ratio").value:
        return (_finding("dose_far_below", about, amount_number, within),)
    code = "dose_above_published" if amount_number > within.high_number else "dose_below_published"
    return (_finding(code, about, amount_number, within, stops=False),)


def _slip(about: str, amount_number: float, within: Limits) -> Finding | None:
    least = figure("formulary.general.slip_least_ratio").value
    most = figure("formulary.general.slip_most_ratio").value
    thousand = figure("formulary.general.thousand_ratio").value
    spread = most / 10.0  # the same looseness about a thousand as about ten
    multiple = figure("formulary.general.hard_ceiling_multiple").value
    if within.low_number / multiple <= amount_number < within.low_number:
        return None  # where texts lie far apart, a little below one of them is a tenth of another
    for usual in within.usual_numbers:
        times = max(amount_number / usual, usual / amount_number)
        told: dict[str, float | str | None] = {
            "usual": dose_text(usual, within.unit),
            "times_ratio": amount_number / usual,
        }
        if least <= times <= most:
            return _finding("dose_tenfold", about, amount_number, within, told)
        if thousand / spread <= times <= thousand * spread:
            return _finding("dose_milligram_for_microgram", about, amount_number, within, told)
    return None


def _finding(  # noqa: PLR0913  the parts of one sentence
    code: str,
    about: str,
    amount_number: float,
    within: Limits,
    told: dict[str, float | str | None] | None = None,
    *,
    stops: bool = True,
) -> Finding:
    _, drug, use, *_ = (*about.split("."), "", "")
    figures: dict[str, float | str | None] = {
        "drug": drug.replace("_", " "),
        "use": use.replace("_", " "),
        "dose": dose_text(amount_number, within.unit),
        "low": dose_text(within.low_number, within.unit),
        "high": dose_text(within.high_number, within.unit),
        "ceiling": dose_text(within.ceiling_number, within.unit),
        "ceiling_source": within.ceiling_source,
        **(told or {}),
    }
    return Finding(code=code, severity="stop" if stops else "caution", about=about, figures=figures)
