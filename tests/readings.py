"""What the tests of the readers share: what was read of a file, and Word files made to be read."""

from __future__ import annotations

from pathlib import Path

from docx.opc.constants import RELATIONSHIP_TYPE
from docx.opc.packuri import PackURI
from docx.opc.part import Part
from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls, qn

from consentpack.readability import parts
from consentpack.readers import read_file
from consentpack.tree import Document, Items, Node, Paragraph, text_of
from consentpack.tree import paragraphs as paragraphs_of


def nodes(document: Document) -> list[Node]:
    return [node for _, _, held in parts(document) for node in held]


def every(document: Document) -> list[Paragraph]:
    return [paragraph for node in nodes(document) for paragraph in paragraphs_of(node)]


def told(document: Document) -> list[str]:
    """Every paragraph that is scored."""
    return [text_of(p.runs) for p in every(document) if p.scored]


def untold(document: Document) -> list[str]:
    """Every paragraph that is kept and not scored."""
    return [text_of(p.runs) for p in every(document) if not p.scored]


def places(document: Document) -> dict[str, str]:
    """Text -> its place, of everything that is scored."""
    return {text_of(p.runs): str(p.source) for p in every(document) if p.scored}


def lines(document: Document) -> dict[str, int]:
    """Text -> its line, of everything that is scored."""
    return {text_of(p.runs): p.source.line for p in every(document) if p.scored}


def headings(document: Document) -> dict[str, int]:
    """Heading of each section -> its line; 0 in a Word file."""
    return {section.heading: section.source.line for section in document.sections}


def lists(document: Document) -> list[tuple[bool, int]]:
    """Whether numbered, and how many points, of each list."""
    return [(node.numbered, len(node.items)) for node in nodes(document) if isinstance(node, Items)]


def read_as(folder: Path, name: str, data: str | bytes) -> Document:
    """What is read of words or bytes under some name."""
    (folder / name).write_bytes(data.encode() if isinstance(data, str) else data)
    return read_file(folder / name)


def said(body, parts=("w:t", "wp:docPr")) -> str:
    """All words of a Word file's body, and those of its pictures at their places; but not the numbers of
    pages beside the lines of its contents, which are no words of the document. Another part is a new line."""
    found, counted = [], False
    for node in body.iter(*map(qn, (*parts, "w:instrText", "w:fldChar"))):
        if node.tag == qn("w:instrText"):
            counted = "PAGEREF" in node.text
        elif node.tag == qn("w:fldChar"):
            counted = counted and node.get(qn("w:fldCharType")) != "end"
        elif not counted:
            found.append(node.get("descr") or node.text or "\n" * (node.tag == qn("w:br")))
    return "".join(found)


# --- Word files ---------------------------------------------------------------------------------

NAMES = nsdecls("w", "wp", "a", "r") + (
    ' xmlns:wps="http://schemas.microsoft.com/office/word/2010/wordprocessingShape"'
    ' xmlns:mc="http://schemas.openxmlformats.org/markup-compatibility/2006"'
    ' xmlns:v="urn:schemas-microsoft-com:vml"'
)


def saved(form, path: Path) -> Path:
    form.save(str(path / "form.docx"))
    return path / "form.docx"


def read(form, path: Path) -> Document:
    return read_file(saved(form, path))


def put(holder, xml: str):
    """Append an element, written without namespaces, to a paragraph or a body."""
    element = parse_xml(xml.replace(" NS", f" {NAMES}", 1))
    body = getattr(holder, "_body", None)
    if body is not None:
        body._element.insert(len(body._element) - 1, element)  # before the page's own settings
    else:
        holder._p.append(element)
    return element


def put_properties(paragraph, xml: str):
    paragraph._p.get_or_add_pPr().append(parse_xml(xml.replace(" NS", f" {NAMES}", 1)))


def bold(form, text: str, style: str | None = None):
    form.add_paragraph(style=style).add_run(text).bold = True


def add_part(form, name: str, xml: str):
    """Give a document a part that python-docx knows nothing of, such as 'footnotes'."""
    kind = f"application/vnd.openxmlformats-officedocument.wordprocessingml.{name}+xml"
    part = Part(PackURI(f"/word/{name}.xml"), kind, xml.encode(), form.part.package)
    form.part.relate_to(part, getattr(RELATIONSHIP_TYPE, name.upper()))
