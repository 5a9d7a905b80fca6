"""Live news: every change has a number; a page is told all after the last one it saw, over one WebSocket."""

import asyncio
import contextlib
import json

from fastapi import APIRouter, WebSocket, WebSocketDisconnect
from starlette.concurrency import run_in_threadpool

from whirlbench.actions import news, sign_in
from whirlbench.errors import WhirlbenchError
from whirlbench.web import people
from whirlbench.web.presence import Presence

router = APIRouter()
_LOOK_EVERY = 1.0  # [s] between two looks for changes of other programs
_SLOW = 5.0  # [s] after which a socket that takes nothing is dropped
_MOST_SOCKETS, _MOST_MISSED = 400, 200


class Hub:
    """The sockets of the room, and the one watcher that tells them."""

    def __init__(self, store):
        self.store, self.presence, self._sockets = store, Presence(), {}
        self._nudged, self._loop, self._watcher, self._n = asyncio.Event(), None, None, 0

    async def open(self):
        """Begin to watch."""
        self._loop = asyncio.get_running_loop()
        self._n = await run_in_threadpool(news.last, self.store)
        self._watcher = asyncio.create_task(self._watch())

    async def close(self):
        """Stop watching and let every socket go."""
        self._watcher.cancel()
        for socket in list(self._sockets):
            with contextlib.suppress(RuntimeError, OSError):
                await socket.close(1012)

    def nudge(self):
        """Say from any thread that something was written."""
        if self._loop and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._nudged.set)

    def tell_job(self, job):
        """Say from any thread how a job stands; such news has no number, for the page can ask."""
        if self._loop and not self._loop.is_closed():
            words = {"job": job.id, "stage": job.stage, "share": job.share, "done": job.done}
            self._loop.call_soon_threadsafe(lambda: asyncio.ensure_future(self._send_to(job.team, words)))

    async def join(self, socket, person, after):
        """Serve one socket until it goes."""
        if len(self._sockets) >= _MOST_SOCKETS:
            return await socket.close(1013)
        await socket.accept()
        missed = await run_in_threadpool(news.after, self.store, after, limit=_MOST_MISSED) if after >= 0 else ()
        self._sockets[socket] = person
        self.presence.comes(person)
        await self._tell_coach(person)
        try:
            await self._say(socket, {"hello": self._n, "whole": len(missed) < _MOST_MISSED})
            for line in missed:
                if _concerns(line.team_id, person):
                    await self._say(socket, line.model_dump())
            while True:
                await socket.receive_text()  # a browser says nothing; this waits for it to go
        except (WebSocketDisconnect, RuntimeError, OSError):
            pass
        finally:
            self._sockets.pop(socket, None)
            self.presence.goes(person)
            await self._tell_coach(person)

    async def _watch(self):
        while True:
            with contextlib.suppress(asyncio.TimeoutError):
                await asyncio.wait_for(self._nudged.wait(), _LOOK_EVERY)
            self._nudged.clear()
            if not self._sockets:
                with contextlib.suppress(WhirlbenchError):
                    self._n = await run_in_threadpool(news.last, self.store)
                continue
            with contextlib.suppress(WhirlbenchError):  # a database that does not answer now may do so later
                for line in await run_in_threadpool(news.after, self.store, self._n):
                    self._n = line.n
                    await self._send_to(line.team_id, line.model_dump())

    async def _send_to(self, team, words):
        await asyncio.gather(
            *(self._say(one, words) for one, person in list(self._sockets.items()) if _concerns(team, person))
        )

    async def _tell_coach(self, person):
        """Say that somebody of a team came or went; such news has no number, for it is in no store."""
        coaches = [one for one, other in list(self._sockets.items()) if other.coach]
        if not person.coach:
            await asyncio.gather(*(self._say(one, {"here": person.team_id}) for one in coaches))

    async def _say(self, socket, words):
        try:
            await asyncio.wait_for(socket.send_text(json.dumps(words)), _SLOW)
        except (TimeoutError, RuntimeError, OSError, WebSocketDisconnect):
            self._sockets.pop(socket, None)


@router.websocket("/live")
async def live(socket: WebSocket, after: int = -1):
    """Tell a signed-in browser what changes."""
    secret = socket.cookies.get(people.COOKIE, "")
    person = await run_in_threadpool(sign_in.who, socket.app.state.store, secret) if secret else None
    if person is None:
        return await socket.close(1008)
    return await socket.app.state.hub.join(socket, person, after)


def _concerns(team, person):
    return team is None or person.coach or person.team_id == team
