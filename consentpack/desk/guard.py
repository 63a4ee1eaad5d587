"""Who may ask the desk for anything: this computer, this browser, this page.

Other pages that are open in the same browser can send requests to a server on this computer, and so can other
people's programs on it. So each request must name the desk's own address (a name that somebody else's server
resolves to 127.0.0.1 does not: DNS rebinding), carry the cookie that the one-time link gave, and, where it
changes something, come from a page of the desk itself (Fetch Metadata, W3C; Origin, RFC 6454).
"""

from __future__ import annotations

import hmac
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Lock

from flask import Flask, Response, abort, current_app, g, redirect, request

from consentpack.desk.held_back import HeldBacks

COOKIE = "consentpack_desk"
HELD_BACK = "consentpack.held_back"
"""Under this name an app has what was sent to it while it was locked."""
IDLE_SECONDS = 30 * 60
"""Without a request for so long the desk locks: a screen is left on when a patient is called in."""
MOST_LAPSED = 100
"""Cookies that are remembered after the desk locked; the oldest goes for a new one."""
MOST_BYTES = 60 * 1024 * 1024
"""Of one request, files included."""
_CHANGES = frozenset({"POST", "PUT", "PATCH", "DELETE"})

POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self' data:; form-action 'self'; frame-src 'self'; "
    "base-uri 'none'; frame-ancestors 'self'"
)
"""Content-Security-Policy of every page of the desk's own: no script at all, nothing from elsewhere."""
HEADERS = {
    "Cache-Control": "no-store",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Resource-Policy": "same-origin",
}
OPENER = "Cross-Origin-Opener-Policy"
"""A sandboxed paper has none: with one a browser would not open it (HTML standard, on sandboxing)."""


def _same(ours: str, theirs: str) -> bool:
    """Whether two words are the same, in a time that does not tell how far they are. As bytes: theirs may
    hold any letter."""
    return hmac.compare_digest(ours.encode(), theirs.encode(errors="replace"))


@dataclass
class Keys:
    """The one-time link and what it opens. In memory alone: a desk that is started again has new ones."""

    clock: Callable[[], float] = time.monotonic
    idle: float = IDLE_SECONDS
    _links: set[str] = field(default_factory=set)
    _sessions: dict[str, float] = field(default_factory=dict)
    """What a cookie holds -> when it was last seen."""
    _lapsed: dict[str, None] = field(default_factory=dict)
    """Cookies that opened the desk until it locked."""
    _lock: Lock = field(default_factory=Lock)

    def new_link(self) -> str:
        """A word that opens the desk in one browser, once."""
        word = secrets.token_urlsafe(32)
        with self._lock:
            self._links.add(word)
        return word

    def enter(self, word: str) -> str | None:
        """The cookie for a link's word; None for one that was used already or never given out."""
        with self._lock:
            found = next((link for link in self._links if _same(link, word)), None)
            if found is None:
                return None
            self._links.discard(found)
            cookie = secrets.token_urlsafe(32)
            self._sessions[cookie] = self.clock()
            return cookie

    def holds(self, cookie: str) -> bool:
        """Whether a cookie opens the desk now; that it was seen counts as use."""
        now = self.clock()
        with self._lock:
            known = next((each for each in self._sessions if _same(each, cookie)), None)
            if known is None:
                return False
            if now - self._sessions[known] > self.idle:
                del self._sessions[known]
                self._lapsed[known] = None
                while len(self._lapsed) > MOST_LAPSED:
                    del self._lapsed[next(iter(self._lapsed))]
                return False
            self._sessions[known] = now
            return True

    def lapsed(self, cookie: str) -> bool:
        """Whether a cookie opened the desk until it locked."""
        with self._lock:
            return any(_same(each, cookie) for each in self._lapsed)

    def waiting(self) -> bool:
        """Whether a link was given out that nobody has used yet."""
        with self._lock:
            return bool(self._links)

    def lock(self) -> None:
        """Nobody is let in until there is a new link."""
        with self._lock:
            self._sessions.clear()


def guard(app: Flask, keys: Keys, hosts: Callable[[], frozenset[str]]) -> None:
    """Put the guard before every request of an app, and its headers on every answer.

    `hosts` gives the addresses that are the desk's own, such as '127.0.0.1:8123'.
    """
    held_back = app.extensions[HELD_BACK] = HeldBacks(keys.clock)
    app.config["MAX_CONTENT_LENGTH"] = MOST_BYTES
    app.config["MAX_FORM_MEMORY_SIZE"] = MOST_BYTES
    app.config["MAX_FORM_PARTS"] = 5_000

    @app.before_request
    def look() -> Response | None:
        if request.host not in hosts():
            abort(403, "This is not the desk's own address.")
        if request.endpoint in ("enter", "static"):
            return None
        cookie = request.cookies.get(COOKIE, "")
        if not keys.holds(cookie):
            # a page of our own that stood open when the desk locked; what was typed is not lost
            if request.method == "POST" and keys.lapsed(cookie) and _of_our_own_page(hosts()):
                g.held_back = held_back.keep(cookie, request)
            abort(401)
        if request.method in _CHANGES and not _of_our_own_page(hosts()):
            abort(403, "This did not come from a page of the desk.")
        return None

    @app.after_request
    def close(response: Response) -> Response:
        response.headers.setdefault("Content-Security-Policy", POLICY)
        response.headers.setdefault(OPENER, "same-origin")
        for name, value in HEADERS.items():
            response.headers[name] = value
        return response

    @app.get("/enter/<word>")
    def enter(word: str) -> Response:
        cookie = keys.enter(word)
        if cookie is None:
            abort(401)
        kept = held_back.move(request.cookies.get(COOKIE, ""), cookie)
        answer = current_app.make_response(redirect("/again" if kept else "/"))
        answer.set_cookie(COOKIE, cookie, httponly=True, samesite="Strict", path="/")
        return answer


def _of_our_own_page(hosts: frozenset[str]) -> bool:
    """By Fetch Metadata, which no page can set; by Origin in a browser too old for it.

    A page with no referrer sends the origin 'null' with its forms; that alone says nothing.
    """
    origin, site = request.headers.get("Origin"), request.headers.get("Sec-Fetch-Site")
    own = {f"http://{host}" for host in hosts}
    if site is not None:
        return site == "same-origin" and origin in {None, "null", *own}
    return origin in own
