"""The infusions of one animal: all that are published for its species."""

from contextlib import suppress

from lungeline.errors import InputError
from lungeline.plan.animal.patient import Patient
from lungeline.plan.drugs.dose_text import RATE_UNITS
from lungeline.plan.drugs.infusion_order import InfusionOrder
from lungeline.plan.drugs.infusions import Infusion, infusion
from lungeline.reference.formulary import drugs


def usual_infusions(whom: Patient, end_min: float) -> tuple[Infusion, ...]:
    """Return every infusion published for this species, in the order of the formulary.

    end_min: end of surgery on the clock of the case.
    """
    found = []
    for each in drugs().values():
        for use in dict.fromkeys(dose.use for dose in each.doses if dose.figure.unit in RATE_UNITS):
            with suppress(InputError):  # not for this species
                found.append(infusion(whom, InfusionOrder(drug=each.name, use=use, end_min=end_min)))
    return tuple(found)
