"""Readability results."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Sentence:
    """One scored sentence and where it was written."""

    text: str
    source: str
    grade: float
    words: int


@dataclass(frozen=True)
class SectionScore:
    """The grade of one section; `grade` is None when it is too short to score."""

    id: str
    heading: str
    words: int
    sentences: int
    grade: float | None


@dataclass(frozen=True)
class Score:
    """Readability of one document."""

    kind: str
    words: int
    sentences: int
    grade: float | None
    target: float
    sections: tuple[SectionScore, ...]
    measure: str = "Flesch-Kincaid grade"

    @property
    def over(self) -> tuple[str, ...]:
        """Ids of what is over the target; '' stands for the whole document."""
        hard = [s.id for s in self.sections if s.grade is not None and s.grade > self.target]
        whole = [""] if self.grade is None or self.grade > self.target else []
        return tuple(whole + hard)
