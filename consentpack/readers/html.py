"""HTML files, and the HTML inside Markdown."""

from __future__ import annotations

from html.parser import HTMLParser

from consentpack.errors import Problem, ReadError
from consentpack.limits import DEEPEST_MARKUP, OverLimit
from consentpack.readers import prose
from consentpack.readers.build import Builder, Parts
from consentpack.readers.letters import decode, too_large
from consentpack.tree import Source

_HEADINGS = frozenset(("h1", "h2", "h3", "h4", "h5", "h6"))
_LABELS = frozenset(("th", "caption", "legend", "figcaption"))
_BLOCKS = _HEADINGS | _LABELS | frozenset((
    "p", "div", "section", "article", "main", "td", "dd", "dt", "blockquote", "label", "body", "tr", "table",
    "ul", "ol", "dl", "header", "li", "hr", "form", "fieldset", "details", "summary", "pre", "thead", "tbody",
    "tfoot", "center", "aside", "figure", "html", "menu", "hgroup",
))  # fmt: skip
_UNSEEN = frozenset((
    "script", "style", "template", "noscript", "svg", "select", "textarea", "button", "title", "object",
    "video", "audio", "iframe", "canvas", "math", "datalist",
))  # fmt: skip
"""What a reader of the page does not see as text."""
_BESIDE = frozenset(("nav", "footer", "address"))
"""What stands round the text: kept, not scored."""
_STRONG = frozenset(("b", "strong"))
_END_MAY_MISS = frozenset(("p", "li", "td", "th", "tr", "dt", "dd", "html", "body"))
_VOID = frozenset(
    ("area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "wbr")
)


_SAVE = "Open it in a browser and save its words as .txt."


def read_html(data: bytes, file: str) -> Parts:
    """The parts of an HTML file. Raises ReadError when it is no text."""
    builder = Builder(file)
    feed_html(decode(data, file, declares=True), builder)
    return builder.parts()


def feed_html(text: str, builder: Builder, *, first_line: int = 1) -> None:
    """Hand the blocks of some HTML to a builder."""
    reader = _Reader(builder, first_line)
    try:
        reader.feed(text)
        reader.close()
    except OverLimit as error:
        raise too_large(error, f"{builder.file}, line {reader.getpos()[0] + first_line - 1}") from None
    except (AssertionError, ValueError):  # what the parser does not foresee, such as '<![x' or '&#x110000;'
        raise ReadError(Problem(builder.file, "this is not HTML that can be read.", _SAVE)) from None
    reader.flush()


class _Reader(HTMLParser):
    """Blocks of an HTML file in order, each with the line it begins on."""

    def __init__(self, builder: Builder, first_line: int) -> None:
        super().__init__(convert_charrefs=True)
        self.builder, self._first = builder, first_line
        self._open: list[str] = []
        """The blocks and lists we are in."""
        self._hidden: list[str] = []
        self._pieces: list[tuple[int, str]] = [(0, "")]
        self._strong, self._plain = 0, False
        self._item_begun = False

    # --- what the parser calls -------------------------------------------------------------

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in _VOID and (self._hidden or tag in _UNSEEN or _is_hidden(tag, dict(attrs))):
            self._hidden.append(tag)
        elif tag == "br":
            self._pieces.append((0, ""))
        elif tag in _BLOCKS or tag in _BESIDE:
            self._begin(tag)
        self._strong += tag in _STRONG
        if len(self._open) + len(self._hidden) > DEEPEST_MARKUP:
            raise OverLimit(f"its parts stand inside each other more than {DEEPEST_MARKUP} deep")

    def handle_endtag(self, tag: str) -> None:
        self._strong = max(0, self._strong - (tag in _STRONG))
        if self._hidden:
            if tag in self._hidden:  # what was left open inside it ends with it
                del self._hidden[_last(self._hidden, tag) :]
        elif tag in self._open:
            self.flush()
            del self._open[_last(self._open, tag) :]
        elif tag in _BLOCKS:
            self.flush()

    def handle_data(self, data: str) -> None:
        if self._hidden:
            return
        if "pre" in self._open:
            for number, row in enumerate(data.split("\n")):
                self._pieces += [(0, "")] if number else []
                self._add(row, number)
        else:
            lead = data[: len(data) - len(data.lstrip())]
            self._add(" ".join(data.split("\n")), lead.count("\n"))

    # --- blocks ----------------------------------------------------------------------------

    def _begin(self, tag: str) -> None:
        self.flush()
        self._strong = 0  # a missing </b> must not make headings of all that follows
        for ends in _ENDS.get(tag, ()):  # end tags that may be left out
            place = _last(self._open, ends)
            if place >= 0 and not {"ul", "ol", "table"} & set(self._open[place + 1 :]):
                del self._open[place:]
        if tag == "li":
            self._item_begun = False
        if tag not in _VOID:
            self._open.append(tag)

    def _add(self, text: str, lines_before: int) -> None:
        line, before = self._pieces[-1]
        if text.strip():
            self._plain = self._plain or not self._strong
            line = line or self.getpos()[0] + lines_before + self._first - 1
        self._pieces[-1] = (line, before + text)

    def flush(self) -> None:
        """Hand what was collected to the builder."""
        pieces = [(Source(self.builder.file, line), " ".join(text.split())) for line, text in self._pieces]
        strong, self._plain = not self._plain, False
        self._pieces = [(0, "")]
        if _HEADINGS & set(self._open):
            pieces = [(pieces[0][0], " ".join(text for _, text in pieces))]
        for source, text in prose.joined(pieces):
            self._hand_over(text, source, strong=strong)

    def _hand_over(self, text: str, source: Source, *, strong: bool) -> None:
        inside = set(self._open)
        inner = next((tag for tag in reversed(self._open) if tag in _ROLES), "p")
        if inside & _BESIDE:
            self.builder.unread(text, source)
        elif inside & _HEADINGS:
            self.builder.heading(text, source)
        elif inside & _LABELS:
            self.builder.label(text, source)
        elif inner == "li":
            self._item(text, source)
        elif inner == "td" and strong and prose.is_handmade_heading(text):
            self.builder.label(text, source)
        elif found := prose.BULLET.match(text):
            self.builder.item(text[found.end() :], source, numbered=prose.is_numbered(text))
        elif strong and prose.is_handmade_heading(text):
            self.builder.heading(text, source)
        else:
            self.builder.paragraph(text, source, in_row=inner == "td")

    def _item(self, text: str, source: Source) -> None:
        if self._item_begun:
            return self.builder.more(text, source)
        self._item_begun = True
        lists = [tag for tag in self._open if tag in ("ul", "ol")]
        self.builder.item(text, source, numbered=lists[-1:] == ["ol"])


_ROLES = frozenset(("li", "td"))
_ENDS = {
    "li": ("li",), "td": ("td", "th"), "th": ("td", "th"), "tr": ("tr",), "dt": ("dt", "dd"),
    "dd": ("dt", "dd"), "tbody": ("thead", "tr"),
    **dict.fromkeys(_BLOCKS - {"li", "td", "th", "tr", "dt", "dd", "tbody", "body", "html"}, ("p",)),
    **{tag: ("p", *sorted(_HEADINGS)) for tag in ("p", "ul", "ol", "table", *sorted(_HEADINGS))},
}  # fmt: skip
"""Tag -> the tags it ends when their own end tag is missing. An unended heading must not swallow a page."""


def _last(tags: list[str], tag: str) -> int:
    """Where a tag was last opened; -1 where it was not."""
    return len(tags) - 1 - tags[::-1].index(tag) if tag in tags else -1


def _is_hidden(tag: str, attrs: dict[str, str | None]) -> bool:
    if tag in _END_MAY_MISS:  # what never ends would hide the rest of the page
        return False
    style = (attrs.get("style") or "").replace(" ", "").lower()
    return "hidden" in attrs or "display:none" in style or "visibility:hidden" in style
