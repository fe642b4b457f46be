"""What this process serves: the cases of a data folder, and those who follow them. Set once, at the start."""

from dataclasses import dataclass, field
from pathlib import Path

from lungeline.errors import StoreError
from lungeline.theatre import Cases
from lungeline.web.backing_up import BackingUp
from lungeline.web.hub import Hub

# addresses of this computer for itself; of the others in 127.0.0.0/8, somebody may have made anything
THIS_COMPUTER = frozenset({"127.0.0.1", "::1", "localhost"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """The served data folder.

    demo_only: whether it holds demonstrations and no real case is ever shown or opened.
    open_to_network: whether other devices reach the pages, so that people must sign in.
    """

    folder: Path
    cases: Cases
    hub: Hub = field(default_factory=Hub)
    backing_up: BackingUp = field(init=False)
    demo_only: bool = False
    open_to_network: bool = False

    def __post_init__(self) -> None:
        """Know the copies of these cases."""
        object.__setattr__(self, "backing_up", BackingUp(self.cases))


_running: list[Running] = []


def begin(running: Running) -> None:
    """Serve this from now on."""
    _running[:] = [running]


def running() -> Running:
    """Return what is served."""
    if not _running:
        raise StoreError(
            where="pages", given="nothing served", allowed="a data folder", do="Start with lungeline serve."
        )
    return _running[0]
