"""The library: finding modules and copying them."""

from __future__ import annotations

from pathlib import Path

from consentpack import shipped
from consentpack.errors import ContentError, OutputError, Problem, did_you_mean
from consentpack.files import make_parent, write_file
from consentpack.library import Library
from consentpack.library.schema import TRAITS
from consentpack.library.skeleton import FOLDER_OF, NAME, skeleton
from consentpack.library.value import KINDS
from consentpack.locks import locked
from consentpack.model import Module
from consentpack.pipeline.place import Workplace


def find_module(library: Library, id: str) -> tuple[str, Module]:
    """A module by id, or by 'folder/id' where two folders share one. Raises ContentError."""
    folder, _, name = id.rpartition("/")
    found = [(f, m) for f, m in library.modules() if m.id == name and folder in ("", f)]
    if len(found) == 1:
        return found[0]
    if found:
        choices = ", ".join(f"{f}/{name}" for f, _ in found)
        raise ContentError(Problem(id, "more than one module has this id.", f"Say which: {choices}."))
    if wrong := [p for f in KINDS if folder in ("", f) for p in library.set_aside.get(f"{f}/{name}", ())]:
        raise ContentError(wrong)
    if off := [f"{f}/{name}" for f in KINDS if folder in ("", f) and f"{f}/{name}" in library.without]:
        fix = "It is in [library] without of clinic.toml, or only what is in it had named it."
        raise ContentError(Problem(off[0], "this module is switched off in this clinic.", fix))
    known = [module.id for _, module in library.modules()]
    raise ContentError(Problem(id, "there is no such module.", did_you_mean(name, known)))


def new_module(place: Workplace, kind: str, id: str) -> Path:
    """Write a module to be filled in into the clinic's own content. Raises OutputError, with nothing written,
    for a name that cannot be one, or that a module has already."""
    folder = FOLDER_OF[kind]
    problems = []
    if not NAME.fullmatch(id):
        fix = "Use small letters, figures and hyphens, such as warm-packs."
        problems.append(Problem(id, "a module cannot be called this.", fix))
    known = {*place.library.kind(folder), *place.library.not_in_use(folder)}
    if id in known:
        what = f"there is a {kind} of this name already."
        problems.append(Problem(id, what, f"To change it: `consentpack library copy {folder}/{id}`."))
    target = place.folder / "content" / folder / f"{id}.md"
    with locked(place.folder):
        if target.exists():
            problems = [Problem(str(target), "there is such a file already.", "Change that one.")]
        if problems:
            raise OutputError(problems)
        make_parent(target.parent)
        write_file(target, skeleton(folder, id, _choices(place.library)))
    return target


def _choices(library: Library) -> dict[str, tuple[str, ...]]:
    """What the field has for the keys of modules that hold a word of it."""
    field = library.field
    return {"kind": (*field.kinds,), "indications": (*field.indications,), "traits": (*TRAITS, *field.traits)}


def copy_module(place: Workplace, id: str) -> Path:
    """Copy a shipped module into the clinic's own content. Raises OutputError if one is there."""
    folder, module = find_module(place.library, id)
    target = place.folder / "content" / folder / f"{module.id}.md"
    with locked(place.folder):
        if target.exists():
            raise OutputError(Problem(str(target), "the clinic has its own already.", "Change that one."))
        text = (shipped.content().parent / module.file).read_text(encoding="utf-8")
        make_parent(target.parent)
        write_file(target, text)
    return target
