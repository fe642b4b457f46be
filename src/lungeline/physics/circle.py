"""Gas fractions in a circle taken as one mixed volume: how fast they follow fresh gas, and where they end."""

import math

from lungeline.compiled import formula


@formula
def effective_volume_l(circle_volume_l: float, mixing_number: float, lung_volume_l: float) -> float:
    """Volume that fresh gas has to fill, as if it were mixed at once [L].

    circle_volume_l: gas of the circle with its bag [L], 3 to 100
    mixing_number: 1 for perfect mixing, 1.1 as measured [1], 0.5 to 2
    lung_volume_l: gas of the lung once connected, else 0 [L], 0 to 60

    Source: mixing factor from time constants in Bukoski, Vet Anaesth Analg 2012;39:185 (abstract).

    >>> round(effective_volume_l(49.26, 1.10, 0.0), 1)
    54.2
    """
    return mixing_number * circle_volume_l + lung_volume_l


@formula
def circle_time_constant_min(effective_volume_l: float, spill_flow_l_min: float) -> float:
    """Time in which a difference of fraction falls to 1/e [min].

    effective_volume_l: that fresh gas has to fill [L], 3 to 160
    spill_flow_l_min: gas that leaves; without an animal all fresh gas [L/min], 0 to 100; infinite at 0

    Source: first-order wash-in, one mixed volume (closed form).

    >>> round(circle_time_constant_min(49.26, 3.0), 2)
    16.42
    """
    if spill_flow_l_min <= 0.0:
        return math.inf
    return effective_volume_l / spill_flow_l_min


@formula
def half_time_min(time_constant_min: float) -> float:
    """Time in which a difference of fraction falls to a half [min].

    time_constant_min: in which it falls to 1/e [min], 0 to 1000

    Source: time constant times ln 2.

    >>> round(half_time_min(11.97), 2)
    8.3
    """
    return time_constant_min * math.log(2.0)


@formula
def wash_in_fraction(
    start_fraction: float, fresh_fraction: float, elapsed_min: float, time_constant_min: float
) -> float:
    """Fraction of a gas in the circle some time after the fresh gas was changed [1].

    start_fraction: when it was changed [1], 0 to 1
    fresh_fraction: that it tends to [1], 0 to 1
    elapsed_min: since then [min], 0 to 1000
    time_constant_min: of the circle [min], 0 to 1000; it is there at once at or below 0

    Source: first-order wash-in (closed form).

    >>> round(wash_in_fraction(0.21, 1.0, 10.0, 4.926), 3)
    0.896
    """
    if time_constant_min <= 0.0:
        return fresh_fraction
    return fresh_fraction + (start_fraction - fresh_fraction) * math.exp(-elapsed_min / time_constant_min)


@formula
def wash_in_time_min(
    start_fraction: float, fresh_fraction: float, target_fraction: float, time_constant_min: float
) -> float:
    """Time until a gas in the circle reaches a fraction [min].

    start_fraction: when the fresh gas was changed [1], 0 to 1
    fresh_fraction: that it tends to [1], 0 to 1
    target_fraction: to be reached [1], 0 to 1; infinite where it lies at or beyond the fresh fraction
    time_constant_min: of the circle [min], 0 to 1000

    Source: `wash_in_fraction`, solved (closed form).

    >>> round(wash_in_time_min(0.21, 1.0, 0.90, 36.3 / 5.0), 1)
    15.0
    """
    missing_then = target_fraction - fresh_fraction
    missing_now = start_fraction - fresh_fraction
    if missing_now == missing_then:
        return 0.0
    if missing_then * missing_now <= 0.0:
        return math.inf
    # already past the target: a larger difference cannot come back
    return max(time_constant_min * math.log(missing_now / missing_then), 0.0)


@formula
def mixed_fraction(
    circle_volume_l: float, circle_fraction: float, lung_volume_l: float, lung_fraction: float
) -> float:
    """Fraction of a gas once circle and lung have been joined and mixed [1].

    circle_volume_l: effective gas of the circle [L], 0 to 120
    circle_fraction: in the circle before [1], 0 to 1
    lung_volume_l: gas of the lung [L], 0 to 60; no number where both volumes are 0
    lung_fraction: in the lung before [1], 0 to 1

    Source: mass balance (closed form).

    >>> round(mixed_fraction(36.3, 0.0, 15.0, 0.75), 4)
    0.2193
    """
    both_l = circle_volume_l + lung_volume_l
    if both_l <= 0.0:
        return math.nan
    return (circle_volume_l * circle_fraction + lung_volume_l * lung_fraction) / both_l


@formula
def nitrogen_fraction(
    start_fraction: float,
    elapsed_min: float,
    effective_volume_l: float,
    fresh_gas_flow_l_min: float,
    oxygen_use_l_min: float,
) -> float:
    """Nitrogen left in circle and lung some time after oxygen was turned on [1].

    start_fraction: nitrogen at first [1], 0 to 0.8
    elapsed_min: since then [min], 0 to 1000
    effective_volume_l: circle and lung [L], 3 to 160
    fresh_gas_flow_l_min: oxygen without nitrogen [L/min], 0 to 100
    oxygen_use_l_min: by the animal, which does not carry nitrogen out [L/min], 0 to 10

    Source: first-order wash-out by what spills (closed form); nitrogen from the tissues is left out.

    >>> round(nitrogen_fraction(0.79, 10.0, 51.3, 6.25, 1.25), 3)
    0.298
    """
    spill_l_min = max(fresh_gas_flow_l_min - oxygen_use_l_min, 0.0)
    constant = circle_time_constant_min(effective_volume_l, spill_l_min)
    return wash_in_fraction(start_fraction, 0.0, elapsed_min, constant)


@formula
def denitrogenation_time_min(
    start_fraction: float,
    target_fraction: float,
    effective_volume_l: float,
    fresh_gas_flow_l_min: float,
    oxygen_use_l_min: float,
) -> float:
    """Time until nitrogen in circle and lung has fallen to a fraction [min].

    start_fraction: nitrogen at first [1], 0 to 0.8
    target_fraction: nitrogen to be reached [1], above 0 to 0.8; infinite at 0
    effective_volume_l: circle and lung [L], 3 to 160
    fresh_gas_flow_l_min: oxygen without nitrogen [L/min], 0 to 100; infinite at or below the oxygen used
    oxygen_use_l_min: by the animal, which does not carry nitrogen out [L/min], 0 to 10

    Source: `nitrogen_fraction`, solved (closed form).

    >>> round(denitrogenation_time_min(0.79, 0.10, 51.3, 5.0, 0.0))
    21
    """
    spill_l_min = max(fresh_gas_flow_l_min - oxygen_use_l_min, 0.0)
    constant = circle_time_constant_min(effective_volume_l, spill_l_min)
    return wash_in_time_min(start_fraction, 0.0, target_fraction, constant)


@formula
def steady_oxygen_fraction(
    fresh_gas_flow_l_min: float, fresh_gas_oxygen_fraction: float, oxygen_use_l_min: float
) -> float:
    """Oxygen that a circle ends at when its source holds other gas as well, such as a concentrator's [1].

    fresh_gas_flow_l_min: fresh gas [L/min], 0 to 100; no number at or below the oxygen used
    fresh_gas_oxygen_fraction: of the source [1], 0.21 to 1
    oxygen_use_l_min: by the animal [L/min], 0 to 10

    Source: mass balance of oxygen, all else spilled (closed form); 0 where the source gives too little.

    >>> round(steady_oxygen_fraction(3.0, 0.93, 1.25), 2)
    0.88
    """
    spill_l_min = fresh_gas_flow_l_min - oxygen_use_l_min
    if spill_l_min <= 0.0:
        return math.nan
    return max((fresh_gas_flow_l_min * fresh_gas_oxygen_fraction - oxygen_use_l_min) / spill_l_min, 0.0)


@formula
def closed_flow_l_min(oxygen_use_l_min: float, leak_l_min: float, sample_flow_l_min: float) -> float:
    """Least flow of oxygen that keeps a closed circle filled [L/min].

    oxygen_use_l_min: by the animal [L/min], 0 to 10
    leak_l_min: mean leak in use [L/min], 0 to 20
    sample_flow_l_min: taken by an analyser and not given back [L/min], 0 to 0.5

    Source: mass balance (closed form).

    >>> round(closed_flow_l_min(1.25, 0.1, 0.2), 2)
    1.55
    """
    return oxygen_use_l_min + leak_l_min + sample_flow_l_min
