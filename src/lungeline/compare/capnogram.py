"""The carbon dioxide of one breath, against time and against the volume breathed out."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lungeline.physiology.dead_space import dead_space_bohr1891_fraction

if TYPE_CHECKING:
    from numpy.typing import NDArray

SLOPE_FROM, SLOPE_TO = 0.5, 0.9  # of the volume breathed out: the alveolar slope
_LEAST_SAMPLES = 8
_LEAST_CO2_MMHG = 5.0  # below it there is no capnogram


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeCapnogram:
    """Of one breath out. alveolar_co2_mmhg: on the alveolar slope, half way between dead space and end."""

    airway_dead_space_l: float
    alveolar_co2_mmhg: float
    mixed_expired_co2_mmhg: float
    dead_space_fraction: float


def volume_capnogram(
    volume_l: "NDArray[np.float64]", co2_mmhg: "NDArray[np.float64]", inspired_co2_mmhg: float = 0.0
) -> VolumeCapnogram | None:
    """Return dead spaces from carbon dioxide over the volume breathed out, None where they do not show.

    volume_l: breathed out so far, not falling much; co2_mmhg: at the same place in the gas.
    The airway dead space is where a step up to the alveolar slope would hold as much carbon dioxide as
    the curve does: equal areas on both sides of the step.

    Source: Fowler 1948 (equal areas, from memory); alveolar value at the middle of the slope: Tusman et al.,
    Intensive Care Med 2011;37:870 (abstract); Bohr 1891.
    """
    known = np.isfinite(volume_l) & np.isfinite(co2_mmhg)
    volume, above = volume_l[known], co2_mmhg[known] - inspired_co2_mmhg
    if len(volume) < _LEAST_SAMPLES or volume[-1] <= 0.0 or above.max() < _LEAST_CO2_MMHG:
        return None
    total_l = float(volume[-1])
    held = float(np.sum((above[1:] + above[:-1]) / 2.0 * np.diff(volume))) + float(above[0] * volume[0])
    sloping = (volume >= SLOPE_FROM * total_l) & (volume <= SLOPE_TO * total_l)
    if np.count_nonzero(sloping) < _LEAST_SAMPLES // 2:
        return None
    slope, level = np.polyfit(volume[sloping], above[sloping], 1).tolist()
    airway_l = step_of_equal_areas_l(total_l, held, level, slope)
    if airway_l is None:
        return None
    alveolar = level + slope * (airway_l + total_l) / 2.0
    mixed = held / total_l
    return VolumeCapnogram(
        airway_dead_space_l=airway_l,
        alveolar_co2_mmhg=alveolar + inspired_co2_mmhg,
        mixed_expired_co2_mmhg=mixed + inspired_co2_mmhg,
        dead_space_fraction=dead_space_bohr1891_fraction(alveolar, mixed),
    )


def step_of_equal_areas_l(
    volume_l: float, area_l_mmhg: float, level_mmhg: float, slope_mmhg_l: float
) -> float | None:
    """Return where a step up to a line holds an area until the end of the volume.

    The area under level + slope V from the step to the end: a quadratic in the step.
    """
    whole = level_mmhg * volume_l + slope_mmhg_l * volume_l**2 / 2.0
    missing = whole - area_l_mmhg  # lies under the line before the step
    if abs(slope_mmhg_l) * volume_l < 1e-9 * abs(level_mmhg):
        step = missing / level_mmhg if level_mmhg > 0.0 else math.nan
    else:
        root = level_mmhg**2 + 2.0 * slope_mmhg_l * missing
        step = (math.sqrt(root) - level_mmhg) / slope_mmhg_l if root >= 0.0 else math.nan
    return step if math.isfinite(step) and 0.0 <= step < volume_l else None
