"""Rules about languages of another script: which voice reads them, and in which direction."""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Iterator

from consentpack.accessibility.file import WordFile
from consentpack.accessibility.finding import US_LISTS, Fault, rule, wcag
from consentpack.accessibility.looks import find, switched, value
from consentpack.accessibility.runs import Run

LANGUAGES = {
    "ARABIC": ("bidi", ("ar", "fa", "ur", "ps", "ckb", "sd", "ug")),
    "HEBREW": ("bidi", ("he", "yi")),
    "DEVANAGARI": ("bidi", ("hi", "mr", "ne", "sa")),
    "BENGALI": ("bidi", ("bn", "as")),
    "GURMUKHI": ("bidi", ("pa",)),
    "GUJARATI": ("bidi", ("gu",)),
    "TAMIL": ("bidi", ("ta",)),
    "THAI": ("bidi", ("th",)),
    "CJK": ("eastAsia", ("zh", "ja", "ko", "yue")),
    "HIRAGANA": ("eastAsia", ("ja",)),
    "KATAKANA": ("eastAsia", ("ja",)),
    "HANGUL": ("eastAsia", ("ko",)),
    "CYRILLIC": ("val", ("ru", "uk", "bg", "sr", "mk", "be", "kk", "mn", "ky", "tg")),
    "GREEK": ("val", ("el",)),
}
"""Script -> the attribute of w:lang that speaks of it (ECMA-376 part 1, 17.3.2.20), and the languages
written in it. From memory; any other language is taken to be written in Latin letters."""
_OTHER_LETTERS = {language for _, languages in LANGUAGES.values() for language in languages} - {
    "sr",
    "mn",
    "kk",
}
RIGHT_TO_LEFT = ("ARABIC", "HEBREW")
FEWEST = 2
"""Letters. One Greek letter is a sign, such as the beta of a drug's name."""


def is_complex(run: Run) -> bool:
    """Whether Word takes size, weight and slant from the properties for complex scripts."""
    return switched(run.layers, "rtl") or switched(run.layers, "cs")


def scripts_in(text: str) -> list[str]:
    """The scripts of a text, that of most letters first."""
    found = Counter(_script(sign) for sign in text if sign.isalpha())
    return [script for script, number in found.most_common() if script and number >= FEWEST]


def _script(sign: str) -> str:
    name = unicodedata.name(sign, "").split(" ")[0].split("-")[0]
    return name if name in LANGUAGES or name == "LATIN" else ""


@rule("foreign-words", "Words in another script say which language they are in.", wcag("3.1.2"), US_LISTS)
def foreign_words(file: WordFile) -> Iterator[Fault]:
    """Else a voice that does not know the letters is to read them."""
    for paragraph in file.told:
        faults = {what: None for run in paragraph.runs for what in _unnamed(run)}
        for what in faults:
            fix = "Mark the words; Review, Language, Set Proofing Language."
            yield Fault(paragraph.where, what, fix)


def _unnamed(run: Run) -> Iterator[str]:
    for script in scripts_in(run.text):
        attribute, languages = LANGUAGES.get(script, ("val", ()))
        tag = value(find(run.layers, "lang", attribute), attribute)
        root = tag.split("-")[0].lower()
        fits = root in languages if languages else root not in _OTHER_LETTERS
        if not fits and tag:
            yield f"{script.capitalize()} letters are marked as '{tag}'."
        elif languages and not tag:
            yield f"{script.capitalize()} letters are marked as no language."


@rule("direction", "Arabic and Hebrew run from right to left by their marks.", wcag("1.3.2"), "from memory")
def direction(file: WordFile) -> Iterator[Fault]:
    for paragraph in file.told:
        if scripts_in(paragraph.text)[:1] in ([s] for s in RIGHT_TO_LEFT) and not switched(
            paragraph.layers, "bidi"
        ):
            yield Fault(
                paragraph.where, "the paragraph is not marked as right to left.", "Home, Right-to-Left."
            )
        elif any(_runs_wrong(run) for run in paragraph.runs):
            fix = "Mark the words; Home, Right-to-Left Text Direction."
            yield Fault(paragraph.where, "its words are not marked as right to left.", fix)


def _runs_wrong(run: Run) -> bool:
    return scripts_in(run.text)[:1] in ([s] for s in RIGHT_TO_LEFT) and not switched(run.layers, "rtl")
