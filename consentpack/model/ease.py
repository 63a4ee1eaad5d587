"""The score beside the grade: what it is made of, and what it said of a text."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

HALF = 50


@dataclass(frozen=True)
class Ingredient:
    """One thing that is counted, and how it enters the score."""

    id: str
    name: str
    weight: float
    """Below 0 where a high value is easy."""
    mean: float
    sd: float
    """Mean and standard deviation over the texts that set the scale."""
    why: str


@dataclass(frozen=True)
class TextKind:
    """Texts of one kind that a text is set beside."""

    id: str
    name: str
    texts: int
    cuts: tuple[float, ...]
    """The 99 percentiles of their scores, the lowest first."""
    why: str


@dataclass(frozen=True)
class EaseRules:
    """familiarity.toml: the score's ingredients, its kinds of texts, and rare words that may stand."""

    ingredients: tuple[Ingredient, ...] = ()
    kinds: tuple[TextKind, ...] = ()
    known: Mapping[str, str] = field(default_factory=dict)
    """Rare word -> why it may stand unexplained."""


@dataclass(frozen=True)
class RareWord:
    """A rare word of a text: how common it is, how often it stands there, where first, and what is plain."""

    word: str
    zipf: float
    times: int
    source: str
    plain: str = ""


@dataclass(frozen=True)
class EasierThan:
    """How many of 100 texts of one kind are harder."""

    kind: str
    name: str
    of_100: int


@dataclass(frozen=True)
class Ease:
    """How hard a text is beside others. It is no grade, and no text passes or fails by it."""

    value: float
    """In standard deviations of the texts that set the scale; higher is harder."""
    easier_than: tuple[EasierThan, ...]
    counted: Mapping[str, float]
    """Ingredient's id -> its value, as an average over passages."""
    numbers: float
    """Figures a sentence. They are told and do not enter the score: they tell little of how hard people found
    texts."""
    longest: str
    longest_words: int
    longest_source: str
    rare: tuple[RareWord, ...]
    """Rare words that no list excuses, the rarest first."""

    @property
    def harder_than_half(self) -> tuple[EasierThan, ...]:
        """Kinds of texts of which most are easier: what it warns of."""
        return tuple(each for each in self.easier_than if each.of_100 < HALF)
