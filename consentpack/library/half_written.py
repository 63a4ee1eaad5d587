"""Modules with a mistake in them are set aside, with all that leans on them; the rest can be used.

One module that somebody is still writing must not keep every patient of the clinic from a pack. But
nothing may be left out of a pack in silence: who names such a module is set aside with it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from consentpack.errors import Problem
from consentpack.fill import NotAPlaceholder, placeholders
from consentpack.library.frontmatter import RawFile
from consentpack.library.modules import blocks_of
from consentpack.library.schema import SCHEMA
from consentpack.model import Module, Option

Name = tuple[str, str]
"""Folder and id of a module."""
Modules = Mapping[str, Mapping[str, Module]]
_BESIDE = {("techniques", "anaesthetics"), ("options", "techniques")}
"""Keys that only say what suits what: nothing of the module they name is printed for them."""


def half_written(
    modules: Modules, wrong: Mapping[Name, list[Problem]], raws: Mapping[str, RawFile]
) -> dict[Name, tuple[Problem, ...]]:
    """Each module that cannot be used with the reasons: its own mistakes, or what it names."""
    found = {name: tuple(problems) for name, problems in wrong.items()}
    grown = True
    while grown:
        grown = False
        for folder, module in _all(modules):
            if (folder, module.id) in found:
                continue
            if broken := next((name for name in named(folder, module) if name in found), None):
                where = raws[module.file].toml.where("title") if module.file in raws else module.file
                what = f"it names '{broken[0]}/{broken[1]}', which has a mistake."
                found[folder, module.id] = (Problem(where.split(", line")[0], what), *found[broken])
                grown = True
    return found


def stops_every_pack(
    modules: Modules,
    wrong: Mapping[Name, list[Problem]],
    problems: Collection[Problem],
    set_aside: Collection[Name],
) -> bool:
    """Whether what is wrong touches what every pack is made of: tables, documents, doing nothing."""
    of_modules = {id(problem) for found in wrong.values() for problem in found}
    if any(id(problem) not in of_modules for problem in problems):
        return True
    if any(folder == "documents" for folder, _ in set_aside):
        return True
    left = (option for id, option in modules["options"].items() if ("options", id) not in set_aside)
    return not any(isinstance(option, Option) and option.no_treatment for option in left)


def named(folder: str, module: Module) -> Iterator[Name]:
    """The modules that a module cannot be printed without."""
    for key, spec in SCHEMA[folder].keys.items():
        if spec.refers_to in SCHEMA and (folder, key) not in _BESIDE:
            value = getattr(module, key)
            for id in (value,) if isinstance(value, str) else value:
                yield spec.refers_to, id
    for word in _figures(module):
        yield from (("risks", word), ("benefits", word))


def _figures(module: Module) -> Iterator[str]:
    """The outcomes whose figure a module prints in its text."""
    for block in blocks_of(module):
        for item in block.items:
            try:
                yield from (each.word for each in placeholders(item.text) if each.word)
            except NotAPlaceholder:  # it is set aside for that already
                continue


def _all(modules: Modules) -> Iterator[tuple[str, Module]]:
    for folder, found in modules.items():
        for module in found.values():
            yield folder, module
