"""One breath, as it was: what the ventilator did, what the monitor would show, how the animal fared."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields

from lungeline.errors import UnknownNameError


@dataclass(frozen=True, slots=True, kw_only=True)
class Breath:
    """The numbers of one breath; None where a breath has no such number.

    time_s: beginning of the breath, since the case began.
    set_tidal_volume_l: what the machine was to give.
    tidal_volume_inspired_l: what went in at the Y.
    tidal_volume_expired_l: what came out at the Y.
    respiratory_rate_per_min: breaths of machine and animal.
    own_breaths_per_min: breaths the animal began.
    peak_pressure_cmh2o: highest airway pressure.
    plateau_pressure_cmh2o: airway pressure without flow, breath in.
    mean_airway_pressure_cmh2o: over the whole breath.
    end_expiratory_pressure_cmh2o: airway pressure, breath out.
    trapped_volume_l: gas not yet out when the next breath began.
    compliance_l_cmh2o: volume by the pressure it takes, gas at rest at both ends.
    etco2_mmhg: carbon dioxide at the end of the breath out.
    fico2_mmhg: carbon dioxide breathed in.
    fio2_fraction: oxygen breathed in.
    inspired_agent_fraction: agent breathed in.
    end_tidal_agent_fraction: agent at the end of the breath out.
    mac_multiple: end-tidal agent as parts of MAC.
    spare_volume_l: least gas in the reservoir during the breath.
    paco2_mmhg: arterial carbon dioxide.
    pao2_mmhg: arterial oxygen.
    arterial_ph: of arterial blood.
    spo2_fraction: arterial saturation.
    shunt_fraction: part of the blood flow that meets no gas.
    cardiac_output_l_min: blood flow.
    map_mmhg: mean arterial pressure.
    heart_rate_per_min: of the heart.
    oxygen_used_l: fresh oxygen let in since the start.
    agent_liquid_used_ml: liquid agent since the start.
    room_air_entrained_l: air drawn in since the start.
    """

    time_s: float
    set_tidal_volume_l: float | None = None
    tidal_volume_inspired_l: float | None = None
    tidal_volume_expired_l: float | None = None
    respiratory_rate_per_min: float | None = None
    own_breaths_per_min: float | None = None
    peak_pressure_cmh2o: float | None = None
    plateau_pressure_cmh2o: float | None = None
    mean_airway_pressure_cmh2o: float | None = None
    end_expiratory_pressure_cmh2o: float | None = None
    trapped_volume_l: float | None = None
    compliance_l_cmh2o: float | None = None
    etco2_mmhg: float | None = None
    fico2_mmhg: float | None = None
    fio2_fraction: float | None = None
    inspired_agent_fraction: float | None = None
    end_tidal_agent_fraction: float | None = None
    mac_multiple: float | None = None
    spare_volume_l: float | None = None
    paco2_mmhg: float | None = None
    pao2_mmhg: float | None = None
    arterial_ph: float | None = None
    spo2_fraction: float | None = None
    shunt_fraction: float | None = None
    cardiac_output_l_min: float | None = None
    map_mmhg: float | None = None
    heart_rate_per_min: float | None = None
    oxygen_used_l: float | None = None
    agent_liquid_used_ml: float | None = None
    room_air_entrained_l: float | None = None

    @classmethod
    def from_values(cls, values: Mapping[str, float | None]) -> "Breath":
        """Return a breath from a row of numbers in which what is not finite is missing."""
        unknown = [key for key in values if key not in BREATH_KEYS]
        if unknown:
            raise UnknownNameError.nearest(where="breath", given=unknown[0], valid=BREATH_KEYS)
        known = {key: float(value) for key, value in values.items() if value is not None}
        return cls(**{key: value for key, value in known.items() if math.isfinite(value)})

    def as_values(self) -> dict[str, float | None]:
        """Return the numbers by key, in the order above."""
        return {key: getattr(self, key) for key in BREATH_KEYS}


BREATH_KEYS: tuple[str, ...] = tuple(field.name for field in fields(Breath))
