"""Whether a translation says what the original says, as far as a program can tell: the same values,
numbers, units, links and marks, a "not" where there is one, one term for one thing.

None of it proves a translation right. Each finds a slip that has harmed people: a lost "not", a 6 that
became an 8, a sentence that stayed English (reference: TP1 to TP9, after ISPOR and ISO 17100).
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from consentpack.translate.languages import Language

_VALUE = re.compile(r"\{\{.*?\}\}|\{[a-z]+\}")
_NUMBER = re.compile(r"\d+(?:[.,\u00a0\u202f ]\d{3})*(?:[.,]\d+)?")
_GROUPING = re.compile(r"[\u00a0\u202f .,](?=\d{3}(?!\d))")
_LINK = re.compile(r"\]\(([^)]*)\)")
_BOLD = re.compile(r"\*\*(.+?)\*\*")
_ANSWER = re.compile(r"\*\*[^*]+\*\*: \S")
_WORD = re.compile(r"[^\W\d_]+(?:[’'][^\W\d_]+)?")
_NOT = re.compile(
    r"\b(?:not|no|never|none|nothing|nobody|neither|nor|without|cannot)\b|n[’']t\b", re.IGNORECASE
)
_UNIT = re.compile(r"\d[\d ,to–-]*\b(minute|hour|day|week|month|year|visit)s?\b")
SHORT = 40
"""Letters. The length of a shorter text says nothing: titles differ by half from language to language."""
LEFT_OVER = 4
"""So many English words in a row are a sentence that was left; fewer are a name."""


@dataclass(frozen=True)
class Pair:
    """One original with one translation (one plural form of it)."""

    source: str
    target: str
    plural: bool = False
    """Whether it is one form of a text that depends on a number: such may say the number as a word."""


@dataclass(frozen=True)
class Finding:
    """One thing that differs."""

    check: str
    what: str


Check = Callable[[Pair, Language, Mapping[str, str]], str]


def values(pair: Pair, language: Language, terms: Mapping[str, str]) -> str:
    """The same placeholders, each as often."""
    wanted, found = (
        Counter(re.sub(r"\s", "", v) for v in _VALUE.findall(t)) for t in (pair.source, pair.target)
    )
    lost, new = wanted - found, found - wanted
    if pair.plural:
        lost.pop("{number}", None)  # "one treatment", "two treatments" are words of their own in Arabic
    if lost:
        return f"it lacks {', '.join(lost)}"
    return f"it has {', '.join(new)}, which the original has not" if new else ""


def braces(pair: Pair, language: Language, terms: Mapping[str, str]) -> str:
    left = _VALUE.sub("", pair.target)
    return "a brace stands alone" if "{" in left or "}" in left else ""


def numbers(pair: Pair, language: Language, terms: Mapping[str, str]) -> str:
    """The same numbers, each as often, whatever digits and signs they are written with."""
    wanted, found = _numbers(pair.source), _numbers(pair.target)
    if wanted == found:
        return ""
    return f"its numbers are {_said(found)}, those of the original {_said(wanted)}"


def _numbers(text: str) -> Counter[str]:
    text = "".join(str(unicodedata.digit(c)) if c.isdigit() else c for c in text)
    return Counter(_plain(number) for number in _NUMBER.findall(_VALUE.sub("", text)))


def _plain(number: str) -> str:
    """'1,000', '1.000' and '1 000' are one number; so are '1,5' and '1.5'."""
    return _GROUPING.sub("", number).replace(",", ".")


def _said(numbers: Counter[str]) -> str:
    return ", ".join(sorted(numbers.elements())) or "none"


def one_kind_of_digit(pair: Pair, language: Language, terms: Mapping[str, str]) -> str:
    """Digits 0 to 9 throughout, because values are filled in with them."""
    other = sorted({c for c in pair.target if c.isdigit() and not c.isascii()})
    return (
        f"it has the digits {' '.join(other)}; the figures filled in are written with 0 to 9" if other else ""
    )


def units(pair: Pair, language: Language, terms: Mapping[str, str]) -> str:
    """The unit that stands after a number in the original occurs in the translation."""
    wanted = {f"{unit}s" for unit in _UNIT.findall(pair.source)}
    lost = [u for u in sorted(wanted) if u in language.units and not _has(pair.target, language.units[u])]
    return f"it has no word for “{lost[0]}”" if lost else ""


def negations(pair: Pair, language: Language, terms: Mapping[str, str]) -> str:
    """A text that says no says so in the translation."""
    if not language.negations or not _NOT.search(_VALUE.sub("", pair.source)):
        return ""
    return "" if _has(pair.target, language.negations) else "the original has a “not”; here is none"


def _has(text: str, words: Iterable[str]) -> bool:
    """Whether one of the words occurs; 'dzie*' stands for every word that begins so, '*不*' for anywhere."""
    lower = text.casefold()
    present = {word.casefold() for word in _WORD.findall(text)}
    for word in (w.casefold() for w in words):
        if word.startswith("*"):
            if word.strip("*") in lower:
                return True
        elif word.endswith("*"):
            if any(each.startswith(word[:-1]) for each in present):
                return True
        elif word in present or (" " in word and word in lower):
            return True
    return False


def links(pair: Pair, language: Language, terms: Mapping[str, str]) -> str:
    wanted, found = _LINK.findall(pair.source), _LINK.findall(pair.target)
    return "" if wanted == found else f"its links are {found}, those of the original {wanted}"


def marks(pair: Pair, language: Language, terms: Mapping[str, str]) -> str:
    """As many bold words, and a row of a table still a row of it."""
    wanted, found = len(_BOLD.findall(pair.source)), len(_BOLD.findall(pair.target))
    if wanted != found or pair.target.count("**") % 2:
        return f"it has {found} words in bold, the original {wanted}"
    if _ANSWER.match(pair.source) and not _ANSWER.match(pair.target):
        return "it should begin with words in bold, a colon and a space, as the original does"
    return "it begins like a list or a heading" if re.match(r"(?:[-*+#>]|\d+[.)]) ", pair.target) else ""


def length(pair: Pair, language: Language, terms: Mapping[str, str]) -> str:
    """Not so short that something is missing, nor so long that something was added."""
    source, target = (_VALUE.sub("", text) for text in (pair.source, pair.target))
    if len(source) < SHORT:
        return ""
    share = len(target) / len(source)
    if language.shortest <= share <= language.longest:
        return ""
    usual = f"{language.shortest} to {language.longest}"
    return f"it has {share:.1f} times the letters of the original; usual are {usual}"


def left_over(pair: Pair, language: Language, terms: Mapping[str, str]) -> str:
    """Nothing stayed in English: not the whole, and no run of words of it."""
    kept = {word.casefold() for word in language.kept}
    source = [w.casefold() for w in _WORD.findall(_VALUE.sub(" ", pair.source))]
    target = [w.casefold() for w in _WORD.findall(_VALUE.sub(" ", pair.target))]
    runs = {tuple(source[i : i + LEFT_OVER]) for i in range(len(source) - LEFT_OVER + 1)}
    for i in range(len(target) - LEFT_OVER + 1):
        run = tuple(target[i : i + LEFT_OVER])
        if run in runs and not kept.issuperset(run):
            return f"“{' '.join(run)}” was left in English"
    if len(source) > 1 and source == target and not kept.issuperset(source):
        return "it is the same as the original"
    return ""


def letters(pair: Pair, language: Language, terms: Mapping[str, str]) -> str:
    """It is written in the language's own letters, with no other's among them."""
    if not language.letters or not _WORD.search(_VALUE.sub("", pair.source)):
        return ""
    scripts = Counter(_script(c) for c in _VALUE.sub("", pair.target) if c.isalpha())
    kept = any(word.casefold() in pair.source.casefold() for word in language.kept)
    if not scripts[language.letters] and not kept:
        return f"it has no {language.letters.capitalize()} letter"
    foreign = [name for name in scripts if name not in (language.letters, "LATIN")]
    return f"it has letters of another script: {', '.join(sorted(foreign))}" if foreign else ""


def _script(letter: str) -> str:
    """The first word of a letter's Unicode name: LATIN, ARABIC, CJK, CYRILLIC …"""
    return unicodedata.name(letter, "UNKNOWN").split(" ")[0].split("-")[0]


def one_term(pair: Pair, language: Language, terms: Mapping[str, str]) -> str:
    """A word of the trade in bold has the name that the list of words gives it."""
    for bold in _BOLD.findall(pair.source):
        term = terms.get(bold.casefold())
        # a term may carry the English in brackets; the text need not
        if term and not _stems(term.split("(")[0] or term, language) <= _stems(pair.target, language):
            return f"“{bold}” is called “{term}” in the list of words; here it has another name"
    return ""


def _stems(text: str, language: Language) -> set[str]:
    """The beginnings of a text's words, so that bent forms are one; single letters for CJK."""
    if language.letters == "CJK":
        return {c for c in text if c.isalpha()}
    words = (word.casefold() for word in _WORD.findall(text))
    return {_bare(word)[: language.stem] for word in words}


def _bare(word: str) -> str:
    """A word without the Arabic article and the little words written together with it."""
    return re.sub(r"^[وفبكل]?(?:ال|لل)(?=\w{3})", "", word)


CHECKS: Mapping[str, Check] = {
    "values": values,
    "braces": braces,
    "numbers": numbers,
    "digits": one_kind_of_digit,
    "units": units,
    "negations": negations,
    "links": links,
    "marks": marks,
    "length": length,
    "left over": left_over,
    "letters": letters,
    "terms": one_term,
}
"""Name -> check; `translate check` names what it found by these."""


def findings(
    pair: Pair, language: Language, terms: Mapping[str, str], *, accepted: Iterable[str] = ()
) -> list[Finding]:
    """What differs in one translation, but for checks somebody has looked at and accepted."""
    skipped = set(accepted)
    found = ((name, check(pair, language, terms)) for name, check in CHECKS.items() if name not in skipped)
    return [Finding(name, what) for name, what in found if what]
