"""Which dose of a drug: the clinic's signed choice where there is one, else the first one published."""

from dataclasses import dataclass
from typing import get_args

from lungeline.case import Profile, Reasoned, SignedDose, from_figure
from lungeline.case.animal import Species
from lungeline.errors import InputError, UnknownNameError
from lungeline.plan.animal.patient import Patient
from lungeline.plan.drugs.dose_text import WrittenStrength, read_dose, read_strength
from lungeline.reference.formulary import Drug, PublishedDose, drug

# Doses for each kilogram of the one are in use for the other: common practice, no source.
_STANDS_IN = {"pony": "horse"}


@dataclass(frozen=True, slots=True, kw_only=True)
class ChosenDose:
    """A dose for each kilogram, with whose choice it is and what else is published.

    name: dotted, such as "drugs.xylazine.premedication". published: for this animal's species, or for the one
    it borrows from. signed: the clinic's choice; signed_by and signed_on empty where nobody answers for it.
    """

    name: str
    drug: Drug
    use: str
    dose: Reasoned
    route: str
    published: tuple[PublishedDose, ...]
    ceiling: PublishedDose | None = None
    borrowed_from: str = ""
    signed: SignedDose | None = None
    signed_by: str = ""
    signed_on: str = ""
    strength: WrittenStrength | None = None

    @property
    def answered_for(self) -> bool:
        """Whether somebody signed it."""
        return bool(self.signed_by and self.signed_on)

    @property
    def from_memory(self) -> bool:
        """Whether it rests on memory alone: nobody chose it, and nobody saw it in its source."""
        return self.signed is None and self.published[0].figure.rests_on_memory


def chosen_dose(whom: Patient, drug_name: str, use: str, prefix: str = "drugs") -> ChosenDose:
    """Return the dose that holds for this animal. Raises InputError where there is none for its species.

    use: as in the formulary, such as "premedication"; blanks may stand for its underscores.
    """
    found, use = drug(drug_name), plain_use(use)
    name = f"{prefix}.{found.name}.{use}"
    refused = refusal(found, use, whom)
    if refused is not None:
        raise refused
    species = whom.animal.species
    signed = signed_choice(whom.profile, found, use, species)
    published, borrowed_from = published_for(found, use, species)
    dose = _signed_dose(name, signed, published) if signed else _first_published(name, published)
    published_route = published[0].route if published else ""
    by, on = _answered(signed, whom.profile)
    ceilings = [
        each for each in found.ceilings if (each.use, each.species) == (use, borrowed_from or species)
    ]
    return ChosenDose(
        name=name,
        drug=found,
        use=use,
        dose=dose,
        route=(signed.route if signed else "") or published_route,
        published=published,
        ceiling=ceilings[0] if ceilings else None,
        borrowed_from=borrowed_from,
        signed=signed,
        signed_by=by,
        signed_on=on,
        strength=_signed_strength(name, signed),
    )


def published_for(found: Drug, use: str, species: str) -> tuple[tuple[PublishedDose, ...], str]:
    """Return what is published for a species, and the species it is borrowed from, empty where its own."""
    own = found.doses_for(use, species)
    other = _STANDS_IN.get(species, "")
    return (found.doses_for(use, other), other) if other and not own else (own, "")


def signed_choice(profile: Profile, found: Drug, use: str, species: str) -> SignedDose | None:
    """Return the clinic's one choice for a use: one that names the species goes before one for all."""
    fitting = [dose for dose in profile.doses if _fits(dose, found, use)]
    for wanted in (species, ""):
        here = [dose for dose in fitting if dose.species == wanted]
        if len(here) > 1:
            raise InputError(
                where="profile.doses",
                given=f"{len(here)} doses of {found.name} for {use}: {', '.join(each.dose for each in here)}",
                allowed="one signed dose for each drug, use and species",
                do="Strike out all but one.",
            )
        if here:
            return here[0]
    return None


def refusal(found: Drug, use: str, whom: Patient) -> InputError | None:
    """Return why an animal has no dose of a drug for a use, or None where it has one.

    A dose made for others is refused, unless the clinic signed one that names this species.
    Raises UnknownNameError for a use the drug does not have.
    """
    _check_use(found, use)
    species = whom.animal.species
    signed = signed_choice(whom.profile, found, use, species)
    named = signed is not None and signed.species == species
    reason = found.refused.get(species, "")
    if named or (published_for(found, use, species)[0] and not reason):
        return None
    others = dict.fromkeys(dose.species for dose in found.doses if dose.use == use)
    return InputError(
        where=f"drugs.{found.name}.{use}",
        given=f"a {species}",
        allowed=reason or f"published for {', '.join(others)} only",
        do=f'Take another drug, or sign a dose with species = "{species}" in the profile.',
    )


def check_signed_doses(profile: Profile) -> None:
    """Refuse a signed dose of an unknown drug, use or species, one that cannot be read, and one too many."""
    for place, dose in enumerate(profile.doses, start=1):
        where = f"profile.doses[{place}]"
        found = drug(dose.drug)
        _check_use(found, plain_use(dose.use))
        if dose.species and dose.species not in get_args(Species):
            raise UnknownNameError.nearest(
                where=f"{where}.species", given=dose.species, valid=get_args(Species)
            )
        read_dose(dose.dose, f"{where}.dose")
        if dose.strength:
            read_strength(dose.strength, f"{where}.strength")
        signed_choice(profile, found, plain_use(dose.use), dose.species)


def plain_use(use: str) -> str:
    """Return a use as the formulary spells it."""
    return use.strip().casefold().replace(" ", "_")


def _fits(dose: SignedDose, found: Drug, use: str) -> bool:
    return plain_use(dose.use) == use and drug(dose.drug).name == found.name


def _check_use(found: Drug, use: str) -> None:
    uses = {dose.use for dose in found.doses}
    if use not in uses:
        raise UnknownNameError.nearest(where=f"drugs.{found.name}", given=use, valid=uses)


def _first_published(name: str, published: tuple[PublishedDose, ...]) -> Reasoned:
    first = published[0].figure
    return from_figure(f"{name}.dose_{first.unit}", first)


def _signed_dose(name: str, signed: SignedDose, published: tuple[PublishedDose, ...]) -> Reasoned:
    written = read_dose(signed.dose, f"{name}.dose")
    unit = published[0].figure.unit if published else written.unit
    amount_number = written.in_unit(unit, f"{name}.dose")
    return Reasoned(
        name=f"{name}.dose_{unit}",
        value=amount_number,
        formula="as signed by the clinic",
        inputs={"signed": signed.dose, "signed_by": signed.signed_by, "signed_on": signed.signed_on},
        basis="consensus",
        sources=("profile",),
    )


def _signed_strength(name: str, signed: SignedDose | None) -> WrittenStrength | None:
    return read_strength(signed.strength, f"{name}.strength") if signed and signed.strength else None


def _answered(signed: SignedDose | None, profile: Profile) -> tuple[str, str]:
    if signed is None:
        return "", ""
    if signed.signed_by and signed.signed_on:
        return signed.signed_by, signed.signed_on
    return profile.signed_by, profile.signed_on
