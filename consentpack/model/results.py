"""Readability results."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class ReadingTarget:
    """How hard a document may be by one published measure, and who says so."""

    id: str
    measure: str
    """Id of the measure, such as 'flesch-kincaid'."""
    limit: float
    who: str
    """Whose target it is, in words."""
    why: str = ""
    sources: tuple[str, ...] = ()
    language: str = "en"
    high_is_hard: bool = True
    default: bool = False
    """Whether it is the one of its language when the clinic has chosen none."""

    def met(self, value: float) -> bool:
        """Whether a value is at or on the easy side of the limit."""
        return value <= self.limit if self.high_is_hard else value >= self.limit


@dataclass(frozen=True)
class ReadingRules:
    """The reading targets a clinic has set itself: names of published ones, or grades of its own."""

    target: str | float = ""
    documents: Mapping[str, str | float] = field(default_factory=dict)
    """Kind of document -> its own target."""
    languages: Mapping[str, str] = field(default_factory=dict)
    """Language -> the target of documents in it."""


@dataclass(frozen=True)
class HardWord:
    """A word of three or more syllables in a sentence."""

    word: str
    syllables: int


@dataclass(frozen=True)
class Sentence:
    """One scored sentence and where it was written."""

    text: str
    source: str
    grade: float
    words: int
    hard: tuple[HardWord, ...] = ()


@dataclass(frozen=True)
class SectionScore:
    """The grade of one section; `grade` is None when it is too short to score."""

    id: str
    heading: str
    words: int
    sentences: int
    grade: float | None


@dataclass(frozen=True)
class Measured:
    """The value of one measure; None when there was too little text for it."""

    id: str
    name: str
    value: float | None
    why_not: str = ""
    as_grade: float | None = None
    """The value as a US grade, where the measure has one."""
    textstat: float | None = None
    """textstat's own number for the same prepared text, where it counts otherwise."""


@dataclass(frozen=True)
class Score:
    """Readability of one document.

    `grade` decides: for English the harder of the grade on corrected syllables and textstat's own;
    for another language the first measure made for it; None when the text is too short or no
    measure was made for its language.
    """

    kind: str
    words: int
    sentences: int
    grade: float | None
    target: ReadingTarget | None
    """None where no validated measure exists for the language: then nothing is judged."""
    sections: tuple[SectionScore, ...]
    measure: str = "Flesch-Kincaid grade"
    language: str = "en-GB"
    corrected: float | None = None
    textstat: float | None = None
    plain_terms: float | None = None
    """The grade with defined clinical terms replaced by their plain form. Never decides."""
    measures: tuple[Measured, ...] = ()
    spread: tuple[str, ...] = ()
    """Warnings where the measures disagree more than they usually do."""
    sentence_length: float = 0.0
    """Words a sentence, on average."""
    long_words: float = 0.0
    """Percent of words of more than six letters."""
    left_out: Mapping[str, int] = field(default_factory=dict)
    """What was not scored -> how many of it."""

    @property
    def over(self) -> tuple[str, ...]:
        """Ids of what misses the target; '' stands for the whole document."""
        if self.target is None:
            return ()
        hard = [s.id for s in self.sections if s.grade is not None and not self.target.met(s.grade)]
        whole = [""] if self.grade is None or not self.target.met(self.grade) else []
        return tuple(whole + hard)


@dataclass(frozen=True)
class Remark:
    """Something an editor would mend, with its place, and what mending it would do."""

    rule: str
    source: str
    text: str
    """The sentence it stands in."""
    found: str
    advice: str
    instead: str = ""
    """The sentence as it could read; '' where only a person can say."""
    before: float | None = None
    after: float | None = None
    """The document's grade now, and with `instead` in its place."""
