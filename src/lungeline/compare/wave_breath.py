"""One breath as its curves show it: what could be told of it, and how sure that is."""

from dataclasses import asdict, dataclass
from typing import Any, Literal

Begun = Literal["set", "triggered", "own"]
Sureness = Literal["good", "doubtful", "none"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WaveBreath:
    """The numbers of one breath out of curves, named as in a breath; None where one cannot be told.

    epoch: of the curves, to which all times belong.
    time_s: beginning of the breath in, since the epoch began.
    inspiratory_time_s: gas flows in.
    pause_s: held in.
    expiratory_time_s: from then to the next breath.
    respiratory_rate_per_min: of this breath alone.
    tidal_volume_inspired_l: what went in past the flow sensor, its zero corrected.
    tidal_volume_expired_l: what came back.
    peak_pressure_cmh2o: highest, noise taken off.
    plateau_pressure_cmh2o: at the end of a pause.
    mean_airway_pressure_cmh2o: over the whole breath.
    end_expiratory_pressure_cmh2o: just before the next breath.
    compliance_l_cmh2o: by least squares on the equation of motion, at this breath's volume.
    resistance_cmh2o_s_l: by the same, at the mean flow in.
    fit_fraction: part of the pressure's variance that the equation explains.
    trapped_volume_l: gas not yet out when the next breath began.
    etco2_mmhg: end-tidal carbon dioxide.
    fico2_mmhg: inspired carbon dioxide, by volume.
    mixed_expired_co2_mmhg: of all gas breathed out.
    alveolar_co2_mmhg: half way along the alveolar slope.
    airway_dead_space_l: by equal areas.
    dead_space_fraction: Bohr's, over the tidal volume breathed out.
    co2_delay_s: by which the gas curve was taken to lag behind flow.
    begun: set by the machine, triggered by the animal, or the animal's own; None without flow or pressure.
    effort_cmh2o: how far the animal drew the pressure down as the breath began.
    cut_by_limit: whether the pressure limit cut the breath short; None where the limit is not known.
    zero_flow_l_s: what the flow sensor shows at rest; None where no rest was seen.
    leak_fraction: of what went in, lost on the pressure's way, mean of several breaths.
    volume_quality, mechanics_quality, co2_quality: how sure these groups are.
    """

    epoch: str
    time_s: float
    inspiratory_time_s: float | None = None
    pause_s: float | None = None
    expiratory_time_s: float | None = None
    respiratory_rate_per_min: float | None = None
    tidal_volume_inspired_l: float | None = None
    tidal_volume_expired_l: float | None = None
    peak_pressure_cmh2o: float | None = None
    plateau_pressure_cmh2o: float | None = None
    mean_airway_pressure_cmh2o: float | None = None
    end_expiratory_pressure_cmh2o: float | None = None
    compliance_l_cmh2o: float | None = None
    resistance_cmh2o_s_l: float | None = None
    fit_fraction: float | None = None
    trapped_volume_l: float | None = None
    etco2_mmhg: float | None = None
    fico2_mmhg: float | None = None
    mixed_expired_co2_mmhg: float | None = None
    alveolar_co2_mmhg: float | None = None
    airway_dead_space_l: float | None = None
    dead_space_fraction: float | None = None
    co2_delay_s: float | None = None
    begun: Begun | None = None
    effort_cmh2o: float | None = None
    cut_by_limit: bool | None = None
    zero_flow_l_s: float | None = None
    leak_fraction: float | None = None
    volume_quality: Sureness = "none"
    mechanics_quality: Sureness = "none"
    co2_quality: Sureness = "none"

    def as_json(self) -> dict[str, Any]:
        """Return the breath as a plain object."""
        return asdict(self)
