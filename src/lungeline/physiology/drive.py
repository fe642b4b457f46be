"""The wish to breathe: how deep anaesthesia moves it, and what happens to CO2 when it is gone."""

import math

from lungeline.compiled import formula

LARGEST_DRIVE = 3.0
AROUSAL_BELOW_MULTIPLE = 0.8  # light anaesthesia, assumption
RATE_AT_NO_DRIVE = 0.6  # of the rate at drive 1, assumption
RATE_PER_DRIVE = 0.4
LARGEST_RATE_DRIVE = 2.5
LEAST_RATE_SHARE = 3.0 / 7.0  # horses 3 to 14 breaths/min about 7 at 1 MAC, assumption
LARGEST_RATE_SHARE = 2.0


@formula
def resting_paco2_mmhg(mac_multiple: float, paco2_awake_mmhg: float, rise_per_mac_mmhg: float) -> float:
    """Arterial CO2 pressure an animal breathing for itself settles at [mmHg].

    mac_multiple: depth [multiple], 0 to 2.5
    paco2_awake_mmhg: without anaesthesia, horse 45 [mmHg], 36 to 54
    rise_per_mac_mmhg: added for each MAC, horse 16 [mmHg], 5 to 30

    Source: assumption, 45 + 16 × MAC; horses 64 ± 9 on isoflurane and 69 on desflurane (abstracts).

    >>> resting_paco2_mmhg(1.0, 45.0, 16.0)
    61.0
    """
    return paco2_awake_mmhg + rise_per_mac_mmhg * max(mac_multiple, 0.0)


@formula
def apnoeic_threshold_mmhg(resting_paco2_mmhg: float, threshold_gap_mmhg: float) -> float:
    """Arterial CO2 pressure below which an anaesthetised animal does not breathe [mmHg].

    resting_paco2_mmhg: at which it settles by itself at this depth [mmHg], 36 to 110
    threshold_gap_mmhg: how far the threshold lies below [mmHg], 3 to 8

    Source: the two move together with depth in people (Hickey et al. 1971, second-hand); a gap of 5 is from
    memory.

    >>> apnoeic_threshold_mmhg(61.0, 5.0)
    56.0
    """
    return resting_paco2_mmhg - threshold_gap_mmhg


@formula
def breathing_drive_ratio(
    central_pco2_mmhg: float, apnoeic_threshold_mmhg: float, threshold_gap_mmhg: float
) -> float:
    """Drive to breathe: 0 or less is none, 1 is that at resting CO2, 3 the most there is [ratio].

    central_pco2_mmhg: CO2 pressure where it is sensed [mmHg], 10 to 250
    apnoeic_threshold_mmhg: threshold at this depth [mmHg], 30 to 110
    threshold_gap_mmhg: resting less threshold [mmHg], 3 to 8; no number at or below 0

    Source: straight response above a threshold (from memory), scaled by the gap.

    >>> breathing_drive_ratio(61.0, 56.0, 5.0), breathing_drive_ratio(51.0, 56.0, 5.0)
    (1.0, -1.0)
    """
    if threshold_gap_mmhg <= 0.0:
        return math.nan
    return min((central_pco2_mmhg - apnoeic_threshold_mmhg) / threshold_gap_mmhg, LARGEST_DRIVE)


@formula
def arousal_drive_ratio(mac_multiple: float, arousal_per_mac_ratio: float) -> float:
    """Drive that light anaesthesia adds to that of CO2 [ratio].

    mac_multiple: depth [multiple], 0 to 2.5; none from 0.8 on
    arousal_per_mac_ratio: added for each MAC below [ratio], 0 to 12

    Source: assumption.

    >>> round(arousal_drive_ratio(0.5, 8.0), 6)
    2.4
    """
    return arousal_per_mac_ratio * max(AROUSAL_BELOW_MULTIPLE - mac_multiple, 0.0)


@formula
def own_rate_per_min(
    mac_multiple: float, drive_ratio: float, rate_at_one_mac_per_min: float, fall_per_mac_per_min: float
) -> float:
    """Rate at which an animal breathes for itself, none without drive [/min].

    mac_multiple: depth [multiple], 0 to 2.5
    drive_ratio: drive to breathe [ratio], -10 to 3
    rate_at_one_mac_per_min: at 1 MAC and drive 1, horse 7 [/min], 4 to 40
    fall_per_mac_per_min: lost for each MAC, horse 6 [/min], 0 to 20

    Source: rate falls with depth (Steffey et al. 2005, abstract, direction); numbers from memory or assumed.

    >>> own_rate_per_min(1.0, 1.0, 7.0, 6.0), own_rate_per_min(1.0, -0.5, 7.0, 6.0)
    (7.0, 0.0)
    """
    if drive_ratio <= 0.0:
        return 0.0
    rate = rate_at_one_mac_per_min - fall_per_mac_per_min * (mac_multiple - 1.0)
    least, most = LEAST_RATE_SHARE * rate_at_one_mac_per_min, LARGEST_RATE_SHARE * rate_at_one_mac_per_min
    share = RATE_AT_NO_DRIVE + RATE_PER_DRIVE * min(drive_ratio, LARGEST_RATE_DRIVE)
    return min(max(rate, least), most) * share


@formula
def apnoea_paco2_mmhg(paco2_mmhg: float, apnoea_min: float, rise_mmhg_min: float) -> float:
    """Arterial CO2 pressure after a time without breathing, rising straight [mmHg].

    paco2_mmhg: at the start [mmHg], 20 to 120
    apnoea_min: time without breathing [min], 0 to 15
    rise_mmhg_min: rise, horses and ponies 5.5 [mmHg/min], 2 to 10

    Source: Blaze & Robinson 1987 (abstract): 5.5 mmHg/min, nearly straight for 10 min, on oxygen.

    >>> apnoea_paco2_mmhg(40.0, 10.0, 5.5)
    95.0
    """
    return paco2_mmhg + rise_mmhg_min * max(apnoea_min, 0.0)


@formula
def apnoea_rise_two_stores_mmhg(
    apnoea_min: float,
    carbon_dioxide_output_ml_kg_min: float,
    fast_store_ml_kg_mmhg: float,
    slow_store_ml_kg_mmhg: float,
    conductance_ml_kg_min_mmhg: float,
) -> float:
    """Rise of CO2 pressure in apnoea with a fast and a slow body store [mmHg].

    apnoea_min: time without breathing [min], 0 to 30
    carbon_dioxide_output_ml_kg_min: made by the tissues, STPD [mL/kg/min], 0.5 to 8
    fast_store_ml_kg_mmhg: blood and well-perfused tissue [mL/kg/mmHg], 0.2 to 0.6
    slow_store_ml_kg_mmhg: the rest of the body [mL/kg/mmHg], 0.5 to 1.5
    conductance_ml_kg_min_mmhg: between the two [mL/kg/min/mmHg], 0.001 to 0.1

    Source: exact solution of two stores (closed form); two stores after Farhi & Rahn 1960 (abstract, dogs).

    >>> round(apnoea_rise_two_stores_mmhg(10.0, 2.0, 0.32, 1.05, 0.0108), 1)
    53.3
    """
    early = carbon_dioxide_output_ml_kg_min / fast_store_ml_kg_mmhg
    if conductance_ml_kg_min_mmhg <= 0.0:
        return early * apnoea_min
    whole = fast_store_ml_kg_mmhg + slow_store_ml_kg_mmhg
    time_constant_min = fast_store_ml_kg_mmhg * slow_store_ml_kg_mmhg / (whole * conductance_ml_kg_min_mmhg)
    late = carbon_dioxide_output_ml_kg_min / whole
    lead = (early - late) * time_constant_min * (1.0 - math.exp(-apnoea_min / time_constant_min))
    return late * apnoea_min + lead
