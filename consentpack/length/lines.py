"""A paragraph of a Word file as the heights of its lines."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from xml.etree.ElementTree import Element

from consentpack.length.fonts import SQUARE_LINE, font_of
from consentpack.length.letters import is_square, width_of
from consentpack.length.styles import VAL, Style, Styles, W, set_words

_SQUARES = "\u2e80-\u9fff\uac00-\ud7ff\uff00-\uffef"
_SQUARE = re.compile(f"[{_SQUARES}]")
_TOKENS = re.compile(f"[{_SQUARES}]|[^{_SQUARES}-]+-?|-")
"""One Chinese sign, or letters up to a space or hyphen: a line may end after each."""
_NEVER_FIRST = frozenset("，。；：！？、）」』》】”’％")
"""Chinese marks that no line begins with."""
_TAB = 36.0
"""Half an inch: where tabs end that no style speaks of."""
_EMU = 12_700
"""English Metric Units of a point."""
_SLACK = 0.01


@dataclass
class _Filling:
    """Lines being filled."""

    style: Style
    width: float
    """Between the indents of a line that is not the first."""
    at: float = 0.0
    """Where the next word begins, from the indent on."""
    word: float = 0.0
    """Width of a word of which more may follow: a bold word with a plain stop after it is one."""
    tallest: float = 0.0
    """Height of the highest letters of this line."""
    height: float = 0.0
    """Height of the letters in hand."""
    scale: float = 0.0
    bold: bool = False
    space: float = 0.0
    heights: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.at = self.style.first

    def letters(self, text: str, style: Style) -> None:
        """Some words in one style."""
        font = font_of(style.font)
        square = bool(_SQUARE.search(text))
        self.tall(style.size * (max(font.line, SQUARE_LINE) if square else font.line))
        self.scale, self.bold = style.size / 1000 * font.width, style.bold
        self.space = width_of(" ") * self.scale
        for index, word in enumerate(text.split(" ")):
            if index:
                self.close()
                self.at += self.space
            if square or "-" in word:
                self.parted(word, style.size / 1000)
            elif word:
                self.word += width_of(word, bold=self.bold) * self.scale

    def parted(self, word: str, square: float) -> None:
        """A word within which a line may end: after a hyphen, and around signs that fill their square."""
        for token in _TOKENS.findall(word):
            fills = is_square(token[:1])
            if fills and token not in _NEVER_FIRST:
                self.close()
            self.word += width_of(token, bold=self.bold) * (square if fills else self.scale)
            if token.endswith("-"):
                self.close()

    def close(self) -> None:
        """End a word: put it on this line, or on the next where it does not fit."""
        if self.at + self.word > self.width + _SLACK and self.at > 0:
            self.end_line()
        self.at += self.word
        while self.at > self.width + _SLACK and self.word > self.width > 0:
            left = self.at - self.width
            self.end_line()
            self.at = self.word = left
        self.word = 0.0

    def tall(self, height: float) -> None:
        self.height = height
        self.tallest = max(self.tallest, height)

    def tab(self) -> None:
        """Go on at the next stop. What ends at one on the right only needs room on the line."""
        self.close()
        place = self.style.left + self.at
        stops = [*self.style.tabs, *([(self.style.left, False)] if self.style.first < 0 else [])]
        after = sorted(stop for stop in stops if stop[0] > place + _SLACK)
        if not after:
            self.at = (place // _TAB + 1) * _TAB - self.style.left
        elif not after[0][1]:
            self.at = after[0][0] - self.style.left

    def end_line(self) -> None:
        style = self.style
        single = self.tallest or style.size * font_of(style.font).line
        self.heights.append(style.line if style.exact else single * style.line)
        self.at, self.tallest = 0.0, self.height

    def picture(self, width: float, height: float) -> None:
        self.close()
        self.word = width
        self.tallest = max(self.tallest, height)
        self.close()


def lines_of(paragraph: Element, style: Style, styles: Styles, width: float) -> list[float]:
    """The height of each line, in points, in a column of some width. There is always one."""
    filling = _Filling(style, width - style.left - style.right)
    for run in paragraph.iter(f"{W}r"):
        set_in = _run_style(run, style, styles)
        for part in run:
            _put(part, set_in, filling)
    filling.close()
    filling.end_line()
    return filling.heights


def _put(part: Element, style: Style, filling: _Filling) -> None:
    tag = part.tag.removeprefix(W)
    if tag == "t":
        filling.letters(part.text or "", style)
    elif tag == "tab":
        filling.tab()
    elif tag == "br" and part.get(f"{W}type") != "page":
        filling.close()
        filling.end_line()
    elif tag == "drawing":
        for width, height in _extents(part):
            filling.picture(width, height)


def _extents(drawing: Element) -> Iterator[tuple[float, float]]:
    """Sizes of pictures that stand in the line; what floats takes no line of its own."""
    for inline in drawing:
        if inline.tag.endswith("}inline"):
            extent = next(each for each in inline if each.tag.endswith("}extent"))
            yield int(extent.get("cx", 0)) / _EMU, int(extent.get("cy", 0)) / _EMU


def _run_style(run: Element, style: Style, styles: Styles) -> Style:
    properties = run.find(f"{W}rPr")
    if properties is None:
        return style
    named = properties.find(f"{W}rStyle")
    if named is not None:
        style = set_words(style, styles.characters.get(named.get(VAL, "")))
    return set_words(style, properties)
