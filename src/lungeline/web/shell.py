"""The thin shell around the pages: files and sockets are served here, all else by Django."""

import asyncio
import contextlib
import threading
from collections.abc import AsyncIterator
from pathlib import Path

from django.core.asgi import get_asgi_application
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse
from starlette.routing import Mount, Route, WebSocketRoute
from starlette.staticfiles import StaticFiles

from lungeline.record.store.rows import CaseRows
from lungeline.web.rehearsals import rehearsals
from lungeline.web.running import running
from lungeline.web.sockets import case_socket, live_socket, rehearsal_socket

_HERE = Path(__file__).parent
_READY, _NOT_YET = 200, 503
_warm = threading.Event()


def application() -> Starlette:
    """Return the whole application; Django must be ready."""
    return Starlette(
        routes=[
            Route("/healthz", healthz),
            WebSocketRoute("/ws/case/{case}", case_socket),
            WebSocketRoute("/ws/live/{case}", live_socket),
            WebSocketRoute("/ws/rehearse/{rehearsal}/{role}", rehearsal_socket),
            Mount("/static/packed", StaticFiles(directory=_HERE / "packed")),
            Mount("/static", StaticFiles(directory=_HERE / "assets")),
            Mount("/", get_asgi_application()),
        ],
        lifespan=_lifespan,
    )


async def healthz(_request: Request) -> JSONResponse:
    """Answer whether the pages are ready: the simulated animal is compiled or was found in the cache."""
    ready = _warm.is_set()
    return JSONResponse({"ready": ready}, status_code=_READY if ready else _NOT_YET)


@contextlib.asynccontextmanager
async def _lifespan(_app: Starlette) -> AsyncIterator[None]:
    threading.Thread(target=_warm_up, name="warm up", daemon=True).start()
    rehearsals().loop = asyncio.get_running_loop()
    watching = asyncio.create_task(running().hub.watch(_count_of))
    try:
        yield
    finally:
        await asyncio.to_thread(rehearsals().end_all)
        watching.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await watching


def _warm_up() -> None:
    """Load the compiled animal before somebody waits for it."""
    from lungeline.case import Animal, Case
    from lungeline.simulate import simulate

    try:
        simulate(Case(title="warm-up", animal=Animal(species="horse", weight_kg=500.0)), minutes=1)
    finally:
        _warm.set()


def _count_of(case: str) -> int:
    """Return how many entries a case has, and let go of the thread's connection to the database."""
    store = running().cases.find(case)
    try:
        last = CaseRows(store.alias, case).last()
        return last.seq if last else 0
    finally:
        store.close()
