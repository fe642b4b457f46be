"""Recoil of a lung in layers under gravity, in closed form, and how its layers open and close.

Every open layer has the same exponential pressure-volume curve, so the sum over layers is one logarithm:
with O the mean open fraction and S the mean of open fraction times exp(superimposed pressure / h),
V = capacity * (O - b*S*exp(-P/h)).
"""

import math

from lungeline.compiled import formula

LAYERS = 10
OVERDISTENSION_FRACTION = 0.001
RESIDUAL_FRACTION = 0.02
RESIDUAL_STIFFNESS_CMH2O = 2000.0
FIXED_RATE_EXCESS_CMH2O = 6.0
LEAST_OPEN_FRACTION = 0.002
NEAR_SHARE = 0.03  # of what is left of the capacity


@formula
def transpulmonary_pressure_cmh2o(
    volume_l: float, open_capacity_l: float, recoil_scale_l: float, recoil_pressure_cmh2o: float, law: float
) -> float:
    """Transpulmonary pressure at a lung volume [cmH2O].

    volume_l: gas volume of the ventilated lung [L], 0 to open_capacity_l
    open_capacity_l: capacity times mean open fraction, O*v [L], above 0
    recoil_scale_l: v*b*S of the closed form [L], above 0
    recoil_pressure_cmh2o: curvature h [cmH2O], 20 to 60
    law: 0 exponential, 1 hyperbolic (a structurally different animal), 2 none (a test lung) [1], 0 to 2

    Two guards keep extreme animals finite: a wall at full distension, and a residual volume below which
    the lung stiffens. Source: closed form of summed exponential layers, own derivation.

    >>> round(transpulmonary_pressure_cmh2o(6.0, 25.0, 30.0, 35.0, 0.0), 3)
    15.987
    """
    if law >= 1.5:
        return 0.0
    room_l = max(open_capacity_l - volume_l, OVERDISTENSION_FRACTION * open_capacity_l)
    if law < 0.5:
        pressure = -recoil_pressure_cmh2o * math.log(room_l / recoil_scale_l)
    else:
        filled = (open_capacity_l - room_l) / open_capacity_l
        rest = max(1.0 - recoil_scale_l / open_capacity_l, -0.8)
        pressure = recoil_pressure_cmh2o * (filled / (1.0 - filled) - rest / (1.0 - rest))
    residual_l = RESIDUAL_FRACTION * open_capacity_l
    if volume_l < residual_l:
        pressure -= (residual_l - volume_l) * RESIDUAL_STIFFNESS_CMH2O / open_capacity_l
    return pressure


@formula
def pressure_nearby_cmh2o(
    added_l: float, volume_l: float, pressure_cmh2o: float, elastance_cmh2o_l: float,
    open_capacity_l: float, recoil_scale_l: float, recoil_pressure_cmh2o: float, law: float,
) -> float:  # fmt: skip
    """Transpulmonary pressure a small step away from a volume where it is known [cmH2O].

    added_l: the step [L]
    volume_l: volume before it [L], 0 to open_capacity_l
    pressure_cmh2o: transpulmonary pressure there [cmH2O]
    elastance_cmh2o_l: its slope there [cmH2O/L], above 0
    open_capacity_l: capacity times mean open fraction [L], above 0
    recoil_scale_l: v*b*S of the closed form [L], above 0
    recoil_pressure_cmh2o: curvature h [cmH2O], 20 to 60
    law: 0 exponential, 1 hyperbolic, 2 none [1], 0 to 2

    Source: the logarithm as a series to the fourth order, where that is exact to a millionth; else the curve.

    >>> round(pressure_nearby_cmh2o(0.1, 6.0, 15.9873, 1.8421, 25.0, 30.0, 35.0, 0.0), 3)
    16.172
    """
    share = added_l * elastance_cmh2o_l / recoil_pressure_cmh2o
    lowest = min(volume_l, volume_l + added_l)
    if law < 0.5 and abs(share) < NEAR_SHARE and lowest > RESIDUAL_FRACTION * open_capacity_l:
        series = 1.0 + share * (0.5 + share * (1.0 / 3.0 + share * 0.25))
        return pressure_cmh2o + added_l * elastance_cmh2o_l * series
    return transpulmonary_pressure_cmh2o(
        volume_l + added_l, open_capacity_l, recoil_scale_l, recoil_pressure_cmh2o, law
    )


@formula
def lung_elastance_cmh2o_l(
    volume_l: float, open_capacity_l: float, recoil_pressure_cmh2o: float, law: float
) -> float:
    """Slope of the transpulmonary pressure over volume [cmH2O/L].

    volume_l: gas volume of the ventilated lung [L], 0 to open_capacity_l
    open_capacity_l: capacity times mean open fraction [L], above 0
    recoil_pressure_cmh2o: curvature h [cmH2O], 20 to 60
    law: 0 exponential, 1 hyperbolic, 2 none [1], 0 to 2

    Source: derivative of `transpulmonary_pressure_cmh2o`.

    >>> round(lung_elastance_cmh2o_l(6.0, 25.0, 35.0, 0.0), 4)
    1.8421
    """
    if law >= 1.5:
        return 0.0
    room_l = max(open_capacity_l - volume_l, OVERDISTENSION_FRACTION * open_capacity_l)
    elastance = recoil_pressure_cmh2o / room_l
    if law >= 0.5:
        elastance *= open_capacity_l / room_l
    if volume_l < RESIDUAL_FRACTION * open_capacity_l:
        elastance += RESIDUAL_STIFFNESS_CMH2O / open_capacity_l
    return elastance


@formula
def open_fraction_rate_per_s(
    local_pressure_cmh2o: float,
    opening_pressure_cmh2o: float,
    closing_pressure_cmh2o: float,
    opening_rate_per_s_cmh2o: float,
    closing_rate_per_s_cmh2o: float,
    open_fraction: float,
    law: float,
) -> float:
    """Rate at which a layer opens (positive) or closes (negative) [1/s].

    local_pressure_cmh2o: transpulmonary less superimposed pressure of the layer [cmH2O]
    opening_pressure_cmh2o: above it closed units open [cmH2O]
    closing_pressure_cmh2o: below it open units close [cmH2O]
    opening_rate_per_s_cmh2o: speed of opening per excess pressure [1/s/cmH2O]
    closing_rate_per_s_cmh2o: speed of closing per missing pressure [1/s/cmH2O]
    open_fraction: open share of the layer [1], 0 to 1
    law: 0 speed follows the excess pressure, 1 speed is fixed [1], 0 or 1

    Source: first-order opening and closing about two thresholds; the constants are fitted (see evidence).

    >>> round(open_fraction_rate_per_s(10.0, 5.0, -4.0, 0.002, 0.02, 0.5, 0.0), 6)
    0.005
    """
    opening = max(local_pressure_cmh2o - opening_pressure_cmh2o, 0.0)
    closing = max(closing_pressure_cmh2o - local_pressure_cmh2o, 0.0)
    if law >= 0.5:
        opening = min(opening * 1e3, FIXED_RATE_EXCESS_CMH2O)
        closing = min(closing * 1e3, FIXED_RATE_EXCESS_CMH2O)
    return (
        opening_rate_per_s_cmh2o * opening * (1.0 - open_fraction)
        - closing_rate_per_s_cmh2o * closing * open_fraction
    )
