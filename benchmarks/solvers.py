"""General solvers of stiff equations, each made to advance the core equations through a phase of a breath."""

from collections.abc import Callable
from typing import Any, Protocol

import numpy as np
from core_case import BREATHS, CYCLE_S, INSPIRATION_S, Kernel, columns
from core_equations import derivatives, jacobian, room_left_l, stroke_left_l
from core_state import FROM_KERNEL, INSPIRED, PRESSURE, SIZE, Core, Vector, compiled
from scipy.integrate import ode, solve_ivp
from sksundae.cvode import CVODE

from lungeline.simulate.kernel import state as s
from lungeline.simulate.kernel.step import LONGEST_STROKE
from lungeline.simulate.models.ventilator import EXPIRATION, INSPIRATION

Root = Callable[[float, Vector, Core], float]  # falls through zero where a phase ends
MOST_STEPS = 100_000
SAME_TIME_S = 1e-9


class SolverFailedError(RuntimeError):
    """A solver gave up, as it may where its tolerance is too loose."""


class Solver(Protocol):
    """Takes a state from one time to another, or to the root."""

    def advance(self, start_s: float, end_s: float, y: Vector, root: Root | None) -> tuple[float, Vector]:
        """Return where it stopped, and the state there."""


MakeSolver = Callable[[Core, float, float], Solver]


def solve(make: MakeSolver, kernel: Kernel, relative: float, absolute: float) -> Vector:
    """Return the columns of every breath by a solver with these tolerances, one row a breath."""
    core = kernel.core()
    solver = make(core, relative, absolute)
    y = kernel.begin[FROM_KERNEL]
    compressed_l = kernel.begin[s.COMPRESSED]
    events = bool(core["compliance_compensated"][0])
    rows = []
    for _ in range(BREATHS):
        y[INSPIRED] = 0.0
        core["phase"], core["spills"] = INSPIRATION, 0.0
        core["stroke_flow_l_s"] = (core["tidal_volume_l"] + events * compressed_l) / INSPIRATION_S
        if events:
            time_s, y = solver.advance(0.0, LONGEST_STROKE * INSPIRATION_S, y, stroke_left_l)
        else:
            time_s, y = solver.advance(0.0, INSPIRATION_S, y, None)
        end_inspiration = y
        compressed_l = core["compliance_l_cmh2o"][0] * (y[PRESSURE] - core["peep_cmh2o"][0])
        core["phase"] = EXPIRATION
        time_s, y = solver.advance(time_s, CYCLE_S, y, room_left_l if events else None)
        if time_s < CYCLE_S - SAME_TIME_S:
            core["spills"] = 1.0
            _, y = solver.advance(time_s, CYCLE_S, y, None)
        rows.append(columns(end_inspiration, y, kernel.dry_mmhg))
    return np.array(rows)


@compiled
def _rates(time_s: float, y: Vector, core: Core) -> Vector:
    """Return the derivatives in a new array, as SciPy wants them."""
    dy = np.empty_like(y)
    derivatives(time_s, y, dy, core)
    return dy


@compiled
def _slopes(time_s: float, y: Vector, core: Core) -> Vector:
    """Return the Jacobian in a new array, as SciPy wants it."""
    matrix = np.empty((SIZE, SIZE))
    jacobian(time_s, y, _rates(time_s, y, core), matrix, core)
    return matrix


class SolveIvp:
    """LSODA by way of scipy.integrate.solve_ivp."""

    def __init__(
        self, core: Core, relative: float, absolute: float, *, compiled_jacobian: bool = False
    ) -> None:
        """Keep the options."""
        self._options: dict[str, Any] = {
            "method": "LSODA", "args": (core,), "rtol": relative, "atol": absolute,
            "jac": _slopes if compiled_jacobian else None,
        }  # fmt: skip

    def advance(self, start_s: float, end_s: float, y: Vector, root: Root | None) -> tuple[float, Vector]:
        """Return where it stopped, and the state there."""
        stop: dict[str, Any] = {"t_eval": (end_s,)} if root is None else {"events": _falling(root)}
        found = solve_ivp(_rates, (start_s, end_s), y, **self._options, **stop)
        if not found.success:
            raise SolverFailedError(found.message)
        return found.t[-1], found.y[:, -1].copy()


def _falling(root: Root) -> Callable[[float, Vector, Core], float]:
    """Return a root that ends the integration where it falls through zero."""

    def event(time_s: float, y: Vector, core: Core) -> float:
        return root(time_s, y, core)

    event.terminal = True  # type: ignore[attr-defined]  # this is how SciPy is told
    event.direction = -1.0  # type: ignore[attr-defined]  # the same
    return event


class Lsoda:
    """LSODA by way of scipy.integrate.ode: less work around it, but it finds no roots."""

    def __init__(
        self, core: Core, relative: float, absolute: float, *, compiled_jacobian: bool = False
    ) -> None:
        """Set the integrator up."""
        self._ode = ode(_rates, _slopes if compiled_jacobian else None).set_f_params(core)
        self._ode.set_jac_params(core)
        self._ode.set_integrator("lsoda", rtol=relative, atol=absolute, nsteps=MOST_STEPS)

    def advance(self, start_s: float, end_s: float, y: Vector, root: Root | None) -> tuple[float, Vector]:
        """Return where it stopped, and the state there."""
        if root is not None:
            message = "this interface finds no roots"
            raise SolverFailedError(message)
        self._ode.set_initial_value(y, start_s)
        reached = self._ode.integrate(end_s).copy()
        if not self._ode.successful():
            message = "LSODA stopped early"
            raise SolverFailedError(message)
        return end_s, reached


class Cvode:
    """CVODE (BDF, dense) by way of scikit-sundae."""

    def __init__(
        self, core: Core, relative: float, absolute: float, *, compiled_jacobian: bool = False
    ) -> None:
        """Set one integrator up for every kind of ending."""
        options: dict[str, Any] = {
            "userdata": core, "rtol": relative, "atol": absolute, "max_num_steps": MOST_STEPS,
            "jacfn": jacobian if compiled_jacobian else None,
        }  # fmt: skip
        self._integrators: dict[Root | None, Any] = {None: CVODE(derivatives, **options)}
        for root in (stroke_left_l, room_left_l):
            self._integrators[root] = CVODE(derivatives, eventsfn=_filling(root), num_events=1, **options)

    def advance(self, start_s: float, end_s: float, y: Vector, root: Root | None) -> tuple[float, Vector]:
        """Return where it stopped, and the state there."""
        integrator = self._integrators[root]
        integrator.init_step(start_s, y)
        found = integrator.step(end_s, tstop=end_s)
        if not found.success:
            raise SolverFailedError(found.message)
        return found.t, found.y


def _filling(root: Root) -> Callable[[float, Vector, Vector, Core], None]:
    """Return a root as scikit-sundae wants it, ending the integration where it falls through zero."""

    def event(time_s: float, y: Vector, values: Vector, core: Core) -> None:
        values[0] = root(time_s, y, core)

    event.terminal = [True]  # type: ignore[attr-defined]  # this is how the library is told
    event.direction = [-1]  # type: ignore[attr-defined]  # the same
    return event
