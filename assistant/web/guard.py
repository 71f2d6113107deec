"""What stands before every page: who may ask, how much, how fast, and what every answer carries."""

import re
from collections.abc import Callable, Mapping
from typing import Any

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from assistant.web.serving import Serving

# Limits of one request and of one sender (our own judgement, no published line).
MOST_BYTES = 256 * 1024
LONGEST_ADDRESS = 2048
# Pages a second in the long run, and how many may come at once: from one browser, and from one address, behind
# which a whole gym may sit.
OF_A_BROWSER, OF_AN_ADDRESS = (20.0, 200.0), (400.0, 2000.0)
MOST_SENDERS = 4096

# Nothing but our own files, and nothing written into a page runs or styles.
POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    # With no referrer at all a form's Origin would be withheld, too.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
    "cache-control": "no-store",
}
_METHODS = {"GET", "HEAD", "POST"}
_PLAIN_HOST = re.compile(r"[A-Za-z0-9.:\[\]-]{1,255}")


class Guard:
    """Refuses foreign hosts, posts from other sites, and more than a person sends; adds the headers."""

    def __init__(self, app: ASGIApp, serving: Serving) -> None:
        """Stand before an application."""
        self._app, self._serving = app, serving
        self._browsers = Rate(serving.seconds, *OF_A_BROWSER)
        self._addresses = Rate(serving.seconds, *OF_AN_ADDRESS)
        # A year, once a browser has seen that everything here comes over TLS (RFC 6797).
        strict = {"strict-transport-security": "max-age=31536000"} if serving.is_secure else {}
        self._headers = {**HEADERS, **strict}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or pass it on."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return
        refused = self._refusal(scope)
        if refused is not None:
            await self._plain(send, *refused)
            return
        counted = _Counted(receive)
        sent = _WithHeaders(send, self._headers)
        try:
            await self._app(scope, counted, sent)
        except _TooLarge:
            if not sent.started:
                await self._plain(send, 413, f"Too much at once; at most {MOST_BYTES // 1024} kB.")

    def _refusal(self, scope: Scope) -> tuple[int, str] | None:
        headers = [
            (name.decode("latin-1"), value.decode("latin-1")) for name, value in scope["headers"]
        ]
        hosts = [value for name, value in headers if name == "host"]
        # First of all, so that no other name can ever be made to stand for this address.
        if (
            len(hosts) != 1
            or not _PLAIN_HOST.fullmatch(hosts[0])
            or hosts[0] not in self._serving.hosts
        ):
            return 421, "This address is not served here."
        if scope["method"] not in _METHODS:
            return 405, "Only pages and forms are served here."
        too_much = _too_much(scope, told := dict(headers))
        if too_much is not None:
            return too_much
        if scope["method"] == "POST" and not self._is_own(told):
            return 403, "A form can only be sent from these pages."
        address = sender_of(scope, self._serving)
        browser = f"{address} {told.get('cookie', '')}"
        if not (self._addresses.allows(address) and self._browsers.allows(browser)):
            return 429, "Too many requests; wait a few seconds."
        return None

    async def _plain(self, send: Send, status: int, text: str) -> None:
        body = f"{text}\n".encode()
        headers: list[tuple[bytes, Any]] = [
            (b"content-type", b"text/plain; charset=utf-8"),
            (b"content-length", str(len(body)).encode()),
            (b"connection", b"close"),
            *((name.encode(), value.encode()) for name, value in self._headers.items()),
        ]
        await send({"type": "http.response.start", "status": status, "headers": headers})
        await send({"type": "http.response.body", "body": body})

    def _is_own(self, headers: Mapping[str, str]) -> bool:
        """Tell whether a post comes from one of our pages; the browser says so, not the page."""
        site = headers.get("sec-fetch-site")
        if site is not None:
            return site == "same-origin"
        return headers.get("origin") in self._serving.origins


def sender_of(scope: Scope, serving: Serving) -> str:
    """Return the address a request comes from: of the browser, where the declared proxy tells it.

    Only the last address of the header is the proxy's own word; those before it are anybody's.
    """
    if serving.behind_proxy:
        told = [v for n, v in scope["headers"] if n == b"x-forwarded-for"]
        if told:
            return str(told[-1].decode("latin-1").rpartition(",")[2].strip())
    return str((scope.get("client") or ("",))[0])


def _too_much(scope: Scope, headers: Mapping[str, str]) -> tuple[int, str] | None:
    if len(scope["raw_path"] or b"") + len(scope["query_string"]) > LONGEST_ADDRESS:
        return 414, "This address is too long."
    length = headers.get("content-length", "0")
    if not length.isascii() or not length.isdigit() or int(length) > MOST_BYTES:
        return 413, f"Too much at once; at most {MOST_BYTES // 1024} kB."
    return None


class Rate:
    """Allows each sender so many requests a second, and a burst."""

    def __init__(
        self,
        seconds: Callable[[], float],
        a_second: float,
        most: float,
    ) -> None:
        """Start with nobody."""
        self._seconds, self._a_second, self._most = seconds, a_second, most
        self._left: dict[str, tuple[float, float]] = {}

    def allows(self, who: str) -> bool:
        """Count one request and tell whether it may pass."""
        now = self._seconds()
        left, then = self._left.pop(who, (self._most, now))
        left = min(self._most, left + (now - then) * self._a_second)
        if len(self._left) >= MOST_SENDERS:
            del self._left[next(iter(self._left))]  # whoever was silent longest
        self._left[who] = (max(left - 1.0, 0.0), now)
        return left >= 1.0


class _TooLarge(Exception):
    pass


class _Counted:
    """Receives a body and stops where it grows beyond the limit, whatever its length header said."""

    def __init__(self, receive: Receive) -> None:
        self._receive, self._bytes = receive, 0

    async def __call__(self) -> Message:
        message = await self._receive()
        self._bytes += len(message.get("body", b""))
        if self._bytes > MOST_BYTES:
            raise _TooLarge
        return message


class _WithHeaders:
    """Sends an answer with the headers every answer carries; a page's own value of one stands."""

    def __init__(self, send: Send, headers: Mapping[str, str]) -> None:
        self._send, self._headers, self.started = send, headers, False

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.started = True
            own = {name.lower() for name, _ in message["headers"]}
            more = [
                (n.encode(), v.encode()) for n, v in self._headers.items() if n.encode() not in own
            ]
            message = {**message, "headers": [*message["headers"], *more]}
        await self._send(message)
