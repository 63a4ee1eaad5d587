"""Builds docs/reference/hardest-texts.md: every shipped English text scored, its hardest words and sentences.

python docs/build_hardest.py            writes the page
python docs/build_hardest.py --check    says whether it is out of date, exit code 1

docs/hardest_sentences.toml holds which sentences were rewritten, and why the others stay.
"""

from __future__ import annotations

import sys
import tomllib
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from statistics import mean, median
from typing import Any

from build_calibration import number, table

from consentpack import shipped
from consentpack.check import module_document
from consentpack.library import Library, load_library
from consentpack.library.roots import USUAL, fields_there
from consentpack.model import DocumentPlan
from consentpack.pipeline import scorer_of
from consentpack.readability import FEWEST_WORDS, SHORTEST_NAMED, Piece, ease_of, prepare, split
from consentpack.readability.common import RARE, bare, forms_of, has_content, zipf
from consentpack.readability.counts import familiar
from consentpack.readability.ease import counts_of, value_of

PAGE = Path(__file__).parent / "reference" / "hardest-texts.md"
REWRITTEN = Path(__file__).parent / "hardest_sentences.toml"
WORDS, SENTENCES = 50, 30
UNEXPLAINED = "NOT EXPLAINED"


@cache
def libraries() -> list[Library]:
    """That of each field that is shipped, the usual one first."""
    names = ["" if name == USUAL else name for name in fields_there(shipped.content())]
    return [load_library(shipped.content(), field=name) for name in names]


def library() -> Library:
    return libraries()[0]


@cache
def texts() -> list[tuple[str, list[Piece]]]:
    """Each module that a patient reads, by its file, with its sentences."""
    found = {}
    for each in libraries():
        for folder, module in each.modules():
            if not (isinstance(module, DocumentPlan) and module.audience == "clinician"):
                document = module_document(folder, module, each)
                found.setdefault(module.file, scorer_of(each).pieces(document))
    return list(found.items())


@cache
def rewritten() -> dict[str, Any]:
    """docs/hardest_sentences.toml."""
    return tomllib.loads(REWRITTEN.read_text(encoding="utf-8"))


def rarest() -> list[tuple[str, int, str]]:
    """The rarest words with how often they stand, and where first."""
    times: Counter[str] = Counter()
    first: dict[str, str] = {}
    for _, pieces in texts():
        for piece in pieces:
            for word in filter(has_content, piece.words):
                times[bare(word)] += 1
                first.setdefault(bare(word), piece.source)
    rare = sorted((word for word in times if zipf(word) < RARE), key=lambda word: (zipf(word), word))
    return [(word, times[word], first[word]) for word in rare]


def dealt_with(word: str) -> str:
    """Why a rare word may stand; the order is that of the rule."""
    forms = (word, *forms_of(word))
    if common := next((form for form in forms if zipf(form) >= RARE), ""):
        return f"a form of “{common}”"
    if familiar(word):
        return "children of about ten know it"
    terms = (term for each in libraries() for term in each.terms)
    if term := next((t for t in terms if t.clinical.lower() in forms), None):
        return f"glossary: “{term.plain}”"
    reason = next((library().ease.known[form] for form in forms if form in library().ease.known), "")
    return f"listed: {reason}" if reason else UNEXPLAINED


def words_table() -> str:
    rows = [
        (word, number(zipf(word)), str(times), place, dealt_with(word))
        for word, times, place in rarest()[:WORDS]
    ]
    return table(("word", "Zipf", "times", "first", "why it may stand"), rows, words=(0, 3, 4))


def hardest() -> Iterator[tuple[float, float, Piece]]:
    """Each sentence once, with its second score and its grade, the hardest first."""
    seen: dict[str, Piece] = {}
    for _, pieces in texts():
        for piece in pieces:
            if piece.counts.words >= SHORTEST_NAMED:
                seen.setdefault(piece.text, piece)
    scored = [
        (value_of(counts_of([p]), library().ease), scorer_of(library()).value(p), p) for p in seen.values()
    ]
    yield from sorted(scored, key=lambda each: (-each[0], each[2].text))


def why_it_stays(sentence: str) -> str:
    """Why a hard sentence was left as it is."""
    for each in rewritten()["stays"]:
        if sentence.startswith(tuple(each["begin"])):
            return str(each["reason"])
    return UNEXPLAINED


def sentences_table() -> str:
    rows = [
        (
            piece.text.replace("|", "/"),
            number(value, 2, sign=True),
            number(grade, 1),
            piece.source,
            why_it_stays(piece.text),
        )
        for (value, grade, piece), _ in zip(hardest(), range(SENTENCES), strict=False)
    ]
    return table(("sentence", "second score", "grade", "where", "why it stays"), rows, words=(0, 3, 4))


def pieces_of(text: str) -> list[Piece]:
    return [scorer_of(library()).piece(sentence) for sentence in split(prepare(text, "en"))]


def worst_of(text: str) -> tuple[float, float]:
    """Second score and grade of the hardest of some sentences."""
    found = pieces_of(text)
    return (
        max(value_of(counts_of([piece]), library().ease) for piece in found),
        max(scorer_of(library()).value(piece) for piece in found),
    )


def gone() -> list[str]:
    """Sentences that are called rewritten and stand in no text."""
    there = {piece.text for _, pieces in texts() for piece in pieces}
    said = [piece.text for each in rewritten()["mended"] for piece in pieces_of(each["after"])]
    return [sentence for sentence in said if sentence not in there]


def mended_table() -> str:
    rows = []
    for each in rewritten()["mended"]:
        before, after = worst_of(each["before"]), worst_of(each["after"])
        scores = (number(x, places, sign=places > 1) for x, places in _pairs(before, after))
        rows.append((each["before"], each["after"], *scores))
    head = ("before", "after", "score before", "after", "grade before", "after")
    return table(head, sorted(rows, key=lambda row: row[0]), words=(0, 1))


def _pairs(before: tuple[float, float], after: tuple[float, float]) -> Iterator[tuple[float, int]]:
    for which, places in ((0, 2), (1, 1)):
        yield from ((before[which], places), (after[which], places))


def before_and_after() -> str:
    was = rewritten()["before"]
    values = [value for (value, _, _), _ in zip(hardest(), range(SENTENCES), strict=False)]
    scored = [found for _, pieces in texts() if (found := ease_of(pieces, library().ease))]
    rows = [
        (f"mean of the {SENTENCES} hardest sentences", was["sentences_mean"], mean(values)),
        ("the hardest sentence", was["sentences_first"], values[0]),
        (f"sentence number {SENTENCES}", was["sentences_last"], values[-1]),
    ]
    counts = [
        ("passages for schools, of 100, that are harder than the hardest text", was["hardest_text_school"],
         min(each.easier_than[0].of_100 for each in scored)),
        ("medical summaries for the public, of 100, that are", was["hardest_text_public"],
         min(each.easier_than[1].of_100 for each in scored)),
    ]  # fmt: skip
    said = [(name, *(number(x, 2, sign=True) for x in pair)) for name, *pair in rows]
    counted = [(name, *(str(x) for x in pair)) for name, *pair in counts]
    return table(("", "before", "now"), [*said, *counted])


def reasons_table() -> str:
    """How the rare words are dealt with, by kind."""
    kinds = Counter(dealt_with(word).partition(":")[0].partition("“")[0].strip() for word, _, _ in rarest())
    rows = [(kind, str(n)) for kind, n in sorted(kinds.items(), key=lambda each: (-each[1], each[0]))]
    return table(("what is done", "words"), rows)


def summary() -> str:
    scored = [ease_of(pieces, library().ease) for _, pieces in texts()]
    long = [each for each in scored if each]
    short = len(texts()) - len(long)
    public = [each.easier_than[1].of_100 for each in long]
    school = [each.easier_than[0].of_100 for each in long]
    return (
        f"{len(texts())} texts were read. {short} have fewer than {FEWEST_WORDS} words and no score of their "
        "own. "
        f"Of the others, half are easier than {median(school):.0f} of 100 passages for schools and "
        f"{median(public):.0f} of 100 medical summaries for the public; the hardest is easier than "
        f"{min(school)} and {min(public)}."
    )


def _words_gone() -> str:
    there = {word for word, _, _ in rarest()}
    return ", ".join(f"“{word}”" for word in rewritten()["before"]["words_gone"] if word not in there)


def page() -> str:
    return f"""<!-- Built by docs/build_hardest.py. Do not edit. -->

# The hardest words and sentences

Every shipped English text that patients read, by [the score beside the grade](../why/the-second-score.md).
{summary()}

## Rare words

A word is looked at when its Zipf value is under 4. There are {len(rarest())} in the texts. Before there
was a list, nothing was known of them but their syllables. Now:

{reasons_table()}
The {WORDS} rarest:

{words_table()}
## Sentences

The {SENTENCES} hardest sentences of {SHORTEST_NAMED} words or more. The second score is in standard
deviations: 0 is the mean of news and school readers, and higher is harder. A single sentence swings more than
a text.

{sentences_table()}
## What was rewritten

{before_and_after()}
{len(rewritten()["mended"])} sentences were said again, with every fact, number and condition that they had.
Where one became two, the scores are those of the harder one. A value of the clinic counts as the word
“number”. What is called “before” was counted on the texts of the usual field. Of the {WORDS} rarest words
of then, these stand in no text now: {_words_gone()}.

{mended_table()}"""


def main() -> None:
    made = page()
    if "--check" not in sys.argv:
        PAGE.write_text(made, encoding="utf-8")
    elif not PAGE.exists() or PAGE.read_text(encoding="utf-8") != made:
        sys.exit(f"{PAGE} is out of date. Run: python docs/build_hardest.py")


if __name__ == "__main__":
    main()
