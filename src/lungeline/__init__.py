"""Plan, rehearse, explain and record the ventilation of an anaesthetised large animal.

The names below are loaded when first used, so that `import lungeline` stays quick. A run is made by
`from lungeline.simulate import simulate`; `lungeline.simulate` itself is the package.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lungeline.case import Animal, Case, Change, Equipment, FaultEvent, Settings, load_case
    from lungeline.errors import LungelineError
    from lungeline.figure import Figure

    __version__: str

_HOMES = {
    "Animal": "lungeline.case",
    "Case": "lungeline.case",
    "Change": "lungeline.case",
    "Equipment": "lungeline.case",
    "FaultEvent": "lungeline.case",
    "Figure": "lungeline.figure",
    "LungelineError": "lungeline.errors",
    "Settings": "lungeline.case",
    "load_case": "lungeline.case",
}
_PACKAGES = ("case", "evidence", "listen", "physics", "physiology", "record", "reference", "simulate")

__all__ = [
    "Animal",
    "Case",
    "Change",
    "Equipment",
    "FaultEvent",
    "Figure",
    "LungelineError",
    "Settings",
    "__version__",
    "load_case",
]


def __getattr__(name: str) -> Any:  # noqa: ANN401  a class, a function, a package or the version
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    if name in _PACKAGES:
        return import_module(f"lungeline.{name}")
    if name == "__version__":
        from importlib.metadata import version

        return version("lungeline")
    message = f"module 'lungeline' has no attribute {name!r}"
    raise AttributeError(message)


def __dir__() -> list[str]:
    return sorted({*globals(), *_HOMES, *_PACKAGES, "__version__"})
