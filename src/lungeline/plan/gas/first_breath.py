"""What leaves the reservoir with the first deep breath, part by part: a sum anybody can check."""

from lungeline.case import Breath, Case, Profile, Reasoned, Settings
from lungeline.plan.derive import Reason, derived, number
from lungeline.plan.gas.gas_demand import leak_in_use, oxygen_use
from lungeline.reference import figure
from lungeline.simulate.setup import circuit_values


def first_breath_parts(
    case: Case, settings: Settings, profile: Profile, breath: Breath
) -> dict[str, Reasoned]:
    """Return what leaves the reservoir with the first deep breath, part by part."""
    circuit = circuit_values(case, settings)["compliance_l_cmh2o"]
    first_l = profile.first_breath_multiple * settings.tidal_volume_l
    compliance = breath.compliance_l_cmh2o or 0.0
    tube_ml_kg = figure("circle.tube_and_hose_ml_kg")
    leak = leak_in_use(case, profile)
    used = oxygen_use(case)
    sample = case.equipment.sample_flow_l_min
    pressure = min(profile.accepted_peak_cmh2o, settings.peep_cmh2o + first_l / max(compliance, 1e-6))
    return {
        "first_breath_l": derived(
            "spare.first_breath_l",
            first_l,
            Reason(
                formula="tidal volume × what a first deep breath may be of it",
                given={
                    "tidal_volume_l": settings.tidal_volume_l,
                    "first_breath_multiple": profile.first_breath_multiple,
                },
                sources=("profile", "common-practice"),
            ),
        ),
        "compressed_l": derived(
            "spare.compressed_l",
            circuit * pressure,
            Reason(
                formula="compliance of the circuit × pressure of that breath, not above the accepted peak",
                given={"circuit_compliance_l_cmh2o": circuit, "pressure_cmh2o": pressure},
                sources=("case",),
            ),
        ),
        "peep_l": derived(
            "spare.peep_l",
            (compliance + circuit) * settings.peep_cmh2o,
            Reason(
                formula="(compliance of lung and circuit) × PEEP",
                given={"compliance_l_cmh2o": compliance, "peep_cmh2o": settings.peep_cmh2o},
                sources=("project-fit",),
            ),
        ),
        "tube_and_hose_l": derived(
            "spare.tube_and_hose_l",
            tube_ml_kg.value * case.animal.weight_kg / 1000.0,
            Reason(
                formula="gas of tube and Y still to be filled, per kilogram × weight",
                parts=(tube_ml_kg,),
                given={"weight_kg": case.animal.weight_kg},
                sources=("case",),
            ),
        ),
        "first_minute_l": derived(
            "spare.first_minute_l",
            number(used) + number(leak) + sample,
            Reason(
                formula="oxygen used + leak + sample in one minute, fresh gas not counted on",
                parts=(used, leak),
                given={"sample_flow_l_min": sample},
                sources=("case",),
            ),
        ),
    }
