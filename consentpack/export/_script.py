"""Words in the Word file's own terms: which language each run is in, and in which direction it runs.

Word takes size, weight and font of right-to-left words from properties of their own, and the voice of a
screen reader from the run's language (ECMA-376 part 1, 17.3.2.20 and 17.3.2.30).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from consentpack.direction import has_right_to_left, is_rtl, parts, script_of
from consentpack.export import _ooxml as x
from consentpack.signs import signs_of
from consentpack.tree import Run, Runs

WORDS_TAGS: Mapping[str, str] = {"zh-Hans": "zh-CN", "zh-Hant": "zh-TW", "zh": "zh-CN"}
"""Word names Chinese by region; any other tag it takes as it is."""
_ATTRIBUTES = {"Arab": "bidi", "Hebr": "bidi", "Hans": "eastAsia", "Hant": "eastAsia", "Jpan": "eastAsia"}
"""Script -> the attribute of w:lang that speaks of it; 'val' for all others."""
SECOND = "en-GB"
"""The language of Latin words in a document of another script: names of substances, titles of studies."""
_LRM = "\u200e"
NARROW = "\u202f"
"""Narrow no-break space: between digits it takes their direction (bidirectional class CS)."""
_CJK = re.compile("([\u3040-\u30ff\u3400-\u9fff\uff01-\uffee]+)")
_GUESSED = {"\u0590": "he", "\u0600": "ar"}


def lang_attributes(language: str) -> dict[str, str]:
    """What w:lang says by default in a document of a language."""
    attribute, tag = _ATTRIBUTES.get(script_of(language), "val"), WORDS_TAGS.get(language, language)
    return {"val": tag} if attribute == "val" else {"val": SECOND, attribute: tag}


FONTS: Mapping[str, tuple[str, str]] = {
    "Hans": ("eastAsia", "Microsoft YaHei"),
    "Hant": ("eastAsia", "Microsoft JhengHei"),
    "Arab": ("cs", "DejaVu Sans"),
    "Hebr": ("cs", "DejaVu Sans"),
}
"""Script -> the attribute of w:rFonts for it, and a plain font. A clinic's own font seldom has these letters,
and Word would then choose one by chance. One that has the stops and brackets of a line as well as its
letters: with a stop from another font, LibreOffice drew it inside the word before it."""
FALLBACKS: Mapping[str, str] = {
    "DejaVu Sans": "Arial, Noto Sans Arabic, Noto Sans Hebrew",
    "Microsoft YaHei": "PingFang SC, Noto Sans CJK SC, SimHei",
    "Microsoft JhengHei": "PingFang TC, Noto Sans CJK TC",
}


TALL = ("Hans", "Hant")
"""Scripts whose fonts bring half as much room between lines again as Latin ones: in tables, where the
emergency signs must fit on page one, lines get a height of their own."""
CELL_LINES = 1.3
"""Of the size of the letters; Chinese signs fill their square, so this is still clear room between lines."""


_IN_CELLS = ("CellText", "UrgentText")
_IN_ROWS = ("Field", "Choice", "CellChoice", "Fact", "ListBullet")


def _close_up(styles: Any, *, close: bool) -> None:
    """Set the lines of cells at a fixed distance, and in a paper of a few sides those of points, choices and
    lines to write on. Pictures and large words stand in styles of their own, not cut by it."""
    by_name = {style.get(x.w("styleId")): style for style in styles.iter(x.w("style"))}
    size = next(styles.iter(x.w("sz"))).get(x.w("val"))
    for name in (*_IN_CELLS, *(_IN_ROWS if close else ())):
        spacing = by_name[name].find(x.w("pPr")).find(x.w("spacing"))
        spacing.set(x.w("line"), str(round(int(size) * 10 * CELL_LINES)))
        spacing.set(x.w("lineRule"), "exact")
    large = by_name["BigHead"].find(x.w("pPr")).find(x.w("spacing"))
    large.set(x.w("line"), "240")
    large.set(x.w("lineRule"), "auto")


def set_script(styles: Any, language: str, *, close: bool = False) -> None:
    """Language and font of a document's words in its styles; `close` for a paper of a few sides."""
    for each in styles.iter(x.w("lang")):
        for name, tag in lang_attributes(language).items():
            each.set(x.w(name), x.clean(tag))
    if script_of(language) in TALL:
        _close_up(styles, close=close)
    if found := FONTS.get(script_of(language)):
        attribute, font = found
        for fonts in styles.iter(x.w("rFonts")):
            fonts.set(x.w(attribute), font)


@dataclass(frozen=True)
class Script:
    """How the words of one document are written."""

    language: str
    rtl: bool = False

    @property
    def colon(self) -> str:
        """What stands between a label and what it labels."""
        return signs_of(self.language).colon

    def words(self, text: str, *, strong: bool = False, language: str = "") -> str:
        """Words as runs. `language` is theirs where it is not the document's."""
        foreign = bool(language) and language != self.language
        rtl = is_rtl(language) if foreign else self.rtl
        if not rtl and not foreign and (text.isascii() or self._all_own(text)):
            return x.text_run(text, strong=strong)
        return "".join(
            self._piece(p, strong, language if foreign else "", rtl) for p in self._pieces(text, rtl)
        )

    def _all_own(self, text: str) -> bool:
        """Whether every letter is of a script that the document's own settings speak of."""
        return not has_right_to_left(text) and (not _CJK.search(text) or self._is_cjk)

    @property
    def _is_cjk(self) -> bool:
        return _ATTRIBUTES.get(script_of(self.language)) == "eastAsia"

    def _pieces(self, text: str, rtl: bool) -> Iterable[tuple[str, bool]]:
        for piece, against in parts(x.plain(text), rtl=rtl):
            if against or rtl:
                yield piece, against
            else:
                yield from ((part, False) for part in _CJK.split(piece) if part)

    def _piece(self, piece: tuple[str, bool], strong: bool, language: str, rtl: bool) -> str:
        """One piece that runs in one direction, in one script."""
        text, against = piece
        bold = "<w:b/><w:bCs/>" if strong else ""
        if against != rtl:  # from right to left: own words of such a line, or foreign ones in another
            tag = language if language and is_rtl(language) else "" if self.rtl else _guessed(text)
            named = f"<w:lang w:bidi={x.attribute(tag)}/>" if tag else ""
            return _run(f"{bold}<w:rtl/>{named}", text)
        if rtl:
            return _run(bold, kept_in_order(text))
        return _run(bold + self._named(text, language), text)

    def _named(self, text: str, language: str) -> str:
        cjk = bool(_CJK.search(text))
        tag = language or ("zh-Hans" if cjk and not self._is_cjk else "")
        if not tag:
            return ""
        attribute = _ATTRIBUTES.get(script_of(tag), "val")
        return f"<w:lang w:{attribute}={x.attribute(WORDS_TAGS.get(tag, tag))}/>"

    def mostly_rtl(self, text: str) -> bool:
        """Whether most letters of some words run from right to left: a name in two languages is one line."""
        if not has_right_to_left(text):
            return self.rtl
        letters = [letter for letter in text if letter.isalpha()]
        return 2 * sum(map(has_right_to_left, letters)) > len(letters)

    def runs_rtl(self, runs: Runs) -> bool:
        """Whether a paragraph of these runs is one from right to left: its first words decide."""
        first = next((run for run in runs if run.text.strip()), Run(""))
        return is_rtl(first.language) if first.language else self.rtl


def _run(properties: str, text: str) -> str:
    inside = f"<w:rPr>{properties}</w:rPr>" if properties else ""
    return f'<w:r>{inside}<w:t xml:space="preserve">{x.shown(text)}</w:t></w:r>'


def _guessed(text: str) -> str:
    """The language of right-to-left letters that nobody named: Hebrew ends where Arabic begins."""
    letter = next((c for c in text if has_right_to_left(c)), "\u0600")
    return _GUESSED["\u0590" if letter < "\u0600" else "\u0600"]


_LONGEST_KEPT = 40


def kept_in_order(text: str) -> str:
    """Numbers and Latin words inside a line from right to left, drawn in their own order.

    LibreOffice takes a run's direction from its words alone, so marks stand on both sides; and it turns
    the parts of a number that a space divides, so such spaces do not break ("020 7946 0101", "0.5 mg"). The
    wider no-break space will not do: at the end of such a line LibreOffice breaks it all the same.
    """
    if len(text) <= _LONGEST_KEPT and any(c.isdigit() for c in text):
        text = text.replace(" ", NARROW)
    return f"{_LRM}{text}{_LRM}"


def unmarked(text: str) -> str:
    """Text as it was before `kept_in_order`, to compare what a file says with what it was made from."""
    return text.replace(_LRM, "").replace(NARROW, " ").replace("\u00a0", " ")
