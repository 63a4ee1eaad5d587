"""Reads content/ — the shipped one, then the clinic's own, which overrides it by id — and checks
it as a whole. All problems of one run are reported together."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from consentpack.errors import ContentError, Problem, did_you_mean
from consentpack.library import (
    ease_table,
    field_table,
    language_tables,
    length_table,
    rules_table,
    suitability_table,
    tables,
    ticks_table,
)
from consentpack.library.draft import Draft
from consentpack.library.frontmatter import RawFile, digest_of, read_text, split
from consentpack.library.half_written import half_written, stops_every_pack
from consentpack.library.modules import build
from consentpack.library.references import check_references
from consentpack.library.roots import TABLE_FILES, Root, absent, roots_of
from consentpack.library.skeleton import unfinished
from consentpack.library.switched_off import switch_off
from consentpack.library.value import KINDS, Library
from consentpack.model import (
    HouseStyle,
    OneName,
)


def load_library(
    shipped: Path,
    clinic: Path | None = None,
    *,
    whole: bool = True,
    own_field: bool = False,
    field: str = "",
    without: Collection[str] = (),
) -> Library:
    """The checked library of two content folders; `clinic` overrides `shipped` by id.

    `own_field`: of `shipped` only what belongs to no field of medicine is read, and `clinic` brings a field
    of its own. `field`: the same, with a field that is shipped beside the usual one, by its name. `without`:
    'folder/id' of modules that are switched off. Raises ContentError with every problem found. Not `whole`:
    modules with a mistake, and those that name one of them, are set aside with their problems, so that other
    packs can be made meanwhile.
    """
    if clinic and clinic.exists() and not clinic.is_dir():
        raise ContentError(Problem(str(clinic), "this should be a folder.", "Move the file away."))
    if own_field and not (clinic and (clinic / "field.toml").is_file()):
        what = "a clinic with a field of its own says here what that is, and there is no such file."
        fix = 'Write it, or take field = "own" out of clinic.toml.'
        raise ContentError(Problem(str(clinic / "field.toml") if clinic else "field.toml", what, fix))
    roots = roots_of(shipped, clinic, field=field, own_field=own_field)
    stamps = tuple(_stamp(root.folder) for root in roots)
    library, problems = _load(roots, stamps, field, tuple(without))
    if library is None or (whole and problems):
        raise ContentError(problems)
    return library


def _stamp(root: Path) -> tuple[tuple[str, int, int], ...]:
    """Names, times and sizes of the files below a folder: a changed file is never served stale."""
    files = (path for path in sorted(root.rglob("*")) if path.is_file())
    return tuple((str(p), (stat := p.stat()).st_mtime_ns, stat.st_size) for p in files)


@lru_cache(maxsize=4)
def _load(
    roots: tuple[Root, ...], _stamps: object, shipped_field: str, without: tuple[str, ...] = ()
) -> tuple[Library | None, tuple[Problem, ...]]:
    """The library of what can be used (None when no pack can be made of it), and everything wrong."""
    draft, shared = Draft(), frozenset[str]()
    for root in roots:
        _read_root(draft, root)
        draft.problems += absent(root, draft.medicine.nothing_in)
        if root.whose == "shared":
            shared = frozenset(draft.sources)
    check_references(draft)
    named = frozenset(draft.sources) if without else shared
    off = switch_off(draft, without)
    draft.forget_sources(named if off else shared)
    set_aside = half_written(draft.modules, draft.wrong, draft.raws)
    stopping = [name for name in set_aside if name not in draft.unfinished]
    if stops_every_pack(draft.modules, draft.wrong, draft.problems, stopping):
        return None, tuple(draft.problems)
    for folder, id in set_aside:
        draft.modules[folder].pop(id, None)
    made = replace(_made(draft, set_aside), without=off, shipped_field=shipped_field)
    return made, tuple(draft.problems)


def _made(draft: Draft, set_aside: Mapping[tuple[str, str], tuple[Problem, ...]]) -> Library:
    return Library(
        **{folder: dict(sorted(found.items())) for folder, found in draft.modules.items()},  # type: ignore[arg-type]
        settings=draft.settings,
        ticks=draft.ticks,
        terms=tuple(draft.terms.values()),
        published=tuple(draft.published.values()),
        syllables=draft.syllables,
        style=draft.style,
        ease=draft.ease,
        targets=draft.targets,
        lengths=draft.lengths,
        longer=draft.longer,
        rules=draft.rules,
        field=draft.medicine,
        regions=draft.regions,
        suitability=draft.suitability,
        waits=draft.waits,
        sources=draft.sources,
        digests=draft.digests,
        set_aside={f"{folder}/{id}": problems for (folder, id), problems in sorted(set_aside.items())},
    )


def _read_root(draft: Draft, root: Root) -> None:
    """What is in a content folder; of what the library knows, only some may be read."""
    for path in sorted(root.folder.iterdir()):
        name = f"{root.shown}{path.name}"
        if path.name.startswith(".") or path.suffix == ".pyc" or path.name in root.aside:
            continue
        if path.is_dir() and path.name in KINDS:
            if path.name in root.only:
                _read_folder(draft, path, name)
        elif path.name in TABLE_FILES:
            if path.name in root.only:
                _read_table(draft, path, name)
        else:
            known = (*KINDS, *TABLE_FILES)
            fix = did_you_mean(path.name, known) or f"Here belong: {', '.join(known)}."
            draft.problems.append(Problem(name, "this is nothing the library knows.", fix))


def _read_folder(draft: Draft, folder: Path, shown: str) -> None:
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
            raw, before = _as_called_now(raw, draft)
            module, problems = build(raw, folder.name, stem=path.stem)
            # a new document that is begun keeps no pack back; ours is never left out for one of its name
            if unfinished(raw) and path.stem not in draft.modules[folder.name]:
                draft.unfinished.add((folder.name, path.stem))
            problems = [*before, *problems]
            draft.digests[file] = raw.digest
            draft.raws[file] = raw
            if module:
                draft.modules[folder.name][module.id] = module
        if problems:
            # the shipped module of this name must not slip back in where the clinic wrote its own
            draft.modules[folder.name].pop(path.stem, None)
            draft.unread.add((folder.name, path.stem))
        draft.found(folder.name, path.stem, problems)


def _as_called_now(raw: RawFile, draft: Draft) -> tuple[RawFile, list[Problem]]:
    """A module from before a key of its field was renamed: which key, and what to write instead."""
    now = draft.medicine.renamed_keys
    problems = [
        Problem(raw.toml.where(key), f"'{key}' is called '{now[key]}' now.", f"Write {now[key]} = … there.")
        for key in raw.front
        if key in now
    ]
    return replace(raw, front={now.get(key, key): value for key, value in raw.front.items()}), problems


def _read_table(draft: Draft, path: Path, file: str) -> None:
    text, problems = read_text(path, file=file)
    draft.problems += problems
    draft.digests[file] = digest_of(text)
    draft.files[path.name] = file
    if path.name == "settings.toml":
        settings, problems = tables.settings(text, file=file)
        draft.settings |= settings
        draft.settings_file = file
    elif path.name == "glossary.toml":
        terms, problems = tables.glossary(text, file=file)
        draft.terms |= {term.clinical: term for term in terms}
    elif path.name == "tick_boxes.toml":
        ticks, problems = ticks_table.tick_boxes(text, file=file)
        draft.ticks |= ticks
        problems += [] if problems else ticks_table.lacking(draft.ticks, file=file)
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
    elif path.name == "familiarity.toml":
        ease, problems = ease_table.ease_rules(text, file=file)
        draft.ease = ease_table.over(draft.ease, ease)
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
    elif path.name == "length_targets.toml":
        lengths, longer, problems = length_table.length_targets(text, file=file)
        draft.lengths |= lengths
        draft.longer |= longer
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
