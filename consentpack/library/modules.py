"""From a file taken apart to a module: keys, sections and placeholders checked against its kind."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from consentpack import markdown
from consentpack.errors import Problem, did_you_mean
from consentpack.fill import NotAPlaceholder, Placeholder, placeholders
from consentpack.library.frontmatter import RawFile
from consentpack.library.labels import ANSWERS
from consentpack.library.schema import CLINICIAN_DIRECTIVES, COMMON, DIRECTIVES, SCHEMA, Kind
from consentpack.library.sheet_marks import check_sheet_marks
from consentpack.library.skeleton import unfinished
from consentpack.library.value import KINDS
from consentpack.library.whole_documents import check_whole
from consentpack.model import DocumentPlan, DocumentSection, Module
from consentpack.strict import check_table, dated
from consentpack.tree import Block, Inline

_ANSWER = re.compile(r"\*\*[^*]+\*\*: \S")


def build(raw: RawFile, folder: str, *, stem: str) -> tuple[Module | None, list[Problem]]:
    """The module a file makes, or None; and everything that is wrong with it."""
    if left := unfinished(raw):
        return None, left
    kind = SCHEMA[folder]
    keys = {**COMMON, **kind.keys}
    raw = replace(raw, front=dated(raw.front, keys))
    problems = check_table(raw.front, keys, toml=raw.toml)
    id = raw.front.get("id", stem)
    if isinstance(id, str) and id != stem:  # of another type: told above, and perhaps too long to print
        what = f"the id is '{id}' but the file is called '{stem}.md'."
        problems.append(Problem(raw.toml.where("id"), what, "Make the two the same."))
    blocks, wrong = markdown.parse(raw.body, file=raw.file, first_line=raw.body_line)
    problems += wrong + _check_directives(blocks, folder, raw.file) + _check_audience(blocks, raw)
    body, wrong = _document(raw, blocks) if folder == "documents" else _sections(raw, blocks, kind)
    problems += wrong + check_sheet_marks(folder, raw.file, blocks)
    if problems:
        return None, problems
    values = {name: _frozen(value) for name, value in raw.front.items()}
    made = KINDS[folder](
        **values,
        **body,
        file=raw.file,
        title_line=raw.toml.line_of("title"),
        digest=raw.digest,
    )
    return made, []


def _frozen(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


def _sections(raw: RawFile, blocks: tuple[Block, ...], kind: Kind) -> tuple[dict[str, Any], list[Problem]]:
    """The blocks of a module by section label."""
    sections: dict[str, list[Block]] = {}
    problems, label = [], ""
    for block in blocks:
        where = f"{raw.file}, line {block.items[0].line}"
        if block.kind == "heading":
            label = block.items[0].text
            if label not in kind.sections:
                fix = did_you_mean(label, kind.sections)
                fix = fix or f"Sections here: {', '.join(kind.sections)}."
                problems.append(Problem(where, f"there is no section '{label}'.", fix))
            elif label in sections:
                problems.append(Problem(where, f"the section '{label}' is here a second time."))
            sections.setdefault(label, [])
        elif not label:
            problems.append(Problem(where, "this text stands before the first '## Section'."))
        else:
            sections[label].append(block)
    problems += _check_answers(raw, sections.get(ANSWERS, []))
    for name, required in kind.sections.items():
        if required and not sections.get(name):
            problems.append(Problem(raw.file, f"the section '## {name}' is missing or empty."))
        elif name in sections and not _says_something(sections[name]):
            what = f"the section '## {name}' says nothing."
            problems.append(Problem(raw.file, what, "Write it, or take out its heading."))
    if kind.sections and not sections:
        problems.append(Problem(raw.file, "the file has no sections."))
    frozen = {name: tuple(found) for name, found in sections.items()}
    return {"sections": frozen}, problems


def _says_something(blocks: Iterable[Block]) -> bool:
    """Whether there is a word in it: a dash or three dots tell nobody anything."""
    return any(letter.isalpha() for block in blocks for item in block.items for letter in item.text)


def _check_answers(raw: RawFile, blocks: list[Block]) -> list[Problem]:
    """Each point names an activity in bold, then says when: the two become a row of a table."""
    return [
        Problem(
            f"{raw.file}, line {item.line}",
            f"a point of '## {ANSWERS}' should begin with what one wants to do, in bold.",
            "Write: - **Put on make-up**: after {{ care.makeup_wait }}.",
        )
        for block in blocks
        for item in block.items
        if block.kind != "bullets" or not _ANSWER.match(item.text)
    ]


def slug(heading: str) -> str:
    """A heading as a short name: 'What can go wrong' -> 'what-can-go-wrong'."""
    return re.sub(r"[^a-z0-9]+", "-", heading.lower()).strip("-")


def _document(raw: RawFile, blocks: tuple[Block, ...]) -> tuple[dict[str, Any], list[Problem]]:
    """The blocks of a document file: what leads, then its sections in order."""
    lead: list[Block] = []
    parts: list[tuple[str, int, list[Block]]] = []
    problems = []
    for block in blocks:
        item = block.items[0]
        if block.kind == "heading" and block.level == 2:
            parts.append((item.text, item.line, []))
        elif block.kind == "heading" and block.level == 1:
            what = "a document's title stands in front matter, not in a '# ' heading."
            problems.append(Problem(f"{raw.file}, line {item.line}", what))
        else:
            (parts[-1][2] if parts else lead).append(block)
    sections = tuple(
        DocumentSection(slug(heading), heading, line, tuple(found)) for heading, line, found in parts
    )
    problems += _check_sides(raw, [heading for heading, _, _ in parts])
    problems += check_whole(raw.file, lead, sections, raw.front.get("when", {}))
    problems += _check_annex(raw, [section.heading for section in sections])
    return {"lead": tuple(lead), "parts": sections, "sections": {}}, problems


def _check_annex(raw: RawFile, headings: list[str]) -> list[Problem]:
    """An annex that begins nowhere would let pages that are to be read run on without end."""
    named = raw.front.get("annex_from", "")
    if not named or named in headings:
        return []
    fix = did_you_mean(str(named), headings) or f"Headings: {', '.join(headings)}."
    return [Problem(raw.toml.where("annex_from"), f"there is no heading '{named}'.", fix)]


def _check_sides(raw: RawFile, headings: list[str]) -> list[Problem]:
    """A heading that begins a side and is not there would let the sides run into each other in silence."""
    wanted = raw.front.get("new_side", [])
    unknown = [name for name in wanted if name not in headings] if isinstance(wanted, list) else []
    where = raw.toml.where("new_side")
    return [
        Problem(where, f"there is no section '{name}' here.", did_you_mean(str(name), headings))
        for name in unknown
    ]


def _check_directives(blocks: tuple[Block, ...], folder: str, file: str) -> list[Problem]:
    problems = []
    for block in blocks:
        if block.kind != "directive":
            continue
        item = block.items[0]
        where = f"{file}, line {item.line}"
        if folder != "documents":
            problems.append(Problem(where, "directives belong in documents, not in modules."))
        elif item.text not in DIRECTIVES:
            fix = did_you_mean(item.text, DIRECTIVES) or f"Directives: {', '.join(DIRECTIVES)}."
            problems.append(Problem(where, f"there is no directive '{item.text}'.", fix))
    return problems


def _check_audience(blocks: tuple[Block, ...], raw: RawFile) -> list[Problem]:
    """What is for the clinic alone stands in no text that patients read, or that is scored for them."""
    if raw.front.get("audience") != "patient" and not raw.front.get("scored"):
        return []
    what = "the directive '{}' is for the clinician, and this document is for patients."
    fix = 'Take it out, or set audience = "clinician" and no scored.'
    return [
        Problem(f"{raw.file}, line {block.items[0].line}", what.format(block.items[0].text), fix)
        for block in blocks
        if block.kind == "directive" and block.items[0].text in CLINICIAN_DIRECTIVES
    ]


def blocks_of(module: Module) -> list[Block]:
    """All blocks of a module or document, in order."""
    if isinstance(module, DocumentPlan):
        return [*module.lead, *(block for part in module.parts for block in part.blocks)]
    return [block for blocks in module.sections.values() for block in blocks]


def check_placeholders(
    module: Module, names: Mapping[str, str], words: Mapping[str, tuple[str, ...]]
) -> list[Problem]:
    """Placeholders that are no placeholder, unknown, or whose word is unknown.

    `names` are the bare names that exist; `words` the words each call takes.
    """
    problems = []
    title = Block("paragraph", (Inline(module.title, module.title_line),))
    for block in (title, *blocks_of(module)):
        for item in block.items:
            where = f"{module.file}, line {item.line}"
            try:
                found = placeholders(item.text)
            except NotAPlaceholder as error:
                problems.append(Problem(where, f"{error}."))
                continue
            problems += [p for each in found if (p := _unknown(each, where, names, words))]
    return problems


def _unknown(
    found: Placeholder, where: str, names: Mapping[str, str], words: Mapping[str, tuple[str, ...]]
) -> Problem | None:
    if not found.word and found.name in names:
        return None
    if found.word and found.name in words:
        known = words[found.name]
        if found.word in known:
            return None
        what = f"there is no '{found.word}' for {found.name}(…)."
        return Problem(where, what, did_you_mean(found.word, known))
    what = f"there is no placeholder '{{{{ {found} }}}}'."
    known = (*names, *(f"{name}('…')" for name in words))
    return Problem(where, what, did_you_mean(str(found), known) or f"There are: {', '.join(known)}.")
