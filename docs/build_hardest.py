"""Builds docs/reference/hardest-texts.md: every shipped English text scored, its hardest words and sentences.

python docs/build_hardest.py            writes the page
python docs/build_hardest.py --check    says whether it is out of date, exit code 1
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from statistics import median

from build_calibration import number, table

from consentpack import shipped
from consentpack.check import module_document
from consentpack.library import Library, load_library
from consentpack.model import DocumentPlan
from consentpack.pipeline import scorer_of
from consentpack.readability import FEWEST_WORDS, SHORTEST_NAMED, Piece, ease_of
from consentpack.readability.common import RARE, bare, forms_of, has_content, zipf
from consentpack.readability.counts import familiar
from consentpack.readability.ease import counts_of, value_of

PAGE = Path(__file__).parent / "reference" / "hardest-texts.md"
WORDS, SENTENCES = 50, 30


@cache
def library() -> Library:
    return load_library(shipped.content())


@cache
def texts() -> list[tuple[str, list[Piece]]]:
    """Each module that a patient reads, by its file, with its sentences."""
    found = []
    for folder, module in library().modules():
        if not (isinstance(module, DocumentPlan) and module.audience == "clinician"):
            document = module_document(folder, module, library())
            found.append((module.file, scorer_of(library()).pieces(document)))
    return found


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
    if term := next((t for t in library().terms if t.clinical.lower() in forms), None):
        return f"glossary: “{term.plain}”"
    reason = next((library().ease.known[form] for form in forms if form in library().ease.known), "")
    return f"listed: {reason}" if reason else "NOT EXPLAINED"


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


def sentences_table() -> str:
    rows = [
        (piece.text.replace("|", "/"), number(value, 2, sign=True), number(grade, 1), piece.source)
        for (value, grade, piece), _ in zip(hardest(), range(SENTENCES), strict=False)
    ]
    return table(("sentence", "second score", "grade", "where"), rows, words=(0, 3))


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

{sentences_table()}"""


def main() -> None:
    made = page()
    if "--check" not in sys.argv:
        PAGE.write_text(made, encoding="utf-8")
    elif not PAGE.exists() or PAGE.read_text(encoding="utf-8") != made:
        sys.exit(f"{PAGE} is out of date. Run: python docs/build_hardest.py")


if __name__ == "__main__":
    main()
