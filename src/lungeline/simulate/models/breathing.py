"""The animal's own breathing: how strongly it wants to, how often, and the muscle pressure it makes."""

import math

from lungeline.compiled import formula
from lungeline.physiology.drive import (
    apnoeic_threshold_mmhg,
    arousal_drive_ratio,
    breathing_drive_ratio,
    resting_paco2_mmhg,
)

LEAST_DRIVE = 0.02
MOST_DRIVE = 3.0
LEAST_EFFORT_DRIVE = 0.25
RESTART_PER_INJECTABLE_MAC = 1.5


@formula
def breathing_drive(
    central_co2_mmhg: float,
    mac_multiple: float,
    resting_co2_mmhg: float,
    co2_per_mac_mmhg: float,
    threshold_gap_mmhg: float,
    arousal_multiple: float,
) -> float:
    """Drive to breathe: 0 at the threshold, 1 at the resting arterial CO2 of this depth [1].

    central_co2_mmhg: CO2 pressure at the brain [mmHg], 10 to 200
    mac_multiple: depth, agent and injectable drugs together [multiple], 0 to 3
    resting_co2_mmhg: arterial CO2 awake [mmHg], 36 to 54
    co2_per_mac_mmhg: how much depth raises it per MAC [mmHg], 8 to 25
    threshold_gap_mmhg: threshold lies this far below resting [mmHg], 3 to 12
    arousal_multiple: added drive per MAC below light anaesthesia [multiple], 0 to 12

    Source: the formulas of `physiology.drive` put together.

    >>> breathing_drive(61.0, 1.0, 45.0, 16.0, 5.0, 8.0)
    1.0
    """
    resting = resting_paco2_mmhg(mac_multiple, resting_co2_mmhg, co2_per_mac_mmhg)
    threshold = apnoeic_threshold_mmhg(resting, threshold_gap_mmhg)
    drive = breathing_drive_ratio(central_co2_mmhg, threshold, threshold_gap_mmhg)
    return min(drive + arousal_drive_ratio(mac_multiple, arousal_multiple), MOST_DRIVE)


@formula
def muscle_pressure_cmh2o(clock: float, inspiratory_fraction: float, size_cmh2o: float) -> float:
    """Pressure the breathing muscles make at a moment of the animal's own cycle [cmH2O].

    clock: position in the cycle [1], 0 to 1
    inspiratory_fraction: inspiratory share of the cycle [1], 0.2 to 0.6
    size_cmh2o: largest pressure of this breath [cmH2O], 0 or more

    Source: half sine, a modelling choice.

    >>> muscle_pressure_cmh2o(0.175, 0.35, 10.0)
    10.0
    """
    if clock >= inspiratory_fraction or size_cmh2o <= 0.0:
        return 0.0
    return size_cmh2o * math.sin(math.pi * clock / inspiratory_fraction)


@formula
def restart_drive(restart_drive_multiple: float, injectable_mac_multiple: float) -> float:
    """Drive at which a rhythm that had stopped starts again [1].

    restart_drive_multiple: without injectable drugs [1], 0 to 2
    injectable_mac_multiple: MAC equivalents of injectable drugs still acting [1], 0 to 2

    A stopped rhythm needs more to start than a running one to go on. So the first breath after an
    induction apnoea is a large one, because the drive has grown meanwhile.
    Source: assumption, to agree with a first breath of about twice the usual (common practice, no source).

    >>> round(restart_drive(0.6, 0.8), 6)
    1.8
    """
    return restart_drive_multiple + RESTART_PER_INJECTABLE_MAC * injectable_mac_multiple
