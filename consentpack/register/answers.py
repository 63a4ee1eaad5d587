"""Cells that say yes, no, a number or nothing in other words than the strict ones of `cells`.

First what the clinic has said itself, then the strict reading, then the usual words. What none of them
knows is set aside, and never guessed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from consentpack.model import Measurement, Stratum
from consentpack.normal import folded, plain
from consentpack.register.cells import (
    GRADES,
    BadCell,
    read_count,
    read_number,
    read_outcome,
)
from consentpack.register.repairs import Repairs
from consentpack.register.words import unknown_ids

NOT_RECORDED_WORD = "not recorded"
YES = frozenset(
    (
        *("yep", "yeah", "present", "seen", "positive", "pos", "t", "✓", "✔", "✔️", "☑", "✅", "√", "🗸"),
        *("oui", "sí", "si", "tak", "có", "是", "有", "نعم"),
    )
)
NO = frozenset(
    (
        *("nope", "not seen", "absent", "negative", "neg", "nil", "nothing", "none seen", "f"),
        *("non", "nie", "không", "否", "无", "لا"),
    )
)
"""Usual words, in English and the languages of our catalogues: common practice, no source. A cross is in
neither: one clinic marks with it what was there, the next what was not."""
UNKNOWN = frozenset(
    (
        *("?", "??", "???", "n/k", "nk", "n.k.", "not known", "unknown", "unk", "n/r", "nr", "not recorded"),
        *("n/a", "na", "n.a.", "not asked", "not sure", "unsure", "missing", "-", "--", "–", "—", "dna"),
        *("ltfu", "lost to follow-up", "lost to follow up", "did not attend", "not documented"),
        *("inconnu", "non connu", "desconocido", "nieznane", "nie wiadomo", "không rõ", "不详", "غير معروف"),
    )
)
"""Words that say that nobody knows: the same, no source. Never read as no."""
_COUNT = re.compile(
    r"(?:(?:session|visit|treatment|number|no|nr|s|v)\.? ?|# ?)?(\d+)(?:[.,]0+|st|nd|rd|th|\.)?"
)
_GRADE = re.compile(r"([0-5])[.,]0+")
_AMOUNT = re.compile(r"([^\d.,]*)(\d*[.,]?\d+)([^\d.,]*)")


def own_answers(words: Mapping[str, str]) -> dict[str, int | None]:
    """The clinic's own words that say yes, no, a grade or that nothing was recorded."""
    said: dict[str, int | None] = {}
    for word, meaning in words.items():
        if folded(meaning) == NOT_RECORDED_WORD:
            said[folded(word)] = None
        elif folded(meaning) in GRADES:
            said[folded(word)] = GRADES[folded(meaning)]
    return said


def means_nothing(meaning: str, known: frozenset[str]) -> tuple[str, ...]:
    """Of the meaning of an own word, what is neither an id nor an answer."""
    return () if own_answers({"word": meaning}) else unknown_ids(meaning, known)


def answer(cell: str, own: Mapping[str, int | None], repairs: Repairs) -> int | None:
    """0 for not seen, 1 and above for seen or its grade, None for not recorded. Raises BadCell."""
    if own and (word := folded(cell)) in own:
        return own[word]
    try:
        return read_outcome(cell)
    except BadCell:
        word = folded(cell)
        grade = _usual(word)
        if grade is None and word not in UNKNOWN:
            raise
        repairs.note(cell, said(grade))
        return grade


def _usual(word: str) -> int | None:
    if word in YES:
        return 1
    if word in NO:
        return 0
    found = _GRADE.fullmatch(word)
    return int(found[1]) if found else None


def said(grade: int | None) -> str:
    """A grade in words."""
    return {None: NOT_RECORDED_WORD, 0: "no", 1: "yes"}.get(grade, f"grade {grade}")


def is_unknown(cell: str) -> bool:
    """Whether a cell says that nobody knows."""
    return folded(cell) in UNKNOWN


def count(cell: str, repairs: Repairs) -> int:
    """A whole number of 1 or more: also '2.0', '2nd' and 'visit 2'. Raises BadCell."""
    try:
        return read_count(cell)
    except BadCell:
        found = _COUNT.fullmatch(folded(cell).lstrip("'’"))
        if found is None:
            raise
        number = read_count(found[1])
        repairs.note(cell, str(number))
        return number


def measured(measurement: Measurement, cell: str, repairs: Repairs) -> float | None:
    """A measurement's number, with or without its unit or its name; None for blank. Raises BadCell."""
    word = plain(cell)
    if measurement.unit and word.lower().endswith(measurement.unit.lower()):
        word = word[: -len(measurement.unit)].strip()
    if not word:
        return None
    try:
        return read_count(word) if measurement.whole else read_number(word)
    except BadCell:
        number = _amount(measurement, cell)
        if number is None:
            raise
        repairs.note(cell, f"{number:g} {measurement.unit}".strip())
        return number


def _amount(measurement: Measurement, cell: str) -> float | None:
    """'22 gauge', 'G22', '.02', '22.0': one number, and beside it no word but those it goes by."""
    found = _AMOUNT.fullmatch(folded(cell).lstrip("'’"))
    if found is None:
        return None
    beside = f"{found[1]} {found[3]}".replace(".", " ")
    allowed = _words((measurement.unit, *measurement.called))
    if not _words([beside]) <= allowed or re.search(r"[^\w\s]", beside):
        return None
    number = float(found[2].replace(",", "."))
    if measurement.whole and (number < 1 or not number.is_integer()):
        return None
    return read_count(str(int(number))) if measurement.whole else number


def _words(texts: Iterable[str]) -> set[str]:
    return {word for text in texts for word in re.findall(r"[^\W\d_]+", folded(text))}


def of_stratum(stratum: Stratum, cell: str, repairs: Repairs) -> str | None:
    """The value of a stratum that a cell means; None for blank. Raises BadCell."""
    word = plain(cell)
    if not word:
        return None
    value = stratum_value(stratum, word)
    if folded(value) != folded(word):
        repairs.note(cell, value)
    return value


def stratum_value(stratum: Stratum, word: str) -> str:
    """The value that is meant: whatever its capitals, after the stratum's own name, and by its number in
    the order of the values where the field says that they may be numbered. Raises BadCell."""
    asked = folded(word)
    by_name = {folded(value): value for value in stratum.values}
    if asked in by_name:
        return by_name[asked]
    bare = _without_name(asked, stratum)
    if bare in by_name:
        return by_name[bare]
    number = re.fullmatch(r"(\d{1,2})(?:[.,]0+)?", bare)
    if stratum.numbered and number and 1 <= int(number[1]) <= len(stratum.values):
        return stratum.values[int(number[1]) - 1]
    raise BadCell(f"is no {stratum.title}; use {', '.join(stratum.values)}")


def _without_name(word: str, stratum: Stratum) -> str:
    """'age group 2' and 'group II' without the words that are only the stratum's name."""
    names = _words(stratum.called)
    parts = word.split()
    while len(parts) > 1 and parts[0].strip(".:") in names:
        parts = parts[1:]
    return " ".join(parts)
