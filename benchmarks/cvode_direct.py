"""CVODE without Python between it and the equations, from the libraries that scikit-sundae brings along.

That package calls back into Python for every evaluation. Here numba makes C functions of the same equations,
and SUNDIALS calls these: the fastest a solver from a library can be made.
"""

import ctypes
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, cast

import numba
import numpy as np
import sksundae
from core_equations import derivatives, room_left_l, stroke_left_l
from core_state import CORE, SIZE, Core, Vector
from numba.np.numpy_support import carray
from solvers import MOST_STEPS, Root, SolverFailedError

_BDF, _NORMAL = 2, 1  # constants of cvode.h
_SUCCESS, _AT_STOP_TIME, _AT_ROOT = 0, 1, 2
Address = Any  # of something in the library, or a type or function of ctypes or numba
_POINTER, _REAL, _INT = ctypes.c_void_p, ctypes.c_double, ctypes.c_int


@cache
def _library(name: str) -> ctypes.CDLL:
    """Load one of the libraries; raises FileNotFoundError where the package was built without them."""
    beside = Path(sksundae.__file__).parents[1] / "scikit_sundae.libs"
    found = sorted(beside.glob(f"libsundials_{name}-*.so*"))
    if not found:
        raise FileNotFoundError(beside / f"libsundials_{name}")
    return ctypes.CDLL(str(found[0]))


def _function(library: str, name: str, result: Address, *arguments: Address) -> Callable[..., Any]:
    """Return a function of a library, told what it takes and gives."""
    function: Any = getattr(_library(library), name)
    function.restype, function.argtypes = result, arguments
    return cast("Callable[..., Any]", function)


def _numbers_of() -> Callable[..., Any]:
    """Return what tells where the numbers of a vector stand; numba can call it as well."""
    return _function("nvecserial", "N_VGetArrayPointer", ctypes.POINTER(_REAL), _POINTER)


def available() -> bool:
    """Whether this installation of scikit-sundae brings its libraries along."""
    try:
        _library("cvode")
    except OSError:
        return False
    return True


@cache
def _callbacks() -> tuple[Address, dict[Root | None, Address]]:
    """Compile the equations and the two roots as functions SUNDIALS can call."""
    numbers_of = _numbers_of()
    void, real = numba.types.voidptr, numba.types.float64
    to_core = numba.types.CPointer(numba.from_dtype(CORE))  # type: ignore[no-untyped-call]  # numba's types have none
    to_real = numba.types.CPointer(real)  # type: ignore[no-untyped-call]  # the same

    @numba.cfunc(numba.types.int32(real, void, void, to_core))
    def rate(time_s: float, y: Address, dy: Address, core: Address) -> int:
        derivatives(time_s, carray(numbers_of(y), SIZE), carray(numbers_of(dy), SIZE), carray(core, 1))
        return 0

    def root_of(root: Root) -> Address:
        @numba.cfunc(numba.types.int32(real, void, to_real, to_core))
        def event(time_s: float, y: Address, values: Address, core: Address) -> int:
            values[0] = root(time_s, carray(numbers_of(y), SIZE), carray(core, 1))
            return 0

        return event

    return rate, {None: None, stroke_left_l: root_of(stroke_left_l), room_left_l: root_of(room_left_l)}


class DirectCvode:
    """CVODE (BDF, dense), its equations called without Python."""

    def __init__(self, core: Core, relative: float, absolute: float) -> None:
        """Set one integrator up for every kind of ending. All live as long as the process."""
        rate, roots = _callbacks()
        self._core = core
        self._stopped_s = _REAL()
        self._run = _function("cvode", "CVode", _INT, _POINTER, _REAL, _POINTER, ctypes.POINTER(_REAL), _INT)
        self._again = _function("cvode", "CVodeReInit", _INT, _POINTER, _REAL, _POINTER)
        self._stop = _function("cvode", "CVodeSetStopTime", _INT, _POINTER, _REAL)
        context = _POINTER()
        _function("core", "SUNContext_Create", _INT, _INT, _POINTER)(0, ctypes.byref(context))
        self._vector = _function("nvecserial", "N_VNew_Serial", _POINTER, _INT, _POINTER)(SIZE, context)
        self._numbers = np.ctypeslib.as_array(_numbers_of()(self._vector), (SIZE,))
        self._integrators = {
            root: self._integrator(context, rate, event, relative, absolute) for root, event in roots.items()
        }

    def _integrator(
        self, context: Address, rate: Address, root: Address, relative: float, absolute: float
    ) -> Address:
        create = _function("cvode", "CVodeCreate", _POINTER, _INT, _POINTER)
        memory = create(_BDF, context)
        _function("cvode", "CVodeSetUserData", _INT, _POINTER, _POINTER)(memory, self._core.ctypes.data)
        begin = _function("cvode", "CVodeInit", _INT, _POINTER, _POINTER, _REAL, _POINTER)
        begin(memory, rate.address, 0.0, self._vector)
        _function("cvode", "CVodeSStolerances", _INT, _POINTER, _REAL, _REAL)(memory, relative, absolute)
        _function("cvode", "CVodeSetMaxNumSteps", _INT, _POINTER, ctypes.c_long)(memory, MOST_STEPS)
        matrix = _function("sunmatrixdense", "SUNDenseMatrix", _POINTER, _INT, _INT, _POINTER)(
            SIZE, SIZE, context
        )
        dense = _function("sunlinsoldense", "SUNLinSol_Dense", _POINTER, _POINTER, _POINTER, _POINTER)
        attach = _function("cvode", "CVodeSetLinearSolver", _INT, _POINTER, _POINTER, _POINTER)
        attach(memory, dense(self._vector, matrix, context), matrix)
        if root is not None:
            _function("cvode", "CVodeRootInit", _INT, _POINTER, _INT, _POINTER)(memory, 1, root.address)
            falling = _INT(-1)
            direction = _function("cvode", "CVodeSetRootDirection", _INT, _POINTER, _POINTER)
            direction(memory, ctypes.byref(falling))
        return memory

    def advance(self, start_s: float, end_s: float, y: Vector, root: Root | None) -> tuple[float, Vector]:
        """Return where it stopped, and the state there."""
        memory = self._integrators[root]
        self._numbers[:] = y
        self._again(memory, start_s, self._vector)
        self._stop(memory, end_s)
        flag = self._run(memory, end_s, self._vector, ctypes.byref(self._stopped_s), _NORMAL)
        if flag not in {_SUCCESS, _AT_STOP_TIME, _AT_ROOT}:
            message = f"CVODE returned {flag}"
            raise SolverFailedError(message)
        return self._stopped_s.value, self._numbers.copy()
