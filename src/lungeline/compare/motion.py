"""Compliance and resistance of one breath, by least squares on the equation of motion."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_LEAST_SAMPLES = 12
_LEAST_SWING_CMH2O = 1.0  # of pressure: below it noise is fitted


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """The equation P = baseline + (E + E2 V) V + (R + R2 |F|) F, fitted.

    fit_fraction: part of the variance of pressure that it explains.
    """

    baseline_pressure_cmh2o: float
    elastance_cmh2o_l: float
    elastance_slope_cmh2o_l2: float
    laminar_cmh2o_s_l: float
    turbulent_cmh2o_s2_l2: float
    fit_fraction: float

    def compliance_l_cmh2o(self, volume_l: float) -> float | None:
        """Return volume over the pressure that holds it, None where that pressure is none."""
        elastance = self.elastance_cmh2o_l + self.elastance_slope_cmh2o_l2 * volume_l
        return 1.0 / elastance if elastance > 0.0 else None

    def resistance_cmh2o_s_l(self, flow_l_s: float) -> float:
        """Return pressure spent over a flow, by that flow."""
        return self.laminar_cmh2o_s_l + self.turbulent_cmh2o_s2_l2 * abs(flow_l_s)


def fit_motion(
    pressure_cmh2o: "NDArray[np.float64]",
    flow_l_s: "NDArray[np.float64]",
    volume_l: "NDArray[np.float64]",
    *,
    bent: bool = True,
) -> Motion | None:
    """Return the equation that fits samples of a breath, None where they do not tell.

    volume_l: above that at the breath's beginning. bent: with the terms of V² and of turbulence.
    Samples that are no number are left out.

    Source: Mead & Whittenberger 1953; volume-dependent elastance: J Appl Physiol 1994;77:1185 (abstract).
    """
    known = np.isfinite(pressure_cmh2o) & np.isfinite(flow_l_s) & np.isfinite(volume_l)
    pressure, flow, volume = pressure_cmh2o[known], flow_l_s[known], volume_l[known]
    columns = [np.ones_like(volume), volume, flow]
    if bent:
        columns += [volume**2, flow * np.abs(flow)]
    if len(pressure) < max(_LEAST_SAMPLES if bent else len(columns), len(columns)):
        return None
    equations = np.stack(columns, axis=1)
    found, _, rank, _ = np.linalg.lstsq(equations, pressure, rcond=None)
    spread = float(np.sum((pressure - pressure.mean()) ** 2))
    if rank < len(columns) or np.ptp(pressure) < _LEAST_SWING_CMH2O:
        return None
    left = float(np.sum((pressure - equations @ found) ** 2))
    terms = [*found.tolist(), 0.0, 0.0]
    return Motion(
        baseline_pressure_cmh2o=terms[0], elastance_cmh2o_l=terms[1], laminar_cmh2o_s_l=terms[2],
        elastance_slope_cmh2o_l2=terms[3], turbulent_cmh2o_s2_l2=terms[4], fit_fraction=1.0 - left / spread,
    )  # fmt: skip
