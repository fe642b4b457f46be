"""What the person at the machine sets."""

from dataclasses import dataclass, field
from typing import Any, Literal, get_args

from lungeline.case.checks import check_record
from lungeline.case.fields import choice, number, switch

Mode = Literal["volume", "pressure", "assisted", "spontaneous"]
Agent = Literal["isoflurane", "sevoflurane", "desflurane", "halothane"]

# None stands only until the settings are part of a case: there the rules of thumb have filled them in.
_BY_RULE: Any = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """The ventilator's knobs, the gas and the drugs. What is left out, the case fills in by rule of thumb.

    mode: volume, pressure, assisted (volume, begun by the animal or the machine) or spontaneous.
    tidal_volume_l: breath of the modes volume and assisted.
    inspiratory_pressure_cmh2o: above PEEP, in mode pressure.
    respiratory_rate_per_min: breaths the machine gives.
    inspiratory_time_s: time gas flows in.
    pause_s: time the breath is held after it.
    pressure_limit_cmh2o: airway pressure that ends a breath.
    peep_cmh2o: end-expiratory pressure; in mode spontaneous the continuous pressure.
    trigger_flow_l_min: own flow that begins a breath in mode assisted.
    apnoea_backup_s: time without a breath after which the machine gives one, 0 for never.
    slowed_expiration: whether the way out is narrowed so that expiration fills its time.
    ventilator_on: whether the ventilator runs.
    spare_volume_l: gas the reservoir holds beyond one tidal volume when full.
    fresh_gas_flow_l_min: by the flowmeters.
    fresh_gas_oxygen_fraction: oxygen in the fresh gas; the rest is air's nitrogen.
    agent: what is in the vaporiser.
    vaporiser_percent: dial.
    injectable_mac_multiple: depth that infusions lend, as parts of MAC; a dose at the start wanes by itself.
    dobutamine_ug_kg_min: infusion.
    phenylephrine_ug_kg_min: infusion.
    """

    mode: Mode = field(default="volume", metadata=choice(get_args(Mode), "mode"))
    tidal_volume_l: float = field(default=_BY_RULE, metadata=number(0.02, 40, "tidal volume"))
    inspiratory_pressure_cmh2o: float = field(
        default=_BY_RULE, metadata=number(1, 80, "inspiratory pressure above PEEP")
    )
    respiratory_rate_per_min: float = field(default=_BY_RULE, metadata=number(1, 80, "respiratory rate"))
    inspiratory_time_s: float = field(default=_BY_RULE, metadata=number(0.2, 15, "inspiratory time"))
    pause_s: float = field(default=_BY_RULE, metadata=number(0, 10, "inspiratory pause"))
    pressure_limit_cmh2o: float = field(default=_BY_RULE, metadata=number(5, 100, "pressure limit"))
    peep_cmh2o: float = field(default=_BY_RULE, metadata=number(0, 50, "PEEP"))
    trigger_flow_l_min: float = field(default=_BY_RULE, metadata=number(0, 120, "trigger flow"))
    apnoea_backup_s: float = field(default=_BY_RULE, metadata=number(0, 300, "apnoea backup"))
    slowed_expiration: bool = field(default=False, metadata=switch("slowed expiration"))
    ventilator_on: bool = field(default=True, metadata=switch("ventilator on"))
    spare_volume_l: float = field(default=_BY_RULE, metadata=number(0, 80, "spare volume"))
    fresh_gas_flow_l_min: float = field(default=_BY_RULE, metadata=number(0, 100, "fresh gas flow"))
    fresh_gas_oxygen_fraction: float = field(
        default=_BY_RULE, metadata=number(0.21, 1, "oxygen in the fresh gas")
    )
    agent: Agent = field(default="isoflurane", metadata=choice(get_args(Agent), "agent"))
    vaporiser_percent: float = field(default=_BY_RULE, metadata=number(0, 18, "vaporiser dial"))
    injectable_mac_multiple: float = field(
        default=_BY_RULE, metadata=number(0, 2, "depth by needle, parts of MAC")
    )
    dobutamine_ug_kg_min: float = field(default=0.0, metadata=number(0, 20, "dobutamine"))
    phenylephrine_ug_kg_min: float = field(default=0.0, metadata=number(0, 10, "phenylephrine"))

    def __post_init__(self) -> None:
        """Refuse what cannot be set."""
        check_record(self, "settings")
