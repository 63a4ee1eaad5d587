"""The library: finding and approving modules."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from consentpack import shipped
from consentpack.approvals import APPROVALS_FILE, added, key_of, load_approvals, tables
from consentpack.check import module_document
from consentpack.errors import ContentError, OutputError, Problem, did_you_mean
from consentpack.files import write_file
from consentpack.library import Library
from consentpack.model import Approval, Module
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
    known = [module.id for _, module in library.modules()]
    raise ContentError(Problem(id, "there is no such module.", did_you_mean(name, known)))


def copy_module(place: Workplace, id: str) -> Path:
    """Copy a shipped module into the clinic's own content. Raises OutputError if one is there."""
    folder, module = find_module(place.library, id)
    target = place.folder / "content" / folder / f"{module.id}.md"
    if target.exists():
        raise OutputError(Problem(str(target), "the clinic has its own already.", "Change that one."))
    text = (shipped.content() / folder / f"{module.id}.md").read_text(encoding="utf-8")
    target.parent.mkdir(parents=True, exist_ok=True)
    write_file(target, text)
    return target


def approve(
    place: Workplace, ids: list[str], *, by: str, role: str, day: date, until: date | None
) -> list[Approval]:
    """Sign modules off in the clinic's language and keep it in the clinic folder. All when no ids."""
    modules = [m for _, m in place.library.modules()]
    modules += tables(place.library, place.clinic).values()
    if ids:
        by_name = {module.id: module for module in tables(place.library, place.clinic).values()}
        modules = [by_name.get(id) or find_module(place.library, id)[1] for id in ids]
    grades = {
        m.file: place.scorer.score(module_document(folder, m, place.library), None).grade
        for folder, m in place.library.modules()
        if m in modules
    }
    latest = day.replace(year=day.year + 2, day=min(day.day, 28))  # for tables, which name no day
    made = [
        Approval(
            key_of(m.file),
            place.clinic.language,
            m.digest,
            by,
            role,
            day,
            until or (latest if m.review_by == date.max else m.review_by),
            grades.get(m.file),
        )
        for m in modules
    ]
    path = place.folder / APPROVALS_FILE
    load_approvals(place.folder)  # a file that cannot be read must not be added to
    before = path.read_text(encoding="utf-8-sig") if path.is_file() else _APPROVALS_HEAD
    write_file(path, before + added(made))
    return made


_APPROVALS_HEAD = "# Who signed off which module. Editing a module withdraws its approval.\n"
