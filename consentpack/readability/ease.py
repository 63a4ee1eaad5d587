"""A score beside the grade, from how common the words are, the longest sentence and ideas a sentence.

A grade counts syllables. On medical sentences that people rated, how common the words are says more
(docs/why/the-second-score.md). Each ingredient is a distance from the mean of freely licensed texts of known
level, in their standard deviations; their weights are equal, because equal weights cannot be fitted to the
ratings they are compared with (Dawes 1979, Am Psychol 34:571). English only.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import log

from consentpack.model import Ease, EaseRules, EasierThan, RareWord, Term
from consentpack.readability.common import bare, forms_of, has_content, rare, zipf
from consentpack.readability.scoring import FEWEST_WORDS, Piece
from consentpack.signs import root

PASSAGE_WORDS = 170
"""Words of a passage: about the length of the texts a document is set beside. The longest sentence of a whole
document would grow with the document."""
_ALL_COMMON = 5.0
"""Familiarity of a passage that has no content word."""


@dataclass(frozen=True)
class Read:
    """One sentence with the Zipf values of its content words."""

    piece: Piece
    content: tuple[float, ...]


Passage = list[Read]


def has_ease(language: str) -> bool:
    """Whether there is a second score for a language."""
    return root(language) == "en"


def ease_of(pieces: Iterable[Piece], rules: EaseRules, terms: Iterable[Term] = ()) -> Ease | None:
    """The second score of English sentences; None for too few words, or rules without ingredients."""
    found = [piece for piece in pieces if piece.words]
    words = sum(len(piece.words) for piece in found)
    if words < FEWEST_WORDS or not rules.ingredients:
        return None
    counted = counts_of(found)
    value = value_of(counted, rules)
    longest = max(found, key=lambda piece: len(piece.words))
    return Ease(
        value,
        tuple(EasierThan(k.id, k.name, sum(value < cut for cut in k.cuts)) for k in rules.kinds),
        counted,
        sum(word[0].isdigit() for piece in found for word in piece.words) / len(found),
        longest.text,
        len(longest.words),
        longest.source,
        rare_in(found, rules, terms),
    )


def counts_of(pieces: Iterable[Piece]) -> Mapping[str, float]:
    """Each ingredient's value, averaged over passages. There must be a sentence with a word."""
    found = _passages([_read(piece) for piece in pieces if piece.words])
    return {id: _mean([counted(each) for each in found]) for id, counted in INGREDIENTS.items()}


def value_of(counted: Mapping[str, float], rules: EaseRules) -> float:
    """The score: the weighted sum of distances from the mean."""
    return sum(i.weight * (counted[i.id] - i.mean) / i.sd for i in rules.ingredients)


def _read(piece: Piece) -> Read:
    return Read(piece, tuple(zipf(word) for word in piece.words if has_content(word)))


def _passages(read: Passage) -> list[Passage]:
    """The sentences in runs of about PASSAGE_WORDS words, all of them near the same length."""
    words = sum(len(each.piece.words) for each in read)
    share = words / max(1, round(words / PASSAGE_WORDS))
    made: list[Passage] = [[]]
    done = 0
    for each in read:
        if made[-1] and done >= share * len(made):
            made.append([])
        made[-1].append(each)
        done += len(each.piece.words)
    return made


def _mean(values: Sequence[float]) -> float:
    """That of the standard library is exact, and slow on the short lists that there are thousands of."""
    return sum(values) / len(values)


def _familiarity(passage: Passage) -> float:
    content = [value for each in passage for value in each.content]
    return _mean(content) if content else _ALL_COMMON


def _unlisted(passage: Passage) -> float:
    words = sum(each.piece.counts.words for each in passage)
    return 100 * sum(each.piece.counts.unlisted for each in passage) / words


def _longest(passage: Passage) -> float:
    return log(max(len(each.piece.words) for each in passage))


def _ideas(passage: Passage) -> float:
    return _mean([len(each.content) for each in passage])


INGREDIENTS: Mapping[str, Callable[[Passage], float]] = {
    "familiarity": _familiarity,
    "unlisted": _unlisted,
    "longest": _longest,
    "ideas": _ideas,
}
"""Ingredient -> how it is counted in one passage."""


def rare_in(pieces: Iterable[Piece], rules: EaseRules, terms: Iterable[Term] = ()) -> tuple[RareWord, ...]:
    """Rare words of sentences that are not among those that may stand, the rarest first, with plain words for
    terms."""
    times: Counter[str] = Counter()
    first: dict[str, str] = {}
    for piece in pieces:
        for word in filter(rare, piece.words):
            times[low := bare(word)] += 1
            first.setdefault(low, piece.source)
    left = [word for word in times if not _one_of(word, rules.known)]
    plain = {term.clinical.lower(): term.plain for term in terms} if left else {}
    found = [RareWord(w, zipf(w), times[w], first[w], _one_of(w, plain)) for w in left]
    return tuple(sorted(found, key=lambda each: (each.zipf, each.word)))


def _one_of(word: str, listed: Mapping[str, str]) -> str:
    """What is listed beside a word, or beside the word it is a regular form of; '' where neither is."""
    return next((listed[form] for form in (word, *forms_of(word)) if form in listed), "")
