"""What blood takes from and gives to alveolar gas, with the structural choices an animal may have."""

from lungeline.compiled import formula
from lungeline.physiology.blood_gases import blood_ph, carbon_dioxide_content_douglas1988

STPD_PER_BTPS_AT_713 = 1.2104
LITRES_BTPS_MMHG = STPD_PER_BTPS_AT_713 * 713.0
LARGEST_SHUNT_FRACTION = 0.8
LINEAR_CONTENT_L_L = 0.235
LINEAR_SLOPE_L_L_MMHG = 0.0068
OXYGEN_USE_HALF_CONTENT_L_L = 0.003


@formula
def carbon_dioxide_content_l_l(
    pco2_mmhg: float,
    base_excess_mmol_l: float,
    haemoglobin_g_dl: float,
    saturation_fraction: float,
    law: float,
) -> float:
    """CO2 content of blood, by Douglas or by a straight line [L/L].

    pco2_mmhg: CO2 pressure [mmHg], 5 to 250
    base_excess_mmol_l: offset of bicarbonate [mmol/L], -15 to 15
    haemoglobin_g_dl: haemoglobin [g/dL], 4 to 20
    saturation_fraction: oxygen saturation [1], 0 to 1
    law: 0 Douglas, Jones & Reed 1988; 1 straight line about 45 mmHg [1], 0 or 1

    Source: Douglas, Jones & Reed, J Appl Physiol 1988;65:473-7; the line is its tangent, for structurally
    different animals.

    >>> round(carbon_dioxide_content_l_l(45.0, 4.0, 11.5, 0.98, 1.0), 3)
    0.541
    """
    if law >= 0.5:
        return LINEAR_CONTENT_L_L + LINEAR_SLOPE_L_L_MMHG * pco2_mmhg
    return carbon_dioxide_content_douglas1988(
        pco2_mmhg, blood_ph(pco2_mmhg, base_excess_mmol_l), haemoglobin_g_dl, saturation_fraction
    )


@formula
def shunt_fraction(
    open_fraction: float,
    shunt_open_fraction: float,
    shunt_per_closed_fraction: float,
    shunt_added_fraction: float,
    law: float,
) -> float:
    """Share of cardiac output that passes no ventilated lung [1].

    open_fraction: mean open fraction of the layers [1], 0 to 1
    shunt_open_fraction: shunt with all lung open [1], 0.01 to 0.06
    shunt_per_closed_fraction: added per closed fraction [1], 0.3 to 0.8
    shunt_added_fraction: added by a fault [1], 0 to 0.6
    law: 0 in proportion to closed lung, 1 more than in proportion [1], 0 or 1

    Source: proportional diversion of flow, fitted (see evidence).

    >>> round(shunt_fraction(0.5, 0.027, 0.475, 0.0, 0.0), 4)
    0.2645
    """
    closed = 1.0 - open_fraction
    if law >= 0.5:
        closed *= 0.5 + closed
    return min(
        LARGEST_SHUNT_FRACTION,
        shunt_open_fraction + shunt_per_closed_fraction * closed + shunt_added_fraction,
    )


@formula
def oxygen_use_share(venous_content_l_l: float) -> float:
    """Share of the wanted oxygen that tissues still get as venous blood empties [1].

    venous_content_l_l: oxygen content of venous blood [L/L], 0 to 0.25

    Source: assumption; smooth fall so that no animal runs below zero.

    >>> round(oxygen_use_share(0.12), 3)
    1.0
    """
    content = max(venous_content_l_l, 0.0)
    return min(1.0, 1.03 * content / (content + OXYGEN_USE_HALF_CONTENT_L_L))


@formula
def mixing_flow_l_s(
    fraction_difference: float,
    volume_one_l: float,
    volume_two_l: float,
    time_constant_s: float,
    span_s: float,
) -> float:
    """Flow of a gas between two volumes that mix, volume one giving, held over a span [L/s].

    fraction_difference: fraction in one less fraction in two [1], -1 to 1
    volume_one_l: volume that sets the time constant [L], above 0
    volume_two_l: volume it mixes with [L], above 0
    time_constant_s: of volume one against a very large volume [s], above 0
    span_s: span over which the flow is held [s], above 0

    Source: first-order mixing; never more than evens the two out, so that small lungs stay stable.

    >>> mixing_flow_l_s(0.01, 8.0, 4.0, 0.5, 0.1)
    0.16
    """
    rate_per_s = (1.0 + volume_one_l / volume_two_l) / time_constant_s
    flow = fraction_difference * volume_one_l / time_constant_s
    return flow * min(1.0, 1.0 / (rate_per_s * span_s))
