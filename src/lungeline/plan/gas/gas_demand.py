"""What the animal and the circuit take of the gas: oxygen used, leak, sample, carbon dioxide given off."""

from lungeline.case import Case, Profile, Reasoned
from lungeline.physics.circle import closed_flow_l_min
from lungeline.physics.gas_laws import molar_volume_l_mol
from lungeline.physics.leaks_in_use import square_breath_leak_ml_min
from lungeline.physiology.size import oxygen_use_at_temperature_ml_min
from lungeline.plan.derive import Reason, derived, number
from lungeline.reference import figure
from lungeline.simulate.setup import species_parameters
from lungeline.units import convert

LEAK_TEST_CMH2O = 30.0  # pressure at which the equipment's leak is stated
_SECONDS_PER_MINUTE = 60.0
_ROOM_C, _FREEZING_C = 20.0, 0.0
_STANDARD_MMHG = 760.0


def oxygen_use(case: Case) -> Reasoned:
    """Return what the animal uses, as the simulated one does, at its temperature."""
    animal = case.animal
    used = species_parameters(animal.species)["oxygen_use_l_min"]
    published = used.figure
    warmth = float(oxygen_use_at_temperature_ml_min(1.0, animal.temperature_c))
    value = used.at_weight(animal.weight_kg) * warmth
    scaled = value / published.value
    reason = Reason(
        formula="use at the reference weight × (weight ratio)^exponent × 1.07 for each °C above 37.5",
        parts=(published,),
        given={"weight_kg": animal.weight_kg, "temperature_c": animal.temperature_c},
        sources=("case",),
    )
    return derived(
        "supplies.oxygen_use_l_min", value, reason, low=published.low * scaled, high=published.high * scaled
    )


def carbon_dioxide_output(case: Case) -> Reasoned:
    """Return what the animal gives off, counted at 20 °C as absorbents are."""
    used, quotient = oxygen_use(case), figure("absorbents.default_respiratory_quotient_ratio")
    warmed = float(molar_volume_l_mol(_ROOM_C, _STANDARD_MMHG)) / float(
        molar_volume_l_mol(_FREEZING_C, _STANDARD_MMHG)
    )
    factor = quotient.value * warmed
    return derived(
        "supplies.carbon_dioxide_l_min",
        number(used) * factor,
        Reason(formula="oxygen used × respiratory quotient, counted at 20 °C", parts=(used, quotient)),
        low=(used.low or 0.0) * factor,
        high=(used.high or 0.0) * factor,
    )


def leak_in_use(case: Case, profile: Profile, peak_cmh2o: float | None = None) -> Reasoned:
    """Return the mean leak, breaths taken as square: more than it can be at these pressures.

    peak_cmh2o: peak pressure expected, None for the highest the clinic accepts.
    """
    s, e = case.settings, case.equipment
    peak = profile.accepted_peak_cmh2o if peak_cmh2o is None else peak_cmh2o
    cycle_s = _SECONDS_PER_MINUTE / s.respiratory_rate_per_min
    blown_s = min(s.inspiratory_time_s + s.pause_s, cycle_s)
    leak = square_breath_leak_ml_min(
        s.peep_cmh2o,
        max(peak, s.peep_cmh2o),
        blown_s,
        cycle_s,
        e.leak_at_30_cmh2o_ml_min,
        LEAK_TEST_CMH2O,
        e.leak_exponent_number,
    )
    reason = Reason(
        formula="leak at 30 cmH2O × (pressure ÷ 30)^exponent, mean over square breaths",
        given={
            "leak_at_30_cmh2o_ml_min": e.leak_at_30_cmh2o_ml_min,
            "leak_exponent_number": e.leak_exponent_number,
            "peep_cmh2o": s.peep_cmh2o,
            "peak_pressure_cmh2o": peak,
        },
        sources=("case", "profile") if peak_cmh2o is None else ("case",),
    )
    return derived("supplies.leak_l_min", convert(float(leak), "ml_min", "l_min"), reason)


def least_flow(case: Case, profile: Profile, peak_cmh2o: float | None = None) -> Reasoned:
    """Return the oxygen that must flow in lest the reservoir runs empty."""
    used, leak = oxygen_use(case), leak_in_use(case, profile, peak_cmh2o)
    sample_l_min = case.equipment.sample_flow_l_min
    reason = Reason(
        formula="oxygen used + mean leak + sample not given back",
        parts=(used, leak),
        given={"sample_flow_l_min": sample_l_min},
    )
    each = [
        float(closed_flow_l_min(use, number(leak), sample_l_min))
        for use in (used.low or 0.0, number(used), used.high or 0.0)
    ]
    return derived("supplies.least_flow_l_min", each[1], reason, low=each[0], high=each[2])
