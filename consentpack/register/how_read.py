"""How one clinic's spreadsheet is read: what its columns may hold, and what its words mean."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from consentpack.model import Measurement, Stratum
from consentpack.register.cells import DateOrder
from consentpack.register.columns import FIELDS
from consentpack.register.repairs import Repairs
from consentpack.register.words import Vocabulary


@dataclass(frozen=True)
class Reading:
    """How one clinic's spreadsheet is read."""

    date_order: DateOrder | None
    """None where the clinic does not say: each column of days must tell it as a whole."""
    techniques: frozenset[str]
    outcomes: frozenset[str]
    strata: Mapping[str, Stratum] = field(default_factory=dict)
    measurements: Mapping[str, Measurement] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    """The clinic's own words in cells -> ids of techniques or outcomes (several with ';' between), yes, no, a
    grade, or 'not recorded'."""
    list_covers: tuple[str, ...] = ()
    """Outcomes a list column speaks of: not named there means looked for and not seen."""
    names: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Technique, outcome, stratum or measurement -> what else it is called, in headers and cells."""

    @property
    def fields(self) -> dict[str, str]:
        """What a column may hold beside outcomes -> what that is."""
        strata = {id: each.title for id, each in self.strata.items()}
        return {**FIELDS, **strata, **{id: each.title for id, each in self.measurements.items()}}


def technique_words(reading: Reading) -> Vocabulary:
    return Vocabulary(reading.techniques, "technique", reading.words, reading.names)


def outcome_words(reading: Reading) -> Vocabulary:
    return Vocabulary(reading.outcomes, "outcome", reading.words, reading.names)


def technique_ids(word: str, reading: Reading) -> tuple[str, ...]:
    """The techniques somebody means who enters a treatment by hand. Raises BadCell."""
    return technique_words(reading).ids(word, Repairs())
