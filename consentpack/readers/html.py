"""HTML files, and Markdown by way of HTML."""

from __future__ import annotations

import re
from html.parser import HTMLParser

from consentpack.errors import Problem, ReadError
from consentpack.readers.build import Builder
from consentpack.tree import Section, Source

_HEADINGS = ("h1", "h2", "h3", "h4", "h5", "h6")
_BLOCKS = ("p", "div", "section", "article", "main", "td", "th", "dd", "dt", "blockquote", "figcaption",
           "caption", "label", "body", "tr", "table", "ul", "ol", "dl", "br", "header")  # fmt: skip
_UNREAD = ("script", "style", "head", "template", "noscript", "svg", "nav", "footer", "form", "select")
_CHARSET = re.compile(rb"""charset=["']?([\w-]+)""")


def read_html(data: bytes, file: str) -> tuple[str, tuple[Section, ...]]:
    """Title and sections of an HTML file. Raises ReadError when it is no text."""
    return read_html_text(decode(data, file), file)


def read_html_text(text: str, file: str) -> tuple[str, tuple[Section, ...]]:
    """The same, of HTML already decoded."""
    reader = _Reader(file)
    reader.feed(text)
    reader.close()
    reader.flush()
    return reader.builder.title, reader.builder.sections()


def decode(data: bytes, file: str) -> str:
    """Text of bytes: UTF-8, or what an HTML file says of itself. Raises ReadError."""
    declared = _CHARSET.search(data[:2048])
    for name in ("utf-8-sig", declared.group(1).decode() if declared else "", "utf-16"):
        if name == "utf-16" and data[:2] not in (b"\xff\xfe", b"\xfe\xff"):
            continue
        try:
            return data.decode(name) if name else ""
        except (UnicodeDecodeError, LookupError):
            continue
    raise ReadError(Problem(file, "the letters cannot be read.", "Save the file as UTF-8."))


class _Reader(HTMLParser):
    """Blocks of an HTML file in order, each with the line it begins on."""

    def __init__(self, file: str) -> None:
        super().__init__(convert_charrefs=True)
        self.file, self.builder = file, Builder(file)
        self._kind, self._text, self._line, self._skip = "p", "", 0, 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _UNREAD:
            self._skip += 1
        elif tag in _HEADINGS or tag in _BLOCKS or tag == "li":
            inside_item = tag in ("p", "br") and self._kind == "li"
            self.flush()
            self._kind = "li" if inside_item else tag

    def handle_endtag(self, tag: str) -> None:
        if tag in _UNREAD:
            self._skip = max(0, self._skip - 1)
        elif tag in _HEADINGS or tag in _BLOCKS or tag == "li":
            self.flush()
            self._kind = "p" if tag != "p" or self._kind != "li" else "li"

    def handle_data(self, data: str) -> None:
        if self._skip:
            return
        if data.strip() and not self._text.strip():
            self._line = self.getpos()[0] + data[: len(data) - len(data.lstrip())].count("\n")
        self._text += data

    def flush(self) -> None:
        text, self._text = " ".join(self._text.split()), ""
        if not text:
            return
        source = Source(self.file, self._line)
        if self._kind in _HEADINGS:
            self.builder.heading(text)
        elif self._kind == "li":
            self.builder.item(text, source)
        else:
            self.builder.paragraph(text, source)
