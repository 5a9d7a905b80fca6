"""What every request passes first: known host, own origin, bounded size and pace; and the headers of every answer."""

import time
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse

POLICY = "; ".join(
    (
        "default-src 'self'",
        "img-src 'self' data: blob:",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "x-frame-options": "DENY",
    "cross-origin-opener-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}
_SAFE = ("GET", "HEAD", "OPTIONS")
_USUAL_BYTES, _MB = 1 << 20, 1 << 20
_LARGER = {"sound": 64 * _MB, "photos": 16 * _MB, "bundle": 512 * _MB, "restore": 1024 * _MB, "import": 16 * _MB}
_SAVED_UP, _MOST_WATCHED = 8.0, 4000  # [s] of requests saved up at most, callers


class Guard:
    """ASGI middleware around the whole application."""

    def __init__(self, app, *, hosts, pace):
        self.app, self.hosts, self.pace = app, hosts, Pace(pace)

    async def __call__(self, scope, receive, send):
        """Answer a request that may not pass; let the others through with a counted body."""
        if scope["type"] not in ("http", "websocket"):
            return await self.app(scope, receive, send)
        headers = Headers(scope=scope)
        refusal = self._refusal(scope, headers)
        if scope["type"] == "websocket":
            if refusal:
                await receive()
                return await send({"type": "websocket.close", "code": 1008})
            return await self.app(scope, receive, send)
        passing = _with_headers(send)
        if refusal:
            status, words = refusal
            more = {"retry-after": "2"} if status == 429 else None
            return await PlainTextResponse(words, status, headers=more)(scope, receive, passing)
        return await self._counted(scope, receive, passing, headers)

    def _refusal(self, scope, headers):
        host = _name(headers.get("host", ""))
        if host not in self.hosts:
            return 421, "This room does not answer to that name. Type the address that the coach shows.\n"
        changes = scope["type"] == "websocket" or scope["method"] not in _SAFE
        if changes and "authorization" not in headers and not _same_origin(headers):
            return 403, "This request came from another page.\n"
        caller = headers.get("cookie") or headers.get("authorization") or (scope.get("client") or ("",))[0]
        if not self.pace.lets(hash(caller)):
            return 429, "Too many requests. Wait two seconds.\n"
        return None

    async def _counted(self, scope, receive, send, headers):
        most, seen, begun = _most_bytes(scope["path"]), 0, False
        said = headers.get("content-length", "0")
        too_large = PlainTextResponse(f"That is too large: at most {most // _MB} MB.\n", 413)
        if not said.isdigit() or int(said) > most:
            return await too_large(scope, receive, send)

        async def counting():
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > most:
                raise _TooLarge
            return message

        async def noting(message):
            nonlocal begun
            begun = True
            await send(message)

        try:
            return await self.app(scope, counting, noting)
        except _TooLarge:
            if not begun:
                return await too_large(scope, receive, send)
            raise


class Pace:
    """Lets a caller ask so often a second on average, and some more at once."""

    def __init__(self, often, *, clock=time.monotonic):
        self.often, self.most, self.clock, self._saved = often, often * _SAVED_UP, clock, {}

    def lets(self, caller):
        """Whether the caller may ask now."""
        now = self.clock()
        saved, then = self._saved.pop(caller, (self.most, now))
        saved = min(self.most, saved + self.often * max(0.0, now - then))
        self._saved[caller] = (saved - 1 if saved >= 1 else saved), now
        if len(self._saved) > _MOST_WATCHED:
            self._saved.pop(next(iter(self._saved)))
        return saved >= 1


class _TooLarge(Exception):
    """A body that goes on beyond its bounds."""


def _most_bytes(path):
    return max(_LARGER.get(piece, _USUAL_BYTES) for piece in path.split("/") or [""])


def _name(host):
    """Host without its port."""
    if host.startswith("["):
        return host[1:].partition("]")[0].lower()
    return host.partition(":")[0].lower()


def _same_origin(headers):
    origin = headers.get("origin")
    if origin is None or origin == "null":
        return False
    return urlsplit(origin).netloc.lower() == headers.get("host", "").lower()


def _with_headers(send):
    async def sending(message):
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            if "cache-control" not in headers:
                headers["cache-control"] = "no-store"
        await send(message)

    return sending
