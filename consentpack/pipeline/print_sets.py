"""All papers of a pack in one PDF, in the order of their documents; and the square of a given pack's code."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from consentpack.errors import OutputError, PlanError, Problem
from consentpack.export._code import Symbol
from consentpack.export.print_set import one_pdf
from consentpack.files import write_file
from consentpack.pipeline.ledgers import given_folder
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.plan_list import PlanRow, paper, papers_in, plan_row

LARGE, USUAL = "-large-print.pdf", ".pdf"
_BESIDE = "-side-by-side.pdf"


def in_print_order(place: Workplace, names: Iterable[str], *, large_print: bool = False) -> list[str]:
    """The PDFs among the papers of a pack, one for each document, in the order of the documents."""
    ending, order = (LARGE if large_print else USUAL), place.library.documents
    found = [name for name in names if name.endswith(ending) and not name.endswith(_BESIDE)]
    found = [name for name in found if large_print or not name.endswith(LARGE)]

    def place_of(name: str) -> tuple[int, str]:
        document = order.get(name.removesuffix(ending))
        return (document.order if document else len(order), name)

    return sorted(found, key=place_of)


def print_set(place: Workplace, named: str, *, version: int = 0, large_print: bool = False) -> bytes:
    """All papers of a plan's pack in one PDF: of the newest version that was given, or of `version`; of the
    working pack where none was given. Raises PlanError, or OutputError where there are no PDFs."""
    row = plan_row(place, named)
    return print_set_in(place, _folder(place, row, version), large_print=large_print)


def save_print_set(
    place: Workplace, named: str, out: Path, *, version: int = 0, large_print: bool = False
) -> None:
    """Write it into a file. Raises as `print_set` does."""
    write_file(out, print_set(place, named, version=version, large_print=large_print))


def _folder(place: Workplace, row: PlanRow, version: int) -> Path:
    given = {each.given.version for each in row.given}
    if version and version not in given:
        raise PlanError(Problem(row.named, f"no version {version} of it was given."))
    if given:
        return given_folder(place.folder, row.reference, version or max(given))
    if row.working is None:
        raise PlanError(Problem(row.named, "it has no pack yet.", "Make it with `consentpack build --pdf`."))
    return row.working.folder


def print_set_in(place: Workplace, folder: Path, *, large_print: bool = False) -> bytes:
    """The same of one folder with a pack."""
    names = in_print_order(place, papers_in(folder), large_print=large_print)
    if not names:
        what = f"this pack has no PDFs{' in large print' if large_print else ''}."
        fix = "Make it with `--pdf`, or print its papers one by one."
        raise OutputError(Problem(folder.name, what, fix))
    return one_pdf((name, paper(folder, name)) for name in names)


def code_square(code: str) -> str:
    """The code of a given pack as a square for a camera, as SVG. It holds the code and no address: the desk
    answers this computer alone, and the papers are on no server that a phone could ask."""
    return Symbol(code).svg(code)
