"""The bottle a dose is drawn from: its strength, chosen where there are several, and a volume to measure."""

from lungeline.case import Finding, Reasoned, Severity
from lungeline.plan.drugs.chosen_dose import ChosenDose
from lungeline.plan.drugs.dose_text import RATE_UNITS, WrittenStrength, read_strength
from lungeline.reference import figure
from lungeline.reference.formulary import Drug


def strength_of(chosen: ChosenDose, written: str) -> WrittenStrength | None:
    """Return the strength to draw up from: as given, as signed, or the only one there is; else None."""
    if written:
        return read_strength(written, f"{chosen.name}.strength")
    if chosen.strength is not None:
        return chosen.strength
    found = chosen.drug
    diluted = found.dilutions_mg_ml if chosen.dose.unit in RATE_UNITS else ()
    drawn_mg_ml = (*found.strengths_mg_ml, *diluted)
    if len(drawn_mg_ml) + len(found.puffs_ug) != 1:
        return None
    if found.puffs_ug:
        return WrittenStrength(puff_ug=found.puffs_ug[0])
    return WrittenStrength(strength_mg_ml=drawn_mg_ml[0])


def strength_findings(chosen: ChosenDose, strength: WrittenStrength | None) -> tuple[Finding, ...]:
    """Return whether the strength is still to choose, or is one that is not on the list."""
    return (*_unchosen(chosen, strength), *_assumed(chosen, strength), *_unlisted(chosen, strength))


def volume_findings(
    chosen: ChosenDose, strength: WrittenStrength | None, volume_ml: Reasoned
) -> tuple[Finding, ...]:
    """Return what is left to choose, and what is too small to measure."""
    found = strength_findings(chosen, strength)
    least_ml = figure("formulary.general.least_volume_ml").value
    if volume_ml.value is None or volume_ml.value >= least_ml:
        return found
    told: dict[str, float | str | None] = {"volume_ml": volume_ml.value, "least_ml": least_ml}
    return (*found, _finding("small_volume", "advice", chosen, told))


def strengths_text(drug: Drug) -> str:
    """Return the strengths that are about, in one line."""
    listed = (*drug.strengths_mg_ml, *drug.dilutions_mg_ml)
    return ", ".join([f"{each:g} mg/mL" for each in listed] + [f"{each:g} µg/puff" for each in drug.puffs_ug])


def _unchosen(chosen: ChosenDose, strength: WrittenStrength | None) -> list[Finding]:
    choices = strengths_text(chosen.drug)
    if strength is not None or not choices:
        return []
    return [_finding("strength_to_choose", "caution", chosen, {"strengths": choices})]


def _assumed(chosen: ChosenDose, strength: WrittenStrength | None) -> list[Finding]:
    """Tell where a signed dose names no strength, and the only one on the list was taken for it."""
    if chosen.signed is None or chosen.strength is not None or strength is None:
        return []
    return [_finding("strength_from_list", "advice", chosen, {"strengths": strengths_text(chosen.drug)})]


def _unlisted(chosen: ChosenDose, strength: WrittenStrength | None) -> list[Finding]:
    drug = chosen.drug
    known = strength or WrittenStrength()
    listed = (None, *drug.strengths_mg_ml, *drug.dilutions_mg_ml)
    if known.strength_mg_ml in listed and known.puff_ug in {None, *drug.puffs_ug}:
        return []
    told: dict[str, float | str | None] = {
        "strength_mg_ml": known.strength_mg_ml,
        "puff_ug": known.puff_ug,
        "strengths": strengths_text(drug),
    }
    return [_finding("strength_not_listed", "caution", chosen, told)]


def _finding(
    code: str, severity: Severity, chosen: ChosenDose, told: dict[str, float | str | None]
) -> Finding:
    figures = {"drug": chosen.drug.name, "use": chosen.use, **told}
    return Finding(code=code, severity=severity, about=f"{chosen.name}.volume_ml", figures=figures)
