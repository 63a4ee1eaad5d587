"""How far each measure moves when a text is changed a little: a study with a fixed seed.

A passage is a run of sentences from our own modules, from a random start. One small edit is made, and
each measure is taken before and after. Only the changed sentences are counted anew.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import accumulate
from random import Random
from statistics import fmean, stdev

from calibration.passages import passages, scorer, sentences_of
from calibration.synonyms import OTHER
from consentpack.readability.counts import Counts, sentence_counts
from consentpack.readability.measures import measures_for

SEED = 20261125
TRIALS = 1000
LENGTHS = (100, 300, 1000, 3000)
"""Words of a passage."""
CHANGED, OF = 5, 200
"""Words changed, in each so many."""
SHORTEST_SPLIT = 8
"""Words. Nobody parts a shorter sentence."""
LOW, HIGH = 0.025, 0.975
MEASURES = measures_for("en")
_WORD = re.compile(r"[A-Za-z']{2,}")


@dataclass(frozen=True)
class Text:
    """One passage: its sentences and their counts together."""

    sentences: Sequence[str]
    counts: Counts


@dataclass(frozen=True)
class Change:
    """How one measure moved under one kind of edit at one length."""

    spread: float
    """Standard deviation."""
    low: float
    high: float
    """95 in 100 changes lie between."""

    @property
    def most(self) -> float:
        """The larger end, without its sign."""
        return max(abs(self.low), abs(self.high))


@cache
def pool() -> tuple[str, ...]:
    return tuple(sentences_of())


@cache
def counted(sentence: str) -> Counts:
    """Counts of a sentence of the pool; changed ones are counted once and not kept."""
    return sentence_counts(sentence, scorer().syllables)


@cache
def _running() -> tuple[Counts, ...]:
    """Counts of the first n sentences, of the pool set twice in a row: a run may go past its end."""
    return tuple(accumulate(map(counted, pool() * 2), initial=Counts()))


def passage(words: int, rng: Random) -> Text:
    """Consecutive sentences with at least so many words."""
    start = rng.randrange(len(pool()))
    end, running = start, _running()
    while running[end].words - running[start].words < words:
        end += 1
    return Text((pool() * 2)[start:end], running[end] - running[start])


# --- the edits: each gives what a text counts afterwards ------------------------------------------


def recounted(text: Text, old: str, *new: str) -> Counts:
    """The text's counts with one sentence replaced by others."""
    counts = text.counts - counted(old)
    for sentence in new:
        counts += sentence_counts(sentence, scorer().syllables)
    return counts


def synonym(text: Text, rng: Random) -> Counts:
    """One word becomes a synonym that is longer or shorter."""
    places = [(s, span) for s in text.sentences for span in _replaceable(s)]
    if not places:
        return text.counts
    sentence, (start, end) = places[rng.randrange(len(places))]
    new = _like(sentence[start:end], OTHER[sentence[start:end].lower()])
    return recounted(text, sentence, sentence[:start] + new + sentence[end:])


@cache
def _spans(sentence: str) -> tuple[tuple[int, int], ...]:
    """Where the words of a sentence of the pool are."""
    return tuple(found.span() for found in _WORD.finditer(sentence))


@cache
def _replaceable(sentence: str) -> tuple[tuple[int, int], ...]:
    """Where its words with a synonym are."""
    return tuple(span for span in _spans(sentence) if sentence[slice(*span)].lower() in OTHER)


def _like(written: str, word: str) -> str:
    return word.capitalize() if written[:1].isupper() else word


def split_one(text: Text, rng: Random) -> Counts:
    """One sentence of eight words or more becomes two, in its middle."""
    long = [s for s in text.sentences if counted(s).words >= SHORTEST_SPLIT]
    if not long:
        return text.counts
    sentence = long[rng.randrange(len(long))]
    words = sentence.split()
    first, second = words[: len(words) // 2], words[len(words) // 2 :]
    second[0] = second[0].capitalize()
    return recounted(text, sentence, " ".join(first).rstrip(",;:") + ".", " ".join(second))


def drop_one(text: Text, rng: Random) -> Counts:
    """One sentence is left out."""
    return text.counts - counted(text.sentences[rng.randrange(len(text.sentences))])


def five_in_200(text: Text, rng: Random) -> Counts:
    """Five words in every 200 become other words of our modules, drawn at random."""
    places = [(i, span) for i, s in enumerate(text.sentences) for span in _spans(s)]
    number = max(1, round(text.counts.words * CHANGED / OF))
    chosen: dict[int, list[tuple[int, int]]] = {}
    for index in _different(rng, len(places), number):
        chosen.setdefault(places[index][0], []).append(places[index][1])
    counts = text.counts
    for i, spans in chosen.items():
        new = _with_others(text.sentences[i], spans, rng)
        counts += sentence_counts(new, scorer().syllables) - counted(text.sentences[i])
    return counts


def _different(rng: Random, below: int, number: int) -> list[int]:
    """Different numbers below a bound, in order. `Random.sample` may change with Python; this does not."""
    found: set[int] = set()
    while len(found) < min(number, below):
        found.add(rng.randrange(below))
    return sorted(found)


def _with_others(sentence: str, spans: list[tuple[int, int]], rng: Random) -> str:
    for start, end in sorted(spans, reverse=True):
        other = _like(sentence[start:end], _words()[rng.randrange(len(_words()))])
        sentence = sentence[:start] + other + sentence[end:]
    return sentence


@cache
def _words() -> tuple[str, ...]:
    return tuple(word.lower() for sentence in pool() for word in _WORD.findall(sentence))


def elsewhere(text: Text, rng: Random) -> Counts:
    """Another passage of the same length: no edit, but what chance alone does."""
    return passage(text.counts.words, rng).counts


Edit = Callable[[Text, Random], Counts]
EDITS: dict[str, Edit] = {
    "One word becomes a synonym of another length": synonym,
    "One sentence is split in two": split_one,
    "One sentence is left out": drop_one,
    "Five words in every 200 are changed": five_in_200,
}
ANOTHER = "Another passage from the same texts"

# --- the study ------------------------------------------------------------------------------------


def study(edit: Edit, words: int) -> dict[str, Change]:
    """How each measure moved. A measure that a passage is too short for is not there."""
    # a seed of its own for each cell: one more trial or edit leaves the others as they are
    rng = Random(f"{SEED} {edit.__name__} {words}")
    moves: dict[str, list[float]] = {measure.id: [] for measure in MEASURES}
    for _ in range(TRIALS):
        text = passage(words, rng)
        for id, by in _moved(text.counts, edit(text, rng)):
            moves[id].append(by)
    return {id: change(found) for id, found in moves.items() if len(found) == TRIALS}


def _moved(before: Counts, after: Counts) -> Iterator[tuple[str, float]]:
    for measure in MEASURES:
        old, new = measure.of(before), measure.of(after)
        if old is not None and new is not None:
            yield measure.id, new - old


def change(moves: Sequence[float]) -> Change:
    ordered = sorted(moves)
    last = len(ordered) - 1
    low, high = ordered[round(LOW * last)], ordered[round(HIGH * last)]
    return Change(stdev(ordered, fmean(ordered)), low, high)


@cache
def results() -> dict[tuple[str, int], dict[str, Change]]:
    """Every edit at every length."""
    return {(name, words): study(edit, words) for name, edit in EDITS.items() for words in LENGTHS}


@cache
def chance() -> dict[int, dict[str, Change]]:
    """Two passages of one length from the same texts. The longest would be nearly the whole."""
    return {words: study(elsewhere, words) for words in LENGTHS[:-1]}


def plain_and_hard() -> tuple[float, float]:
    """Words per sentence of the studied texts, and of the hard news beside them."""
    hard = next(p.counts for p in passages() if "hard" in p.name)
    mine = _running()[len(pool())]
    return mine.words / mine.sentences, hard.words / hard.sentences
