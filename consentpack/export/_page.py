"""What stands around the words of a page: what the browser is promised, the head, the bar of numbers."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable, Iterable, Iterator
from functools import lru_cache
from pathlib import Path

from consentpack.direction import joined
from consentpack.export._code import Symbol
from consentpack.export._html import attribute, clean, css_string, plain
from consentpack.export.look import Look
from consentpack.model import Logo
from consentpack.tree import PAGE, PAGES, Document, page_parts

Say = Callable[[str], str]
"""Makes HTML of words."""
LRM = "\u200e"
_HERE = Path(__file__).parent


def page(document: Document, say: Say, main: Iterable[str], look: Look) -> bytes:
    """The whole file around what stands in `main`."""
    script = _script() if document.audience == "patient" else ""
    lines = [
        "<!doctype html>",
        f'<html lang={attribute(document.language)} dir="{"rtl" if document.rtl else "ltr"}">',
        "<head>",
        *_head(document, script),
        f"<style>\n{_style()}{_page_rules(document)}</style>",
        "</head>",
        f"<body data-reference={attribute(f'{document.reference} {document.kind}')}>",
        *_header(document, say, look.brand.logo),
        "<main>",
        *main,
        "</main>",
        f"<footer>{''.join(_foot(document, say))}</footer>",
        *_bar(document, say),
        *([f"<script>{script}</script>"] if script else []),
        "</body>",
        "</html>",
    ]
    return ("\n".join(lines) + "\n").encode()


@lru_cache(maxsize=1)
def _style() -> str:
    return (_HERE / "document.css").read_text(encoding="utf-8")


@lru_cache(maxsize=1)
def _script() -> str:
    return (_HERE / "page.js").read_text(encoding="utf-8")


def _policy(script: str) -> str:
    """The browser is told what the file promises: nothing from outside, nothing sent, no other script."""
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    own = f"script-src 'sha256-{digest}'; " if script else ""
    kept = "style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"
    return f"default-src 'none'; {own}{kept}"


def _head(document: Document, script: str) -> Iterator[str]:
    yield '<meta charset="utf-8">'
    yield f'<meta http-equiv="Content-Security-Policy" content={attribute(_policy(script))}>'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield '<meta name="robots" content="noindex">'
    # phones make links of whatever looks like a number, counts of the audit among them
    yield '<meta name="format-detection" content="telephone=no, date=no, address=no">'
    if document.code:
        yield f'<meta name="dcterms.identifier" content={attribute(document.code)}>'
    yield f"<title>{plain(f'{document.title} – {document.reference}')}</title>"


def _page_rules(document: Document) -> str:
    """What stands at the head and foot of each printed page, as in the Word file."""
    labels = document.labels
    head = [joined((document.clinic_name, document.title), rtl=document.rtl), *_marks(document)]
    lines, foot = _css_lines(head), _css_lines(_foot_on_paper(document))
    counters = {PAGE: "counter(page)", PAGES: "counter(pages)"}
    page = " ".join(counters.get(part) or css_string(part) for part in page_parts(labels["page"]))
    font = "font: 12pt Arial, sans-serif;"
    return (
        "@page {\n  size: A4; margin: 26mm 18mm 20mm;\n"
        f"  @top-left {{ content: {lines}; white-space: pre-line; width: 100%; {font} }}\n"
        f"  @bottom-left {{ content: {foot}; white-space: pre-line; width: 75%; {font} }}\n"
        f"  @bottom-right {{ content: {page}; {font} }}\n}}\n"
    )


def _css_lines(lines: Iterable[str]) -> str:
    return ' "\\A" '.join(map(css_string, lines))


def _foot_on_paper(document: Document) -> list[str]:
    """The lines at the foot of a printed page. Rules of style know no isolation, so in a line from right to
    left marks keep the code in its order."""
    mark = LRM if document.rtl else ""
    return [_standing(document), *([f"{mark}{document.code}{mark}"] if document.code else [])]


def _marks(document: Document) -> list[str]:
    """What must be seen before the first word: an invented clinic, a draft."""
    labels = document.labels
    draft = [labels["draft"]] if document.draft else []
    return [*([labels["invented"]] if "invented" in labels else []), *draft]


def _header(document: Document, say: Say, logo: Logo | None) -> Iterator[str]:
    """On paper only what the head of each page does not say already."""
    yield "<header>"
    if logo:
        kind = "png" if logo.data.startswith(b"\x89PNG") else "jpeg"
        data = base64.b64encode(logo.data).decode()
        yield f'<img class="logo" alt={attribute(clean(logo.alt))} src="data:image/{kind};base64,{data}">'
    if document.draft:
        yield f'<p class="draft">{say(document.labels["draft"])}</p>'
    # by itself: between words of the other direction the bracket at a name's end would change places
    yield f'<p class="whose"><bdi>{plain(document.clinic_name)}</bdi></p>'
    if "invented" in document.labels:
        yield f'<p class="whose">{say(document.labels["invented"])}</p>'
    yield f"<h1>{say(document.title)}</h1>"
    if document.notice:
        yield f"<p><strong>{say(document.notice)}</strong></p>"
    yield "</header>"


def _bar(document: Document, say: Say) -> Iterator[str]:
    """The numbers to ring, at the foot of the screen wherever one reads."""
    if not document.ring:
        return
    yield f'<nav class="ring" aria-label={attribute(document.labels["ring"])}>'
    for label, number in document.ring:
        yield f"<p><span>{plain(label)}</span> {say(number)}</p>"
    yield "</nav>"


def _foot(document: Document, say: Say) -> Iterator[str]:
    """What stands at the end. The code has a line of its own, since broken at its hyphen it would be copied
    wrong, and a square for a camera, which is printed too."""
    yield f"<p>{say(_standing(document))}</p>"
    if document.code:
        yield f'<p class="found">{say(document.code)}</p>'
        yield Symbol(document.code).svg(clean(document.labels["code"]))


def _standing(document: Document) -> str:
    """What the document's foot says, without its code."""
    return joined((part for part in document.foot if part != document.code), rtl=document.rtl)
