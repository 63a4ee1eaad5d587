"""The fixed passages: one of 1863, the graded ones of the tests, and some of our own modules."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from consentpack.check import module_document
from consentpack.pipeline import open_library
from consentpack.pipeline.place import scorer_of
from consentpack.readability import Scorer, prepare, split
from consentpack.readability.counts import Counts

HERE = Path(__file__).parent
GRADED = HERE.parents[1] / "tests" / "outside" / "graded"
MODULES = ("techniques/needle-fan-one-entry", "techniques/local-infiltration", "techniques/scar-excision")
"""Our own modules that are set beside other programs."""
STUDIED = (*MODULES, "techniques/nerve-block-face", "techniques/dermal-graft")
"""About 4,100 words, for the study of small edits."""


@dataclass(frozen=True)
class Passage:
    """A text as it is scored, and what we count in it."""

    name: str
    text: str
    counts: Counts


@cache
def scorer() -> Scorer:
    return scorer_of(open_library(None))


@cache
def passages() -> tuple[Passage, ...]:
    """Every fixed passage, in the order of the page."""
    news = (("elementary", "easy"), ("intermediate", "middle"), ("advanced", "hard"))
    return (
        _passage("Gettysburg Address, 1863", (HERE / "gettysburg.txt").read_text(encoding="utf-8")),
        *(_graded(f"School reader {n}, 1879", f"mcguffey/{n}-*.txt") for n in (2, 3, 4, 5, 6)),
        *(_graded(f"News, {said} version", f"onestopenglish/{level}-*.txt") for level, said in news),
        *(_passage(f"`{key}`", " ".join(module_sentences(key)), ready=True) for key in MODULES),
    )


def _graded(name: str, pattern: str) -> Passage:
    """All passages of one level as one text: a hundred words alone say little."""
    files = sorted(GRADED.glob(pattern))
    return _passage(name, "\n\n".join(file.read_text(encoding="utf-8") for file in files))


def _passage(name: str, text: str, *, ready: bool = False) -> Passage:
    prepared = text if ready else " ".join(map(prepare, re.split(r"\n\s*\n", text.strip())))
    return Passage(name, prepared, scorer().counts_of(prepared))


def module_sentences(key: str) -> list[str]:
    """What a patient reads of one module, sentence by sentence, as it is scored."""
    library = open_library(None)
    folder, id = key.split("/")
    module = next(m for where, m in library.modules() if (where, m.id) == (folder, id))
    return [piece.text for piece in scorer().pieces(module_document(folder, module, library))]


def sentences_of(keys: Iterable[str] = STUDIED) -> list[str]:
    return [sentence for key in keys for sentence in module_sentences(key)]


def sentences_in(passage: Passage) -> list[str]:
    return split(passage.text)
