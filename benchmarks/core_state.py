"""What a solver sees of the core structure: its numbers in one vector, its parameters in one record."""

from collections.abc import Callable
from typing import ParamSpec, TypeVar, cast

import numba
import numpy as np
import numpy.typing as npt

from lungeline.simulate.kernel import state as s
from lungeline.simulate.kernel.parameters import ANIMAL, CIRCUIT, VENTILATOR
from lungeline.simulate.models.lung_mechanics import LAYERS

P = ParamSpec("P")
R = TypeVar("R")
Vector = npt.NDArray[np.float64]
Core = npt.NDArray[np.void]  # of one record

# Where each number stands in the kernel's state, in the order it has here.
(
    PRESSURE, LUNG, ALVEOLAR, CIRCLE_VOLUME, TISSUE, VENOUS_O2, TISSUE_CO2, SLOW_CO2,
    BRAIN, MUSCLE, FAT, POOR, FILTERED, ABSORBED, INSPIRED, OPEN,
) = range(16)  # fmt: skip
_SCALARS = (
    s.PRESSURE, s.VOLUME_FAST, s.ALVEOLAR_FAST_VOLUME, s.CIRCLE_VOLUME, s.LUNG_TISSUE_FAST, s.VENOUS_O2,
    s.TISSUE_CO2, s.SLOW_CO2, s.AGENT_BRAIN, s.AGENT_MUSCLE, s.AGENT_FAT, s.AGENT_POOR, s.PRESSURE_FILTER,
    s.ABSORBED, s.A_INSPIRED,
)  # fmt: skip
GASES = 3  # oxygen, carbon dioxide, agent
_CELLS = (*range(s.FAST + 1), s.DEAD)
DEAD = s.FAST + 1  # without the slow compartment it follows at once
GAS = OPEN + LAYERS
FROM_KERNEL = np.array([
    *_SCALARS,
    *range(s.OPEN, s.OPEN + LAYERS),
    *(s.GAS + cell * s.SPECIES + gas for cell in _CELLS for gas in range(GASES)),
])  # fmt: skip
SIZE = len(FROM_KERNEL)

CORE = np.dtype(
    [(name, np.float64) for dtype in (ANIMAL, CIRCUIT, VENTILATOR) for name in dtype.names or ()]
    # what holds for a phase of the breath, and what need not be worked out anew
    + [(name, np.float64) for name in ("phase", "stroke_flow_l_s", "spills", "airway_cmh2o_s_l")]
    + [("weights", np.float64, (LAYERS,))]
)


def compiled(function: Callable[P, R]) -> Callable[P, R]:
    """Compile as the formulas are, but keep nothing: their cache does not know of this file."""
    dispatcher = numba.njit(function, error_model="numpy", fastmath={"contract", "nsz", "arcp"})
    return cast("Callable[P, R]", dispatcher)
