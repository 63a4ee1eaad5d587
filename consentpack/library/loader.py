"""Reads content/ — the shipped one, then the clinic's own, which overrides it by id — and checks
it as a whole. All problems of one run are reported together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from consentpack.errors import ContentError, Problem, did_you_mean
from consentpack.library import field_table, language_tables, rules_table, suitability_table, tables
from consentpack.library.conditional import check_conditions
from consentpack.library.frontmatter import RawFile, digest_of, read_text, split
from consentpack.library.modules import build, check_placeholders
from consentpack.library.schema import COMMON, PLACEHOLDERS, SCHEMA
from consentpack.library.value import KINDS, Library
from consentpack.model import (
    CareSetting,
    ConsentRule,
    Field,
    HouseStyle,
    Module,
    OneName,
    PublishedRate,
    ReadingTarget,
    Region,
    Spoken,
    SuitabilityRule,
    Technique,
    Term,
    WaitRule,
)

_TABLE_FILES = (
    "settings.toml", "glossary.toml", "published_rates.csv", "sources.json",
    "syllables.csv", "house_style.toml", "reading_targets.toml", "consent_rules.toml",
    "field.toml", "regions.toml", "suitability.toml", "waits.toml",
)  # fmt: skip


@dataclass
class _Draft:
    """The library while it is being read."""

    modules: dict[str, dict[str, Module]] = field(default_factory=lambda: {k: {} for k in KINDS})
    raws: dict[str, RawFile] = field(default_factory=dict)
    """Module file -> the file taken apart, to find lines for messages."""
    settings: dict[str, CareSetting] = field(default_factory=dict)
    terms: dict[str, Term] = field(default_factory=dict)
    published: dict[str, PublishedRate] = field(default_factory=dict)
    sources: dict[str, Mapping[str, Any]] = field(default_factory=dict)
    syllables: dict[str, Spoken] = field(default_factory=dict)
    style: HouseStyle = field(default_factory=HouseStyle)
    targets: dict[str, ReadingTarget] = field(default_factory=dict)
    rules: dict[str, ConsentRule] = field(default_factory=dict)
    medicine: Field = field(default_factory=Field)
    regions: dict[str, Region] = field(default_factory=dict)
    suitability: dict[str, SuitabilityRule] = field(default_factory=dict)
    waits: dict[str, WaitRule] = field(default_factory=dict)
    digests: dict[str, str] = field(default_factory=dict)
    targets_file: str = ""
    rules_file: str = ""
    settings_file: str = ""
    published_file: str = ""
    unread: set[tuple[str, str]] = field(default_factory=set)
    """Folder and id of modules with a mistake of their own: who names one of them is not wrong."""
    problems: list[Problem] = field(default_factory=list)


def load_library(shipped: Path, clinic: Path | None = None) -> Library:
    """The checked library of two content folders; `clinic` overrides `shipped` by id.

    Raises ContentError with every problem found.
    """
    roots = [shipped] + ([clinic] if clinic and clinic.is_dir() else [])
    return _load(tuple(roots), tuple(_stamp(root) for root in roots))


def _stamp(root: Path) -> tuple[tuple[str, int, int], ...]:
    """Names, times and sizes of the files below a folder: a changed file is never served stale."""
    files = (path for path in sorted(root.rglob("*")) if path.is_file())
    return tuple((str(p), (stat := p.stat()).st_mtime_ns, stat.st_size) for p in files)


@lru_cache(maxsize=4)
def _load(roots: tuple[Path, ...], _stamps: object) -> Library:
    draft = _Draft()
    for root in roots:
        if not root.is_dir():
            raise ContentError(Problem(str(root), "there is no content folder here."))
        _read_root(draft, root, "content/" if root == roots[0] else f"{root.parent.name}/content/")
    _check_references(draft)
    _check_words(draft)
    if draft.problems:
        raise ContentError(draft.problems)
    library = Library(
        **{folder: dict(sorted(found.items())) for folder, found in draft.modules.items()},  # type: ignore[arg-type]
        settings=draft.settings,
        terms=tuple(draft.terms.values()),
        published=tuple(draft.published.values()),
        syllables=draft.syllables,
        style=draft.style,
        targets=draft.targets,
        rules=draft.rules,
        field=draft.medicine,
        regions=draft.regions,
        suitability=draft.suitability,
        waits=draft.waits,
        sources=draft.sources,
        digests=draft.digests,
    )
    if wrong := check_conditions(library, {file: raw.toml for file, raw in draft.raws.items()}):
        raise ContentError(wrong)
    return library


def _read_root(draft: _Draft, root: Path, shown: str) -> None:
    for path in sorted(root.iterdir()):
        name = f"{shown}{path.name}"
        if path.name.startswith(".") or path.suffix == ".pyc":
            continue
        if path.is_dir() and path.name in KINDS:
            _read_folder(draft, path, name)
        elif path.name in _TABLE_FILES:
            _read_table(draft, path, name)
        else:
            known = (*KINDS, *_TABLE_FILES)
            fix = did_you_mean(path.name, known) or f"Here belong: {', '.join(known)}."
            draft.problems.append(Problem(name, "this is nothing the library knows.", fix))


def _read_folder(draft: _Draft, folder: Path, shown: str) -> None:
    for path in sorted(folder.iterdir()):
        file = f"{shown}/{path.name}"
        if path.name.startswith("."):
            continue
        if path.suffix != ".md":
            draft.problems.append(Problem(file, "only .md files belong here."))
            continue
        text, problems = read_text(path, file=file)
        raw = None
        if not problems:
            raw, problems = split(text, file=file)
        if raw:
            module, problems = build(raw, folder.name, stem=path.stem)
            draft.digests[file] = raw.digest
            draft.raws[file] = raw
            if module:
                draft.modules[folder.name][module.id] = module
            else:
                draft.unread.add((folder.name, path.stem))
        draft.problems += problems


def _read_table(draft: _Draft, path: Path, file: str) -> None:
    text, problems = read_text(path, file=file)
    draft.problems += problems
    draft.digests[file] = digest_of(text)
    if path.name == "settings.toml":
        settings, problems = tables.settings(text, file=file)
        draft.settings |= settings
        draft.settings_file = file
    elif path.name == "glossary.toml":
        terms, problems = tables.glossary(text, file=file)
        draft.terms |= {term.clinical: term for term in terms}
    elif path.name == "published_rates.csv":
        rates, problems = tables.published(text, file=file)
        draft.published |= {rate.id: rate for rate in rates}
        draft.published_file = file
    elif path.name == "syllables.csv":
        words, problems = language_tables.syllables(text, file=file)
        draft.syllables |= words
    elif path.name == "house_style.toml":
        style, problems = language_tables.house_style(text, file=file)
        draft.style = _over(draft.style, style)
    elif path.name == "consent_rules.toml":
        rules, problems = rules_table.consent_rules(text, file=file)
        draft.rules |= rules
        draft.rules_file = file
    elif path.name == "field.toml":
        draft.medicine, problems = field_table.field(text, file=file)
    elif path.name == "regions.toml":
        regions, problems = field_table.regions(text, file=file)
        draft.regions |= regions
    elif path.name == "suitability.toml":
        suitable, problems = suitability_table.suitability(text, file=file)
        draft.suitability |= suitable
    elif path.name == "waits.toml":
        waits, problems = suitability_table.waits(text, file=file)
        draft.waits |= waits
    elif path.name == "reading_targets.toml":
        targets, problems = language_tables.targets(text, file=file)
        draft.targets |= targets
        draft.targets_file = file
    else:
        sources, problems = tables.sources(text, file=file)
        draft.sources |= sources
    draft.problems += problems


def _over(shipped: HouseStyle, own: HouseStyle) -> HouseStyle:
    """House style with the clinic's own words before the shipped ones."""
    names: dict[str, OneName] = {each.use: each for each in (*shipped.one_name, *own.one_name)}
    return HouseStyle(
        plain={**shipped.plain, **own.plain},
        verbs={**shipped.verbs, **own.verbs},
        abbreviations={**shipped.abbreviations, **own.abbreviations},
        familiar={**shipped.familiar, **own.familiar},
        one_name=tuple(names.values()),
    )


def _check_references(draft: _Draft) -> None:
    """Every id named anywhere must exist; a newer technique must name an established one."""
    for folder, modules in draft.modules.items():
        for module in modules.values():
            for name, key in {**COMMON, **SCHEMA[folder].keys}.items():
                if key.refers_to:
                    known = draft.sources if key.refers_to == "sources" else draft.modules[key.refers_to]
                    _check_ids(draft, module, name, key.refers_to, known)
            if isinstance(module, Technique):
                _check_technique(draft, module)
                _check_waits(draft, module)
    _check_published(draft)
    for setting in draft.settings.values():
        _check_sources(draft, f"{draft.settings_file}, [{setting.name}]", setting.sources)
    for target in draft.targets.values():
        _check_sources(draft, f"{draft.targets_file}, [{target.id}]", target.sources)
    for rule in draft.rules.values():
        _check_sources(draft, f"{draft.rules_file}, [{rule.id}]", rule.sources)


def _check_sources(draft: _Draft, where: str, named: tuple[str, ...]) -> None:
    for id in named:
        if id not in draft.sources:
            what = f"there is no '{id}' in sources."
            draft.problems.append(Problem(where, what, did_you_mean(id, draft.sources)))


def _check_ids(draft: _Draft, module: Module, key: str, folder: str, known: Mapping[str, Any]) -> None:
    value = getattr(module, key)
    for id in (value,) if isinstance(value, str) and value else value:
        if id not in known and (folder, id) not in draft.unread:
            where = draft.raws[module.file].toml.where(key, id)
            what = f"there is no '{id}' in {folder}."
            draft.problems.append(Problem(where, what, did_you_mean(id, known)))


def _check_technique(draft: _Draft, technique: Technique) -> None:
    raw = draft.raws[technique.file]
    beside = draft.modules["techniques"].get(technique.established_alternative)
    if technique.standing == "newer" and not technique.established_alternative:
        what = "a newer technique must name the established one to offer beside it."
        fix = 'Add established_alternative = "…".'
        draft.problems.append(Problem(raw.toml.where("standing"), what, fix))
    elif isinstance(beside, Technique) and beside.standing != "established":
        what = f"'{beside.id}' is offered as the established technique but is itself newer."
        draft.problems.append(Problem(raw.toml.where("established_alternative"), what))
    if not _numbs(draft, technique):
        for label in ("What it may gain", "Not good for"):
            if not technique.sections.get(label):
                draft.problems.append(Problem(technique.file, f"'## {label}' is missing."))
    for id in technique.anaesthetics:
        other = draft.modules["techniques"].get(id)
        if isinstance(other, Technique) and not _numbs(draft, other):
            where = raw.toml.where("anaesthetics", id)
            draft.problems.append(Problem(where, f"'{id}' is not an anaesthetic."))


def _numbs(draft: _Draft, technique: Technique) -> bool:
    kind = draft.medicine.kinds.get(technique.kind)
    return kind is not None and kind.role == "numbs"


def _check_waits(draft: _Draft, technique: Technique) -> None:
    """Both sides of a technique's waits must be care settings."""
    toml = draft.raws[technique.file].toml
    for name, longer in technique.waits.items():
        for setting in (name, longer):
            if setting not in draft.settings:
                where = toml.where(name, table="waits")
                what = f"there is no care setting '{setting}'."
                draft.problems.append(Problem(where, what, did_you_mean(str(setting), draft.settings)))


NO_PRINTED_SOURCE = "personal_communication"
"""CSL type of the source that stands for common practice: no figure can come from there."""


def _check_published(draft: _Draft) -> None:
    outcomes = {**draft.modules["risks"], **draft.modules["benefits"]}
    checks = (("technique", draft.modules["techniques"]), ("outcome", outcomes))
    for rate in draft.published.values():
        for name, known in (*checks, ("source", draft.sources), ("factor", draft.modules["factors"])):
            id = getattr(rate, name)
            if id not in known and (id or name != "factor"):
                where, what = f"{draft.published_file}, '{rate.id}'", f"there is no {name} '{id}'."
                draft.problems.append(Problem(where, what, did_you_mean(id, known)))
        if draft.sources.get(rate.source, {}).get("type") == NO_PRINTED_SOURCE:
            where = f"{draft.published_file}, '{rate.id}'"
            draft.problems.append(Problem(where, f"'{rate.source}' is no printed source for a figure."))


def _check_words(draft: _Draft) -> None:
    """Placeholders everywhere must be ones that can be filled."""
    names = {**PLACEHOLDERS, **{f"care.{name}": s.why for name, s in draft.settings.items()}}
    words = {"rate": (*draft.modules["risks"], *draft.modules["benefits"])}
    for modules in draft.modules.values():
        for module in modules.values():
            draft.problems += check_placeholders(module, names, words)
