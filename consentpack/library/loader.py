"""Reads content/ — the shipped one, then the clinic's own, which overrides it by id — and checks
it as a whole. All problems of one run are reported together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from consentpack.errors import ContentError, Problem, did_you_mean
from consentpack.library import language_tables, rules_table, tables
from consentpack.library.frontmatter import RawFile, digest_of, read_text, split
from consentpack.library.half_written import half_written, stops_every_pack
from consentpack.library.modules import build, check_placeholders
from consentpack.library.schema import COMMON, PLACEHOLDERS, SCHEMA, TREATING_SECTIONS
from consentpack.library.value import KINDS, Library
from consentpack.model import (
    CareSetting,
    ConsentRule,
    HouseStyle,
    Module,
    OneName,
    PublishedRate,
    ReadingTarget,
    Spoken,
    Technique,
    Term,
)

_TABLE_FILES = (
    "settings.toml", "glossary.toml", "published_rates.csv", "sources.json",
    "syllables.csv", "house_style.toml", "reading_targets.toml", "consent_rules.toml",
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
    digests: dict[str, str] = field(default_factory=dict)
    targets_file: str = ""
    rules_file: str = ""
    settings_file: str = ""
    published_file: str = ""
    unread: set[tuple[str, str]] = field(default_factory=set)
    """Folder and id of modules with a mistake of their own: who names one of them is not wrong."""
    problems: list[Problem] = field(default_factory=list)
    wrong: dict[tuple[str, str], list[Problem]] = field(default_factory=dict)
    """Those of `problems` that are one module's, by its folder and id."""

    def found(self, folder: str, id: str, problems: list[Problem]) -> None:
        """Keep the problems of one module."""
        if problems:
            self.problems += problems
            self.wrong.setdefault((folder, id), []).extend(problems)


def load_library(shipped: Path, clinic: Path | None = None, *, whole: bool = True) -> Library:
    """The checked library of two content folders; `clinic` overrides `shipped` by id.

    Raises ContentError with every problem found. Not `whole`: modules with a mistake, and those that name
    one of them, are set aside with their problems, so that other packs can be made meanwhile.
    """
    if clinic and clinic.exists() and not clinic.is_dir():
        raise ContentError(Problem(str(clinic), "this should be a folder.", "Move the file away."))
    roots = [shipped] + ([clinic] if clinic and clinic.is_dir() else [])
    library, problems = _load(tuple(roots), tuple(_stamp(root) for root in roots))
    if library is None or (whole and problems):
        raise ContentError(problems)
    return library


def _stamp(root: Path) -> tuple[tuple[str, int, int], ...]:
    """Names, times and sizes of the files below a folder: a changed file is never served stale."""
    files = (path for path in sorted(root.rglob("*")) if path.is_file())
    return tuple((str(p), (stat := p.stat()).st_mtime_ns, stat.st_size) for p in files)


@lru_cache(maxsize=4)
def _load(roots: tuple[Path, ...], _stamps: object) -> tuple[Library | None, tuple[Problem, ...]]:
    """The library of what can be used (None when no pack can be made of it), and everything wrong."""
    draft = _Draft()
    for root in roots:
        if not root.is_dir():
            raise ContentError(Problem(str(root), "there is no content folder here."))
        _read_root(draft, root, "content/" if root == roots[0] else f"{root.parent.name}/content/")
    _check_references(draft)
    _check_words(draft)
    set_aside = half_written(draft.modules, draft.wrong, draft.raws)
    if stops_every_pack(draft.modules, draft.wrong, draft.problems, set_aside):
        return None, tuple(draft.problems)
    for folder, id in set_aside:
        draft.modules[folder].pop(id, None)
    return _made(draft, set_aside), tuple(draft.problems)


def _made(draft: _Draft, set_aside: Mapping[tuple[str, str], tuple[Problem, ...]]) -> Library:
    return Library(
        **{folder: dict(sorted(found.items())) for folder, found in draft.modules.items()},  # type: ignore[arg-type]
        settings=draft.settings,
        terms=tuple(draft.terms.values()),
        published=tuple(draft.published.values()),
        syllables=draft.syllables,
        style=draft.style,
        targets=draft.targets,
        rules=draft.rules,
        sources=draft.sources,
        digests=draft.digests,
        set_aside={f"{folder}/{id}": problems for (folder, id), problems in sorted(set_aside.items())},
    )


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
        if problems:
            # the shipped module of this name must not slip back in where the clinic wrote its own
            draft.modules[folder.name].pop(path.stem, None)
            draft.unread.add((folder.name, path.stem))
        draft.found(folder.name, path.stem, problems)


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
            problems: list[Problem] = []
            for name, key in {**COMMON, **SCHEMA[folder].keys}.items():
                if key.refers_to:
                    known = draft.sources if key.refers_to == "sources" else draft.modules[key.refers_to]
                    problems += _check_ids(draft, module, name, key.refers_to, known)
            if isinstance(module, Technique):
                problems += _check_technique(draft, module)
                problems += _check_waits(draft, module)
            draft.found(folder, module.id, problems)
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


def _check_ids(
    draft: _Draft, module: Module, key: str, folder: str, known: Mapping[str, Any]
) -> list[Problem]:
    problems, value = [], getattr(module, key)
    for id in (value,) if isinstance(value, str) and value else value:
        if id not in known and (folder, id) not in draft.unread:
            where = draft.raws[module.file].toml.where(key, id)
            what = f"there is no '{id}' in {folder}."
            problems.append(Problem(where, what, did_you_mean(id, known)))
    return problems


def _check_technique(draft: _Draft, technique: Technique) -> list[Problem]:
    problems, raw = [], draft.raws[technique.file]
    beside = draft.modules["techniques"].get(technique.established_alternative)
    if technique.standing == "newer" and not technique.established_alternative:
        what = "a newer technique must name the established one to offer beside it."
        fix = 'Add established_alternative = "…".'
        problems.append(Problem(raw.toml.where("standing"), what, fix))
    elif isinstance(beside, Technique) and beside.standing != "established":
        what = f"'{beside.id}' is offered as the established technique but is itself newer."
        problems.append(Problem(raw.toml.where("established_alternative"), what))
    if technique.kind != "anaesthetic":
        for label in TREATING_SECTIONS:
            if not technique.sections.get(label):
                problems.append(Problem(technique.file, f"'## {label}' is missing."))
    for id in technique.anaesthetics:
        other = draft.modules["techniques"].get(id)
        if isinstance(other, Technique) and other.kind != "anaesthetic":
            where = raw.toml.where("anaesthetics", id)
            problems.append(Problem(where, f"'{id}' is not an anaesthetic."))
    return problems + _check_whole(technique)


def _check_whole(technique: Technique) -> list[Problem]:
    """A form without harms, other choices or signs to ring about is none that anybody may sign."""
    needed = ("risks", "aftercare", "warnings")
    treats = () if technique.kind == "anaesthetic" else ("benefits", "options")
    return [
        Problem(
            technique.file, f"it lists no {key}.", f'Add {key} = ["…"]; `consentpack library list` has all.'
        )
        for key in (*needed, *treats)
        if not getattr(technique, key)
    ]


def _check_waits(draft: _Draft, technique: Technique) -> list[Problem]:
    """Both sides of a technique's waits must be care settings."""
    problems, toml = [], draft.raws[technique.file].toml
    for name, longer in technique.waits.items():
        for setting in (name, longer):
            if not isinstance(setting, str) or setting not in draft.settings:
                where = toml.where(name, table="waits")
                what = f"there is no care setting '{setting}'."
                problems.append(Problem(where, what, did_you_mean(str(setting), draft.settings)))
    return problems


NO_PRINTED_SOURCE = "personal_communication"
"""CSL type of the source that stands for common practice: no figure can come from there."""


def _check_published(draft: _Draft) -> None:
    outcomes = {**draft.modules["risks"], **draft.modules["benefits"]}
    checks = (("technique", draft.modules["techniques"]), ("outcome", outcomes))
    for rate in draft.published.values():
        for name, known in (*checks, ("source", draft.sources), ("factor", draft.modules["factors"])):
            id = getattr(rate, name)
            unread = id in {unread for _, unread in draft.unread}
            if id not in known and (id or name != "factor") and not unread:
                where, what = f"{draft.published_file}, '{rate.id}'", f"there is no {name} '{id}'."
                draft.problems.append(Problem(where, what, did_you_mean(id, known)))
        if draft.sources.get(rate.source, {}).get("type") == NO_PRINTED_SOURCE:
            where = f"{draft.published_file}, '{rate.id}'"
            draft.problems.append(Problem(where, f"'{rate.source}' is no printed source for a figure."))


def _check_words(draft: _Draft) -> None:
    """Placeholders everywhere must be ones that can be filled."""
    names = {**PLACEHOLDERS, **{f"care.{name}": s.why for name, s in draft.settings.items()}}
    unread = tuple(id for folder, id in draft.unread if folder in ("risks", "benefits"))
    words = {"rate": (*draft.modules["risks"], *draft.modules["benefits"], *unread)}
    for folder, modules in draft.modules.items():
        for module in modules.values():
            draft.found(folder, module.id, check_placeholders(module, names, words))
