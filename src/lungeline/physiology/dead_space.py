"""Dead space: the part of each breath that takes no carbon dioxide away, and the gap it makes."""

import math

from lungeline.compiled import formula


@formula
def dead_space_bohr1891_fraction(alveolar_pco2_mmhg: float, mixed_expired_pco2_mmhg: float) -> float:
    """Physiological dead space over tidal volume from mean alveolar gas [1].

    alveolar_pco2_mmhg: mean alveolar CO2 pressure [mmHg], 5 to 250; not a number at or below 0
    mixed_expired_pco2_mmhg: CO2 pressure of all expired gas mixed [mmHg], 0 to 250

    Two CO2 fractions of dry gas in place of the two pressures give the same.
    Source: Bohr 1891, as told by Tusman et al., Anesth Analg 2012;114:866 (abstract).

    >>> dead_space_bohr1891_fraction(40.0, 30.0)
    0.25
    """
    if alveolar_pco2_mmhg <= 0.0:
        return math.nan
    return (alveolar_pco2_mmhg - mixed_expired_pco2_mmhg) / alveolar_pco2_mmhg


@formula
def dead_space_enghoff1938_fraction(paco2_mmhg: float, mixed_expired_pco2_mmhg: float) -> float:
    """Physiological dead space over tidal volume from arterial blood; contains the effect of shunt [1].

    paco2_mmhg: arterial CO2 pressure [mmHg], 5 to 250; not a number at or below 0
    mixed_expired_pco2_mmhg: CO2 pressure of all expired gas mixed [mmHg], 0 to 250

    Source: Enghoff 1938, as told by Tusman et al., Anesth Analg 2012;114:866 (abstract).

    >>> round(dead_space_enghoff1938_fraction(40.0, 27.0), 3)
    0.325
    """
    if paco2_mmhg <= 0.0:
        return math.nan
    return (paco2_mmhg - mixed_expired_pco2_mmhg) / paco2_mmhg


@formula
def alveolar_dead_space_fraction(paco2_mmhg: float, etco2_mmhg: float) -> float:
    """Alveolar dead space over alveolar tidal volume, from the arterial to end-tidal gap [1].

    paco2_mmhg: arterial CO2 pressure [mmHg], 5 to 250; not a number at or below 0
    etco2_mmhg: end-tidal CO2 pressure [mmHg], 0 to 250

    Source: form used by Mosing et al., Front Vet Sci 2018;5:58 (second-hand).

    >>> alveolar_dead_space_fraction(50.0, 38.0)
    0.24
    """
    if paco2_mmhg <= 0.0:
        return math.nan
    return (paco2_mmhg - etco2_mmhg) / paco2_mmhg


@formula
def physiological_dead_space_fraction(
    tidal_volume_l: float, airway_dead_space_l: float, alveolar_dead_space_fraction: float
) -> float:
    """Dead space of airways and alveoli together, over tidal volume [1].

    tidal_volume_l: tidal volume at the mouth of the tube [L], 0.2 to 20; not a number at or below 0
    airway_dead_space_l: airways, tube and connector [L], 0 to 5; a breath no larger is all dead space
    alveolar_dead_space_fraction: of what reaches the alveoli [1], 0 to 1

    Source: definition (closed form).

    >>> round(physiological_dead_space_fraction(6.5, 1.5, 0.25), 4)
    0.4231
    """
    if tidal_volume_l <= 0.0:
        return math.nan
    reaching_l = max(tidal_volume_l - airway_dead_space_l, 0.0)
    return 1.0 - reaching_l * (1.0 - alveolar_dead_space_fraction) / tidal_volume_l


@formula
def dead_space_l(tidal_volume_l: float, dead_space_fraction: float) -> float:
    """Volume of the dead space [L].

    tidal_volume_l: tidal volume [L], 0.2 to 20
    dead_space_fraction: dead space over tidal volume [1], 0 to 1

    Source: definition.

    >>> dead_space_l(0.5, 0.325)
    0.1625
    """
    return tidal_volume_l * dead_space_fraction


@formula
def alveolar_ventilation_l_min(
    tidal_volume_l: float, dead_space_l: float, respiratory_rate_per_min: float
) -> float:
    """Alveolar ventilation [L/min].

    tidal_volume_l: tidal volume [L], 0.2 to 20
    dead_space_l: dead space of one breath [L], 0 to 5; a breath no larger ventilates nothing
    respiratory_rate_per_min: rate [/min], 0 to 60

    Source: definition.

    >>> round(alveolar_ventilation_l_min(0.5, 0.15, 14.0), 6)
    4.9
    """
    return max(tidal_volume_l - dead_space_l, 0.0) * respiratory_rate_per_min


@formula
def paco2_from_etco2_mmhg(etco2_mmhg: float, gap_fraction: float) -> float:
    """Arterial CO2 pressure to expect at an end-tidal one, while the relative gap stays as it was [mmHg].

    etco2_mmhg: end-tidal CO2 pressure [mmHg], 5 to 200
    gap_fraction: (arterial - end-tidal)/arterial of the last sample [1], 0 to 0.6; infinite at 1 or above

    Source: definition of the gap turned round; 0.18 ± 0.03 in 406 horses, dorsal (abstract of that study).

    >>> round(paco2_from_etco2_mmhg(41.0, 0.18), 6)
    50.0
    """
    if gap_fraction >= 1.0:
        return math.inf
    return etco2_mmhg / (1.0 - gap_fraction)
