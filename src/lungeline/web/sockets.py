"""Sockets of open pages. A page is told how far its case has come, and asks for what it lacks."""

import asyncio
import contextlib
from urllib.parse import urlsplit

from starlette.websockets import WebSocket, WebSocketDisconnect

from lungeline.web.entrance.gate import may_follow
from lungeline.web.hub import Message
from lungeline.web.running import running

_BEAT_S = 5.0  # a page that hears nothing for longer says that the connection is lost
_REFUSED = 4403  # closing codes from 4000 are the application's own (RFC 6455, 7.4.2)


async def case_socket(socket: WebSocket) -> None:
    """Follow one case for as long as the page is open and the person may see it."""
    case = socket.path_params["case"]
    if not _same_origin(socket) or not await _may_follow(socket, case):
        await socket.close(_REFUSED)
        return
    await socket.accept()
    gone = asyncio.create_task(_left(socket))
    try:
        async with running().hub.following(case) as queue:
            while (message := await _next(queue, gone)) is not None:
                if message["type"] == "beat" and not await _may_follow(socket, case):
                    await socket.close(_REFUSED)
                    return
                await socket.send_json(message)
    except (WebSocketDisconnect, RuntimeError):  # it left while it was told something
        return
    finally:
        gone.cancel()


async def _may_follow(socket: WebSocket, case: str) -> bool:
    """Ask again at every beat: a session may have ended, a device may have been retired."""
    address = socket.client.host if socket.client else ""
    return await asyncio.to_thread(may_follow, dict(socket.cookies), address, case)


async def _next(queue: asyncio.Queue[Message], gone: asyncio.Task[None]) -> Message | None:
    """Return the next message, a beat where there is none for long, None once the page has left."""
    waiting = asyncio.create_task(queue.get())
    await asyncio.wait({waiting, gone}, timeout=_BEAT_S, return_when=asyncio.FIRST_COMPLETED)
    if waiting.done():
        return waiting.result()
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
