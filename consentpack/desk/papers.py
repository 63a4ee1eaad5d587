"""Papers of a pack, shown as they are: each in a room of its own, in which nothing else may run.

A paper carries its style and, for patients, a script. The policy of its answer allows those very ones, by
their digests, and nothing of the desk's own policy is loosened for it: it is sandboxed, so that it is no
page of the desk, and reaches neither its cookie nor its forms.
"""

from __future__ import annotations

import base64
import hashlib
from html.parser import HTMLParser
from pathlib import PurePosixPath

from flask import Response

KINDS = {
    ".docx": "application/vnd.openxmlformats-officedocument.wordprocessingml.document",
    ".pdf": "application/pdf",
}
"""Ending -> what a browser is told to expect; what is not here is shown as a page."""


def answer(name: str, data: bytes) -> Response:
    """A paper as the answer to a request: a page is shown, what is for another program is handed over."""
    ending = PurePosixPath(name).suffix
    if ending in KINDS:
        response = Response(data, mimetype=KINDS[ending])
        response.headers.set("Content-Disposition", "attachment", filename=name)
        return response
    response = Response(data, content_type="text/html; charset=utf-8")
    response.headers["Content-Security-Policy"] = policy(data.decode())
    # a sandboxed page has an origin of its own, and would not be opened at all under the desk's
    response.headers["Cross-Origin-Opener-Policy"] = "unsafe-none"
    return response


def policy(page: str) -> str:
    """What a paper may do: its own style and script, by their digests."""
    found = _Inline()
    found.feed(page)
    script = " ".join(_digests(found.scripts)) or "'none'"
    style = " ".join([*_digests(found.styles), *_hashed(found.attributes)]) or "'none'"
    return (
        f"default-src 'none'; script-src {script}; style-src {style}; img-src data:; base-uri 'none'; "
        "form-action 'none'; frame-ancestors 'self'; sandbox allow-scripts"
    )


def _hashed(attributes: list[str]) -> list[str]:
    """Attributes of style are let in by their digests too; the word in front asks for that (CSP level 3)."""
    return ["'unsafe-hashes'", *_digests(attributes)] if attributes else []


def _digests(texts: list[str]) -> list[str]:
    found = (base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in texts)
    return list(dict.fromkeys(f"'sha256-{digest}'" for digest in found))


class _Inline(HTMLParser):
    """Finds the style and the scripts of a page."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.scripts: list[str] = []
        self.styles: list[str] = []
        self.attributes: list[str] = []
        self._into: list[str] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes += [value for name, value in attrs if name == "style" and value]
        if tag in ("script", "style"):
            self._into = self.scripts if tag == "script" else self.styles
            self._into.append("")

    def handle_endtag(self, tag: str) -> None:
        if tag in ("script", "style"):
            self._into = None

    def handle_data(self, data: str) -> None:
        if self._into is not None:
            self._into[-1] += data
