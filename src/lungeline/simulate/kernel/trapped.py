"""Lung that is lost to ventilation, and regained: its gas is put aside, not destroyed."""

from typing import Any

from lungeline.simulate.kernel import state as s

LEAST_FRACTION = 0.05


def set_ventilated_fraction(y: Any, fraction: float) -> None:
    """Move gas between the ventilated lung and the trapped store so that `fraction` of the lung is left.

    fraction: ventilated share of the lung, 0.05 to 1. The state remembers its own share.
    """
    fraction = max(fraction, LEAST_FRACTION)
    before = y[s.FILLED] if y[s.FILLED] > 0.0 else 1.0
    if abs(fraction - before) < 1e-12:
        return
    dead_l = y[s.VOLUME_FAST] + y[s.VOLUME_SLOW] - y[s.ALVEOLAR_FAST_VOLUME] - y[s.ALVEOLAR_SLOW_VOLUME]
    volumes = {s.FAST: y[s.ALVEOLAR_FAST_VOLUME], s.SLOW: y[s.ALVEOLAR_SLOW_VOLUME], s.DEAD: dead_l}
    trapped = y[s.TRAPPED : s.TRAPPED + s.SPECIES]
    if fraction < before:
        lost = 1.0 - fraction / before
        for cell, volume in volumes.items():
            first = s.GAS + cell * s.SPECIES
            trapped += lost * volume * y[first : first + s.SPECIES]
        keep = 1.0 - lost
        y[s.TRAPPED_VOLUME] += lost * (y[s.VOLUME_FAST] + y[s.VOLUME_SLOW])
        for name in (s.VOLUME_FAST, s.VOLUME_SLOW, s.ALVEOLAR_FAST_VOLUME, s.ALVEOLAR_SLOW_VOLUME):
            y[name] *= keep
    else:
        share = (fraction - before) / max(1.0 - before, 1e-9)
        volume = share * y[s.TRAPPED_VOLUME]
        lung = y[s.VOLUME_FAST] + y[s.VOLUME_SLOW]
        for name, cell in ((s.ALVEOLAR_FAST_VOLUME, s.FAST), (s.ALVEOLAR_SLOW_VOLUME, s.SLOW)):
            part = volume * y[name] / max(lung, 1e-9)
            _give_back(y, cell, y[name], part, trapped, y[s.TRAPPED_VOLUME])
            y[name] += part
        part = volume * dead_l / max(lung, 1e-9)
        _give_back(y, s.DEAD, dead_l, part, trapped, y[s.TRAPPED_VOLUME])
        grown = 1.0 + volume / max(lung, 1e-9)
        y[s.VOLUME_FAST] *= grown
        y[s.VOLUME_SLOW] *= grown
        trapped *= 1.0 - share
        y[s.TRAPPED_VOLUME] -= volume
    y[s.FILLED] = fraction


def _give_back(y: Any, cell: int, volume: float, part: float, trapped: Any, trapped_volume: float) -> None:
    if part <= 0.0 or trapped_volume <= 0.0:
        return
    first = s.GAS + cell * s.SPECIES
    amounts = y[first : first + s.SPECIES] * volume + trapped * (part / trapped_volume)
    y[first : first + s.SPECIES] = amounts / (volume + part)
