"""Sockets of open pages. A page is told how far its case has come, and asks for what it lacks."""

import asyncio
import contextlib
import json
import time
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any, TypeAlias
from urllib.parse import urlsplit

from starlette.websockets import WebSocket, WebSocketDisconnect

from lungeline.errors import UnknownNameError
from lungeline.theatre import CaseNow
from lungeline.web.entrance.gate import may_follow, may_rehearse
from lungeline.web.followers import OVER
from lungeline.web.hub import Message
from lungeline.web.live import feeds
from lungeline.web.rehearsals import Role, rehearsals
from lungeline.web.running import running

_BEAT_S = 1.0  # a page that hears nothing for three of these says that the connection is lost
_ASK_S = 5.0  # whether it may still listen
May: TypeAlias = Callable[[Mapping[str, str], str], bool]
_REFUSED, _NO_FEED = 4403, 4404  # closing codes from 4000 are the application's own (RFC 6455, 7.4.2)


async def case_socket(socket: WebSocket) -> None:
    """Follow one case for as long as the page is open and the person may see it."""
    case = socket.path_params["case"]
    may = partial(may_follow, case=case)
    if await _let_in(socket, may):
        async with running().hub.following(case) as queue:
            await _pass_on(socket, may, queue)


async def live_socket(socket: WebSocket) -> None:
    """Hand on what is measured live in a case, where anything is."""
    case = socket.path_params["case"]
    may = partial(may_follow, case=case)
    if not await _let_in(socket, may):
        return
    if not await asyncio.to_thread(_has_feed, case):
        await socket.close(_NO_FEED)
        return
    async with feeds().of(case, _read).following() as queue:
        await _pass_on(socket, may, queue)


async def rehearsal_socket(socket: WebSocket) -> None:
    """Follow a rehearsal, as a learner or as its trainer."""
    role: Role = "trainer" if socket.path_params["role"] == "trainer" else "learner"
    may = partial(may_rehearse, teaching=role == "trainer")
    if not await _let_in(socket, may):
        return
    try:
        followers = rehearsals().find(socket.path_params["rehearsal"]).followers[role]
    except UnknownNameError:
        await socket.close(_NO_FEED)
        return
    async with followers.following() as queue:
        await _pass_on(socket, may, queue)


async def _let_in(socket: WebSocket, may: May) -> bool:
    if not _same_origin(socket) or not await _asked(socket, may):
        await socket.close(_REFUSED)
        return False
    await socket.accept()
    return True


async def _pass_on(socket: WebSocket, may: May, queue: "asyncio.Queue[Any]") -> None:
    """Hand on what comes into a queue until the page leaves, or the person may no longer see it."""
    gone = asyncio.create_task(_left(socket))
    look_at = time.monotonic() + _ASK_S
    try:
        while (message := await _next(queue, gone)) is not None:
            if time.monotonic() >= look_at:
                if not await _asked(socket, may):
                    await socket.close(_REFUSED)
                    return
                look_at = time.monotonic() + _ASK_S
            if message == OVER:
                await socket.close()
                return
            await socket.send_text(message if isinstance(message, str) else json.dumps(message))
    except (WebSocketDisconnect, RuntimeError):  # it left while it was told something
        return
    finally:
        gone.cancel()


def _read(case: str) -> CaseNow:
    """Return a case as it now is, and let go of the thread's connection to the database."""
    store = running().cases.find(case)
    try:
        return running().cases.read(case)
    finally:
        store.close()


def _has_feed(case: str) -> bool:
    return feeds().may_have(_read(case))


async def _asked(socket: WebSocket, may: May) -> bool:
    """Ask again now and then: a session may have ended, a device may have been retired."""
    address = socket.client.host if socket.client else ""
    return await asyncio.to_thread(may, dict(socket.cookies), address)


async def _next(queue: "asyncio.Queue[Any]", gone: asyncio.Task[None]) -> Message | str | None:
    """Return the next message, a beat where there is none for long, None once the page has left."""
    waiting = asyncio.create_task(queue.get())
    await asyncio.wait({waiting, gone}, timeout=_BEAT_S, return_when=asyncio.FIRST_COMPLETED)
    if waiting.done():
        found: Message | str = waiting.result()
        return found
    waiting.cancel()
    return None if gone.done() else {"type": "beat"}


async def _left(socket: WebSocket) -> None:
    """Return once the page has left; until then it has nothing to say."""
    with contextlib.suppress(WebSocketDisconnect, RuntimeError):
        while True:
            await socket.receive_text()


def _same_origin(socket: WebSocket) -> bool:
    origin = socket.headers.get("origin")
    return origin is not None and urlsplit(origin).netloc == socket.headers.get("host", "")
