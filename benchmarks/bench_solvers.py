"""The kernel against general solvers of the same equations: how exact, and how much faster.

Ten minutes of one animal (75 breaths). The reference is CVODE with very narrow tolerances; an error is the
largest over all breaths. Each solver gets the loosest tolerances with which no column is worse than the
kernel's, so that all times are for one exactness.
"""

from dataclasses import dataclass
from functools import partial

import numpy as np
from core_case import COLUMNS, STEP_S, TICK_S, Kernel, as_used, nothing_to_find
from core_state import Vector
from cvode_direct import DirectCvode, available
from measuring import Result, least_processor_s, print_results, print_table
from solvers import Cvode, Lsoda, MakeSolver, SolveIvp, SolverFailedError, solve

from lungeline.case.case import Case
from lungeline.simulate.kernel import state as s

REFERENCE = (1e-9, 1e-11)
RELATIVE = (1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 3e-5, 1e-5, 3e-6, 1e-6, 3e-7, 1e-7)
ABSOLUTE_PER_RELATIVE = (1.0, 0.1, 0.01)
KERNEL_STEPS_S = ((0.001, 0.001), (0.005, TICK_S), (STEP_S, TICK_S), (0.02, TICK_S))
LSODA_TARGET, CVODE_TARGET = 100.0, 50.0
KERNEL_REPEATS = 20

SOLVERS: list[tuple[str, float, MakeSolver]] = [
    ("LSODA, SciPy solve_ivp", LSODA_TARGET, SolveIvp),
    ("LSODA, SciPy solve_ivp, compiled Jacobian", LSODA_TARGET, partial(SolveIvp, compiled_jacobian=True)),
    ("LSODA, SciPy ode", LSODA_TARGET, Lsoda),
    ("LSODA, SciPy ode, compiled Jacobian", LSODA_TARGET, partial(Lsoda, compiled_jacobian=True)),
    ("CVODE, scikit-sundae", CVODE_TARGET, Cvode),
    ("CVODE, scikit-sundae, compiled Jacobian", CVODE_TARGET, partial(Cvode, compiled_jacobian=True)),
]
if available():
    SOLVERS.append(("CVODE, no Python between", CVODE_TARGET, DirectCvode))


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """Tolerances with which a solver is as exact as the kernel: how long it takes then, and its errors."""

    time_s: float
    relative: float
    absolute: float
    errors: Vector


def candidate(make: MakeSolver, kernel: Kernel, reference: Vector, allowed: Vector) -> Candidate | None:
    """Return the fastest of the loosest tolerances that suffice, one for each way to choose the absolute."""
    found = []
    for ratio in ABSOLUTE_PER_RELATIVE:
        for relative in RELATIVE:
            try:
                errors = worst(solve(make, kernel, relative, ratio * relative), reference)
            except SolverFailedError:
                continue
            if (errors <= allowed).all():
                run = partial(solve, make, kernel, relative, ratio * relative)
                found.append(
                    Candidate(
                        time_s=least_processor_s(run),
                        relative=relative,
                        absolute=ratio * relative,
                        errors=errors,
                    )
                )
                break
    return min(found, key=lambda one: one.time_s, default=None)


def worst(table: Vector, reference: Vector) -> Vector:
    """Return the largest error of each column over all breaths."""
    errors: Vector = np.abs(table - reference).max(axis=0)
    return errors


def compare(case: Case) -> tuple[float, dict[str, float]]:
    """Print a case's tables; return the kernel's time, and by solver its time over the kernel's."""
    kernel = Kernel.settled(case)
    reference = solve(partial(Cvode, compiled_jacobian=True), kernel, *REFERENCE)
    before_s = least_processor_s(kernel.whole, KERNEL_REPEATS)
    _check_reservoir(kernel, case)
    rows: list[tuple[str, ...]] = [("largest error over all breaths", "time s", "times", *COLUMNS)]
    allowed = np.zeros(len(COLUMNS))
    for step_s, tick_s in KERNEL_STEPS_S:
        errors = worst(kernel.breaths(step_s, tick_s), reference)
        if (step_s, tick_s) == (STEP_S, TICK_S):
            allowed = errors
        rows.append((f"kernel, {step_s * 1e3:g} ms, tick {tick_s * 1e3:g} ms", "", "", *_digits(errors)))
    found = [(name, candidate(make, kernel, reference, allowed)) for name, _, make in SOLVERS]
    kernel_s = min(before_s, least_processor_s(kernel.whole, KERNEL_REPEATS))
    ratios = {}
    for name, one in found:
        if one is None:
            rows.append((f"{name}: cannot, or at no tolerance", "", "", *([""] * len(COLUMNS))))
        else:
            ratios[name] = one.time_s / kernel_s
            label = f"{name}, {one.relative:g}/{one.absolute:g}"
            rows.append((label, f"{one.time_s:.3f}", f"{ratios[name]:.0f}", *_digits(one.errors)))
    print_table(rows)
    return kernel_s, ratios


def _digits(errors: Vector) -> list[str]:
    return [f"{error:.1e}" for error in errors]


def _check_reservoir(kernel: Kernel, case: Case) -> None:
    """Hold a case to what the continuous equations assume of its reservoir."""
    state = kernel.begin.copy()
    kernel.run(state, 600.0)
    drawn_l = state[s.ENTRAINED] - kernel.begin[s.ENTRAINED]
    spilled_l = state[s.SPILLED] - kernel.begin[s.SPILLED]
    if drawn_l > 0.0 or (spilled_l > 0.0 and not case.equipment.compliance_compensated):
        message = f"the reservoir drew {drawn_l:.3g} L and spilled {spilled_l:.3g} L: no fair comparison"
        raise SystemExit(message)


def main() -> None:
    """Measure and print."""
    results = []
    for title, case in (("as in use", as_used()), ("nothing to find", nothing_to_find())):
        print(f"-- {title}: {case.title}")
        kernel_s, ratios = compare(case)
        print(f"The kernel took {kernel_s * 1e3:.1f} ms for these ten minutes.\n")
        results += [
            Result(item=f"{name}, {title}", target=target, measured=ratios[name], unit="times", at_least=True)
            for name, target, _ in SOLVERS
            if name in ratios
        ]
    print_results(results)


if __name__ == "__main__":
    main()
