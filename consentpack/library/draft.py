"""The library while it is being read."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from consentpack.errors import Problem
from consentpack.library.frontmatter import RawFile
from consentpack.library.value import KINDS
from consentpack.model import (
    CareSetting,
    ConsentRule,
    EaseRules,
    Field,
    HouseStyle,
    LengthTarget,
    Module,
    PublishedRate,
    ReadingTarget,
    Region,
    Spoken,
    SuitabilityRule,
    Term,
    Tick,
    WaitRule,
)


@dataclass
class Draft:
    """The library while it is being read."""

    modules: dict[str, dict[str, Module]] = field(default_factory=lambda: {k: {} for k in KINDS})
    raws: dict[str, RawFile] = field(default_factory=dict)
    """Module file -> the file taken apart, to find lines for messages."""
    settings: dict[str, CareSetting] = field(default_factory=dict)
    ticks: dict[str, Tick] = field(default_factory=dict)
    terms: dict[str, Term] = field(default_factory=dict)
    published: dict[str, PublishedRate] = field(default_factory=dict)
    sources: dict[str, Mapping[str, Any]] = field(default_factory=dict)
    syllables: dict[str, Spoken] = field(default_factory=dict)
    style: HouseStyle = field(default_factory=HouseStyle)
    ease: EaseRules = field(default_factory=EaseRules)
    targets: dict[str, ReadingTarget] = field(default_factory=dict)
    lengths: dict[str, LengthTarget] = field(default_factory=dict)
    longer: dict[str, float] = field(default_factory=dict)
    rules: dict[str, ConsentRule] = field(default_factory=dict)
    medicine: Field = field(default_factory=Field)
    regions: dict[str, Region] = field(default_factory=dict)
    suitability: dict[str, SuitabilityRule] = field(default_factory=dict)
    waits: dict[str, WaitRule] = field(default_factory=dict)
    digests: dict[str, str] = field(default_factory=dict)
    files: dict[str, str] = field(default_factory=dict)
    """Name of a table -> the last file of that name that was read."""
    targets_file: str = ""
    rules_file: str = ""
    settings_file: str = ""
    published_file: str = ""
    unread: set[tuple[str, str]] = field(default_factory=set)
    """Folder and id of modules with a mistake of their own: who names one of them is not wrong."""
    unfinished: set[tuple[str, str]] = field(default_factory=set)
    """Folder and id of modules of which somebody has begun to fill in the parts."""
    problems: list[Problem] = field(default_factory=list)
    wrong: dict[tuple[str, str], list[Problem]] = field(default_factory=dict)
    """Those of `problems` that are one module's, by its folder and id."""

    def found(self, folder: str, id: str, problems: list[Problem]) -> None:
        """Keep the problems of one module."""
        if problems:
            self.problems += problems
            self.wrong.setdefault((folder, id), []).extend(problems)

    def forget_sources(self, ids: Collection[str]) -> None:
        """Leave out those of some sources that nothing names: papers of a field that is not this one."""
        named = {id for found in self.modules.values() for module in found.values() for id in module.sources}
        for table in (self.settings, self.targets, self.rules, self.lengths):
            named |= {id for each in table.values() for id in each.sources}
        named |= {id for _, ids_of_one in self.named_sources() for id in ids_of_one}
        named |= {rate.source for rate in self.published.values()}
        self.sources = {id: each for id, each in self.sources.items() if id in named or id not in ids}

    def named_sources(self) -> Iterator[tuple[str, tuple[str, ...]]]:
        """Where in the tables of the field sources are named, and which."""
        for file, table in (
            ("regions", self.regions),
            ("suitability", self.suitability),
            ("waits", self.waits),
        ):
            for id, item in table.items():
                yield f"{self.files.get(file + '.toml', file)}, [{id}]", item.sources
        for id, stratum in self.medicine.strata.items():
            yield f"{self.files.get('field.toml', 'field')}, [strata.{id}]", stratum.sources
