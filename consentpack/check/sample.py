"""One module as a document, so that it can be scored and read alone.

Placeholders are filled with the words of an average clinic: what a patient would read, and not the
bare placeholder, is what is measured.
"""

from __future__ import annotations

from collections.abc import Callable

from consentpack import markdown
from consentpack.fill import Filler
from consentpack.library import Library
from consentpack.library.schema import PLACEHOLDERS, SCHEMA
from consentpack.model import DocumentPlan, DocumentSection, Module
from consentpack.tree import Block, Document, Inline, Items, Node, Paragraph, Run, Section, Source

Translate = Callable[[str], str]


def module_document(
    folder: str,
    module: Module,
    library: Library,
    *,
    language: str = "en-GB",
    translate: Translate = lambda text: text,
) -> Document:
    """What a patient reads of one module, section by section, in a language.

    `translate` gives the text of a block in that language.
    """
    filler = _average(library)
    hidden = SCHEMA[folder].unscored
    if isinstance(module, DocumentPlan):
        labelled = [(part.heading, part.blocks) for part in _with_lead(module)]
    else:
        labelled = [(label, blocks) for label, blocks in module.sections.items() if label not in hidden]
    sections = tuple(
        Section(label, translate(label), tuple(_nodes(module, blocks, filler, translate)))
        for label, blocks in labelled
    )
    return Document(
        kind=f"{folder}/{module.id}",
        title=module.title,
        language=language,
        audience="patient",
        clinic_name="",
        reference="",
        issued="",
        sections=sections,
    )


def _with_lead(plan: DocumentPlan) -> list[DocumentSection]:
    lead = [DocumentSection("opening", plan.title, plan.title_line, plan.lead)] if plan.lead else []
    return [*lead, *plan.parts]


def _nodes(module: Module, blocks: tuple[Block, ...], filler: Filler, translate: Translate) -> list[Node]:
    found: list[Node] = []
    for block in blocks:
        if block.kind == "directive":
            continue
        made = tuple(_paragraph(module, item, filler, translate) for item in block.items)
        if block.kind in ("bullets", "numbered"):
            found.append(Items(made, numbered=block.kind == "numbered"))
        else:
            found += made
    return found


def _paragraph(module: Module, item: Inline, filler: Filler, translate: Translate) -> Paragraph:
    runs = (Run(filler.fill(run.text), run.strong, run.href) for run in markdown.runs(translate(item.text)))
    return Paragraph(tuple(runs), Source(module.file, item.line, module.id))


def _average(library: Library) -> Filler:
    values: dict[str, dict[str, str]] = {}
    for name in PLACEHOLDERS:
        group, _, key = name.partition(".")
        values.setdefault(group, {})[key] = (
            library.field.sample.get("site", "number") if group == "plan" else "number"
        )
    values["care"] = {name: f"{s.value} {s.unit}" for name, s in library.settings.items()}
    return Filler(values, {"rate": lambda _: "about 2 in every 100 treatments"})
