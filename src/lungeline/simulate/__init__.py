"""What should happen: the animal on its circle, breath by breath.

`simulate` runs a case, `simulate_herd` many animals of it, `start` a case to act in while it runs.
They are imported when first asked for: they bring the compiler with them.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lungeline.simulate.herd import HerdRun as HerdRun
    from lungeline.simulate.herd import simulate_herd as simulate_herd
    from lungeline.simulate.live import LiveCase as LiveCase
    from lungeline.simulate.live import start as start
    from lungeline.simulate.run import Run as Run
    from lungeline.simulate.run import simulate as simulate

_HOMES = {
    "HerdRun": "herd",
    "LiveCase": "live",
    "Run": "run",
    "simulate": "run",
    "simulate_herd": "herd",
    "start": "live",
}


def __getattr__(name: str) -> Any:  # noqa: ANN401  any public name of this package
    """Import a public name from its home."""
    if name not in _HOMES:
        message = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(message)
    from importlib import import_module

    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
