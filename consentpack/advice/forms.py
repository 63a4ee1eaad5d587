"""Forms of words, and putting other words into a sentence so that it stays English.

lemminflect knows the forms; what is here chooses the British one and mends what stands beside a word:
'an adrenaline pen' must not become 'an medicine pen'.
"""

from __future__ import annotations

import re
from functools import lru_cache

VERB_TAGS = ("VBZ", "VBD", "VBG", "VBN")
_BRITISH = {"gotten": "got"}
_DOUBLED = ("lling", "lled")
"""British 'cancelling' where American has one l; both are in the tables."""


@lru_cache(5000)
def lemmas(low: str, kind: str) -> tuple[str, ...]:
    """What a word could be a form of, as one part of speech ('VERB', 'NOUN', 'ADJ', 'ADV')."""
    import lemminflect  # noqa: PLC0415 - its tables take a third of a second

    return tuple(lemminflect.getAllLemmas(low).get(kind, ()))


@lru_cache(5000)
def inflected(words: str, tag: str) -> str:
    """A verb with what belongs to it in another form: 'put in' -> 'putting in'."""
    import lemminflect  # noqa: PLC0415

    if ", " in words:  # several choices, each a verb of its own
        return ", ".join(inflected(each, tag) for each in words.split(", "))
    first, space, rest = words.partition(" ")
    found = lemminflect.getInflection(first, tag=tag) or lemminflect.getInflection(first, tag="VBD")
    best = next((each for each in found if each.endswith(_DOUBLED)), found[0] if found else first)
    return _BRITISH.get(best, best) + space + rest


@lru_cache(5000)
def is_participle(low: str) -> bool:
    """Whether a word is the past participle of a verb ('cleaned', 'taken')."""
    import lemminflect  # noqa: PLC0415

    for lemma in lemmas(low, "VERB"):
        forms = lemminflect.getAllInflections(lemma, "VERB")
        # regular verbs have no entry of their own: their participle is the past form
        if low in forms.get("VBN", ()) or (low.endswith("ed") and low in forms.get("VBD", ())):
            return True
    return False


_HEAD = re.compile(
    r"\s+(?:of|that|which|in|on|at|under|near|for|from|with|within|round|to|by|caused|\w+ing)\b"
)


@lru_cache(2000)
def plural(words: str) -> str:
    """'pocket of blood' -> 'pockets of blood'."""
    before, noun, rest = _noun_of(words)
    return before + _plurals(noun)[0] + rest


_MASS = frozenset(
    ["medicine", "relief", "tissue", "skin", "filler", "blood", "ooze", "vision", "pus", "acid"]
)


@lru_cache(2000)
def countable(words: str) -> bool:
    """Whether words need an article: 'a bruise', but not 'a redness'."""
    _, noun, _ = _noun_of(words)
    return bool(lemmas(noun, "NOUN")) and noun not in _MASS and not noun.endswith(("ing", "ness", "s"))


def _noun_of(words: str) -> tuple[str, str, str]:
    """What stands before the noun that counts, the noun, and what stands after it."""
    cut = _HEAD.search(words)
    head, rest = (words[: cut.start()], words[cut.start() :]) if cut else (words, "")
    before, space, noun = head.rpartition(" ")
    return before + space, noun, rest


def _plurals(noun: str) -> tuple[str, ...]:
    import lemminflect  # noqa: PLC0415

    return tuple(lemminflect.getInflection(noun, tag="NNS")) or (noun + "s",)


@lru_cache(2000)
def singular(words: str) -> str:
    """'nerve blocks' -> 'nerve block'."""
    import lemminflect  # noqa: PLC0415

    before, space, noun = words.rpartition(" ")
    found = lemminflect.getLemma(noun, "NOUN")
    return before + space + (found[0] if found else noun)


# --- into a sentence ------------------------------------------------------------------------

_ARTICLE = re.compile(r"\b(an?)(\s+)$", re.IGNORECASE)
_UNCOUNTED = re.compile(r"(?:a|an|the|more|many|much|enough|less|some|too|not|a lot of)\b", re.IGNORECASE)
_VOWEL_SOUND = re.compile(
    r"(?:a|e(?!u[rl])|i|o(?!ne\b|nce\b)|u(?!ni(?![nm])|s[eu]|r[io])|hour|honest|8|11\b|18\b)", re.IGNORECASE
)


def put_in(text: str, start: int, end: int, words: str) -> str:
    """A sentence with other words in a place, with capital and 'a' or 'an' as they should be.

    '' where the words offer a choice ('large, important') or would not fit ('a more visit').
    """
    before = text[:start]
    article = _ARTICLE.search(before)
    if "," in words or (article and _UNCOUNTED.match(words)):
        return ""
    if article:
        right = "an" if _VOWEL_SOUND.match(words) else "a"
        before = before[: article.start()] + like(article.group(1), right) + article.group(2)
    if text.isupper():
        words = words.upper()
    elif start == 0 or not text[start:end].isupper():  # an abbreviation says nothing of capitals
        words = like(text[start:end], words)
    return before + words + text[end:]


def like(written: str, plain: str) -> str:
    """Plain words with a capital where the hard ones had one."""
    return plain[:1].upper() + plain[1:] if written[:1].isupper() else plain


# --- is it a verb here? ---------------------------------------------------------------------

_BEFORE_VERB = re.compile(
    r"\b(?:to|you|we|they|i|who|will|may|can|must|should|could|would|might|shall|please|cannot|don't|never"
    r"|always|also|(?:do|does|did|may|will|must|should|can|could|would) not)\s+(?:\w+ly\s+)?$",
    re.IGNORECASE,
)
_LEADS = re.compile(r"(?:^|[,;:(]\s*|\b(?:and|or|then|but|first)\s+)(?:\w+ly\s+)?$", re.IGNORECASE)
_OBJECT = re.compile(
    r"\s+(?:the|your|this|these|that|those|it|an?|any|all|each|every|our|us|them|him|her|his|their|my|me"
    r"|both|\d+)\b",
    re.IGNORECASE,
)


def as_verb(text: str, start: int, end: int) -> bool:
    """Whether a word stands where a verb does: 'to contact', 'Contact us', not 'contact sport'."""
    before = text[:start]
    return bool(_BEFORE_VERB.search(before) or (_LEADS.search(before) and _OBJECT.match(text, end)))
