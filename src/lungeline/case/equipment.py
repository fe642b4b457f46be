"""The breathing system, the machine and the tube."""

from dataclasses import dataclass, field
from typing import Literal, get_args

from lungeline.case.checks import check_record
from lungeline.case.fields import choice, number, switch

LeakPlace = Literal["circuit", "cuff"]
Material = Literal["none", "rubber", "polyethylene", "pvc"]
Port = Literal["animal", "test lung", "plugged", "open"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Equipment:
    """What the animal breathes through.

    reservoir_capacity_l: most gas the reservoir holds.
    circle_volume_l: gas in the circle with the reservoir empty, hoses included.
    hose_volume_l: gas in one limb.
    circuit_compliance_l_cmh2o: gas compressed and hoses stretched; None to follow from volume.
    tube_internal_diameter_mm: bore of the tracheal tube; None for the usual one at this weight.
    tube_length_cm: length of the tracheal tube; None for the usual one of its bore.
    absorbent_kg: fresh absorbent in the canister.
    absorbent_used_fraction: part of it already spent.
    leak_at_30_cmh2o_ml_min: leak found at a steady 30 cmH2O.
    leak_exponent_number: how the leak grows with pressure, 0.5 a pinhole to 1 a long seam.
    leak_place: whether the circuit or the cuff leaks.
    sample_flow_l_min: gas drawn off by the monitor and not returned.
    expiratory_resistance_cmh2o_s_l: hose and valve out.
    inspiratory_resistance_cmh2o_s_l: hose and valve in.
    makeup_flow_l_min: oxygen the machine adds of itself when the reservoir runs low, 0 for none.
    makeup_threshold_l: reservoir content below which it adds.
    makeup_dose_l: how much it adds at a time.
    makeup_through_vaporiser: whether that oxygen carries agent.
    flow_ceiling_l_s: fastest flow the machine can deliver.
    compliance_compensated: whether it adds what the circle compresses.
    holds_baseline: whether it feeds gas to hold PEEP.
    fresh_gas_coupled: whether fresh gas adds to the breath.
    agent_absorbing_material: what the hoses and bag are made of, where they take up agent.
    agent_absorbing_material_volume_l: how much of that material there is.
    patient_port: what the Y is connected to.
    test_lung_compliance_l_cmh2o: of the test lung.
    test_lung_resistance_cmh2o_s_l: of the test lung.
    bag_attached: a bag in place of the ventilator.
    safety_pressure_cmh2o: pressure at which the safety valve opens.
    """

    reservoir_capacity_l: float = field(default=20.0, metadata=number(0.5, 80, "reservoir"))
    circle_volume_l: float = field(default=30.0, metadata=number(1, 150, "volume of the circle"))
    hose_volume_l: float = field(default=3.5, metadata=number(0.1, 15, "volume of one hose"))
    circuit_compliance_l_cmh2o: float | None = field(
        default=None, metadata=number(0.0005, 0.5, "compliance of the circuit")
    )
    tube_internal_diameter_mm: float | None = field(default=None, metadata=number(4, 40, "bore of the tube"))
    tube_length_cm: float | None = field(default=None, metadata=number(10, 200, "length of the tube"))
    absorbent_kg: float = field(default=5.0, metadata=number(0, 30, "absorbent"))
    absorbent_used_fraction: float = field(default=0.0, metadata=number(0, 1, "used part of the absorbent"))
    leak_at_30_cmh2o_ml_min: float = field(default=0.0, metadata=number(0, 100000, "leak at 30 cmH2O"))
    leak_exponent_number: float = field(default=0.7, metadata=number(0.5, 1, "exponent of the leak"))
    leak_place: LeakPlace = field(
        default="circuit", metadata=choice(get_args(LeakPlace), "place of the leak")
    )
    sample_flow_l_min: float = field(default=0.2, metadata=number(0, 2, "sample flow"))
    expiratory_resistance_cmh2o_s_l: float = field(
        default=1.0, metadata=number(0.01, 30, "expiratory resistance")
    )
    inspiratory_resistance_cmh2o_s_l: float = field(
        default=0.5, metadata=number(0.01, 30, "inspiratory resistance")
    )
    makeup_flow_l_min: float = field(default=0.0, metadata=number(0, 300, "make-up oxygen"))
    makeup_threshold_l: float = field(default=4.0, metadata=number(0, 60, "make-up threshold"))
    makeup_dose_l: float = field(default=4.0, metadata=number(0.1, 60, "make-up dose"))
    makeup_through_vaporiser: bool = field(default=False, metadata=switch("make-up through the vaporiser"))
    flow_ceiling_l_s: float = field(default=10.0, metadata=number(0.1, 30, "fastest flow of the machine"))
    compliance_compensated: bool = field(default=True, metadata=switch("compliance compensated"))
    holds_baseline: bool = field(default=False, metadata=switch("machine holds the baseline pressure"))
    fresh_gas_coupled: bool = field(default=False, metadata=switch("fresh gas adds to the breath"))
    agent_absorbing_material: Material = field(
        default="none", metadata=choice(get_args(Material), "material that takes up agent")
    )
    agent_absorbing_material_volume_l: float = field(
        default=0.6, metadata=number(0, 20, "volume of that material")
    )
    patient_port: Port = field(default="animal", metadata=choice(get_args(Port), "what the Y leads to"))
    test_lung_compliance_l_cmh2o: float = field(
        default=0.5, metadata=number(0.005, 3, "compliance of the test lung")
    )
    test_lung_resistance_cmh2o_s_l: float = field(
        default=1.0, metadata=number(0, 50, "resistance of the test lung")
    )
    bag_attached: bool = field(default=False, metadata=switch("bag in place of the ventilator"))
    safety_pressure_cmh2o: float = field(default=100.0, metadata=number(20, 200, "safety valve"))

    def __post_init__(self) -> None:
        """Refuse what no equipment is."""
        check_record(self, "equipment")
