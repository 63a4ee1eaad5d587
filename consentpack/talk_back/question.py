"""One question of the talk-back, and what may be marked beside it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from consentpack.tree import Paragraph, text_of

QUESTIONS = ("what", "gain", "harm", "serious", "choice", "tonight", "ring")
"""What is asked, in the order in which it is asked: what is done, what it may gain, a harm that many have, a
serious one, another choice, what to do when a sign comes, whom to ring. These words are typed and counted."""
MOST, FEWEST = len(QUESTIONS), 5
"""Most and fewest questions of a talk. Fewer leave out what somebody must know to decide."""
MARKS: Mapping[str, int] = {"said": 2, "again": 1, "not-yet": 0}
"""A mark as it is typed -> how it is kept: said it; said it after we explained again; not yet. A question
without a mark was not asked: it never counts as not understood."""


@dataclass(frozen=True)
class Place:
    """Where an answer stands, so that it can be shown again."""

    paper: str
    """Kind of document."""
    title: str
    heading: str
    """As the reader sees it: of the section, the frame or the column."""


@dataclass(frozen=True)
class Question:
    """One question, before it is put into words."""

    kind: str
    """One of QUESTIONS."""
    module: str
    """Folder and id of the text it is about."""
    digest: str
    """SHA-256 of that text as it was when the paper was made."""
    about: str
    """What the question names, in English; '' where it names nothing."""
    answer: tuple[Paragraph, ...]
    """Paragraphs of the paper itself: the answer is never written a second time."""
    place: Place

    @property
    def said(self) -> str:
        """The answer as one line."""
        return " / ".join(text for each in self.answer if (text := text_of(each.runs)))


def as_json(language: str, asked: Iterable[Question]) -> dict[str, Any]:
    """What a manifest keeps, so that marks can be entered later for the very texts that were given."""
    listed = [
        {
            "question": each.kind,
            "module": each.module,
            "digest": each.digest,
            "answer": each.said,
            "paper": each.place.paper,
            "heading": each.place.heading,
        }
        for each in asked
    ]
    return {"language": language, "questions": listed}


def from_json(manifest: Mapping[str, Any]) -> tuple[str, dict[str, tuple[str, str, str]]]:
    """Language, and question -> its module, digest and answer, as a manifest holds them; no question where it
    holds none. Raises ValueError, TypeError, KeyError or AttributeError for what is no manifest of ours."""
    kept = manifest.get("talk_back") or {"language": "", "questions": []}
    found = {
        str(each["question"]): (str(each["module"]), str(each["digest"]), str(each["answer"]))
        for each in kept["questions"]
    }
    return str(kept["language"]), found
