"""Writes the old consent form of Hazel Street, a clinic that does not exist.

    python examples/make_old_form.py [OUT.docx]

EVERYTHING IN THE FORM IS INVENTED, and it is badly written on purpose: long sentences, Latin words,
nobody who does anything, vague times. It is here to be scored and mended. Its one figure is
evidence of nothing. It must never be given to a patient, and nothing in it is advice.

The telephone numbers are from the range the UK regulator keeps for drama. The same script gives the
same bytes: no clock, no compression that another machine does in another way.
"""

from __future__ import annotations

import io
import sys
import zipfile
from datetime import datetime
from pathlib import Path
from typing import Any

from docx import Document
from docx.enum.text import WD_ALIGN_PARAGRAPH
from docx.shared import Cm, Pt

OUT = Path(__file__).parent / "hazel-street" / "old-form.docx"
WRITTEN = datetime(2016, 3, 14, 9, 30)
"""When the invented clinic is said to have written it."""

UNUSED_PARTS = ("/stylesWithEffects", "/thumbnail", "/customXml", "/webSettings")
USED_STYLES = ("Normal", "Default", "No List", "Header", "Footer", "List Bullet", "Table Grid")

INVENTED = "INVENTED EXAMPLE. Hazel Street does not exist, and this form must not be used."
LETTERHEAD = "Hazel Street Scar Clinic\n1 Hazel Street, Example Town, EX1 1EX\nTel: 020 7946 0101"
TITLE = "CONSENT FOR SUBCISION OF ATROPHIC CICATRICES"

Part = tuple[str, str | list[str]]
"""A way to set it (one of `SET`) with its words."""

FORM: list[Part] = [
    ("title", TITLE),
    ("lines", "Patient name: ______________________________\nDate of birth: ____ / ____ / ______"),
    ("heading", "NATURE OF PROCEDURE"),
    (
        "text",
        "Subcision is a minimally invasive procedure in which the mechanical disruption of the fibrous "
        "septae tethering the dermis to the underlying subcutaneous tissue is performed by the operator "
        "utilising the repeated insertion and withdrawal of a hypodermic needle or a cannula in a fanning "
        "manner, following the administration of LA with or without adrenaline, with the objective of "
        "elevation of the depressed cicatrix, facilitation of neocollagenesis and consequent improvement "
        "of the overall contour of the affected area.",
    ),
    (
        "text",
        "The procedure is undertaken under aseptic conditions and the area is cleaned and marked prior to "
        "commencement. The cutaneous entry points are not closed with sutures unless this is deemed "
        "necessary, and a dressing is applied upon completion. It is not uncommon for a number of sessions "
        "to be required, and each appointment is generally separated from the next by an interval which "
        "is determined by the practitioner.",
    ),
    ("heading", "EXPECTED OUTCOME"),
    (
        "text",
        "Considerable amelioration is obtained in the majority of patients, and a satisfactory result has "
        "been observed in approximately 87% of cases (figure invented). Complete resolution of the scar "
        "cannot be guaranteed, no warranty is given or implied, and only a small percentage of patients "
        "are dissatisfied. The absence of improvement is not an indication that the treatment was not "
        "performed correctly.",
    ),
    ("heading", "CONTRAINDICATIONS"),
    (
        "text",
        "The treatment is contraindicated in the presence of active cutaneous infection, coagulopathy, "
        "pregnancy, a propensity for keloid formation or anticoagulant therapy, and the cessation of "
        "NSAIDs and of blood thinners should be discussed with the prescribing physician. Do not "
        "discontinue any prescribed medication unless you have been instructed to do so.",
    ),
    ("heading", "RISKS AND COMPLICATIONS"),
    (
        "text",
        "As with any intervention, complications may be encountered, and the following have been reported "
        "in the literature, although the occurrence of the majority is infrequent:",
    ),
    (
        "bullets",
        [
            "Ecchymosis, oedema and erythema",
            "Haematoma formation",
            "Seroma",
            "Pain and tenderness of variable duration",
            "Infection, including cellulitis and abscess formation",
            "Post-inflammatory hyperpigmentation (PIH)",
            "Hypopigmentation",
            "Hypertrophic scarring and keloid formation",
            "Subcutaneous nodules and induration",
            "Paraesthesia or neurapraxia",
            "Vasovagal syncope",
            "Anaphylaxis or LAST",
            "Recurrence of the depression due to re-tethering of the fibrous septae",
            "Failure of the procedure, the necessity for revision, and dissatisfaction with the aesthetic "
            "outcome, for which no refund is payable and in respect of which no liability is accepted by the "
            "clinic or its employees except where this is required by law",
        ],
    ),
    ("heading", "POST-PROCEDURE INSTRUCTIONS"),
    (
        "typed",
        [
            "Application of cold compresses regularly",
            "Avoidance of strenuous exercise for a few days",
            "No alcohol or blood thinners",
            "Sunblock at all times, SPF 50",
            "Analgesia as required",
            "Gentle massage of the treated area when appropriate",
        ],
    ),
    (
        "text",
        "You should keep the bandage dry for a while, and it must be removed in due course. Sunscreen must "
        "be reapplied frequently. Bruises are not abnormal and will resolve. You must contact us promptly "
        "in the event of excessive haemorrhage, and you should not hesitate to call us if the discolouration "
        "does not subside.",
    ),
    ("heading", "ALTERNATIVES"),
    (
        "text",
        "Alternative modalities, including but not limited to dermal filler, ablative resurfacing, "
        "microneedling and surgical excision, have been explained, and it is acknowledged that it is not "
        "impossible that an alternative may be advantageous. The implant may be placed at the same visit.",
    ),
    ("heading", "CONSENT"),
    (
        "text",
        "I, ______________________________, hereby authorise the performance of the above procedure by the "
        "therapist and any such assistants as may be selected, and I certify that the nature, purpose, "
        "benefits, alternatives and potential complications of the said procedure have been explained to me, "
        "that I have been afforded the opportunity to ask questions, that these have been answered to my "
        "satisfaction, and that photographs may be taken for the purposes of documentation.",
    ),
    (
        "lines",
        "Signature of patient: ______________________________   Date: ______________\n"
        "Signature of practitioner: _________________________   Date: ______________\n"
        "Witness: __________________________________________   Date: ______________",
    ),
    ("heading", "CONTACT DETAILS"),
    (
        "table",
        [
            "Clinic (Monday to Friday, 9 to 5)|020 7946 0101",
            "Out of hours|020 7946 0199",
            "E-mail|clinic@example.org",
            "Lead practitioner|Dr A. Quill",
        ],
    ),
]


def text(form: Any, words: str) -> None:
    """A paragraph."""
    form.add_paragraph(words).paragraph_format.alignment = WD_ALIGN_PARAGRAPH.JUSTIFY


def lines(form: Any, words: str) -> None:
    """Lines broken by hand inside one paragraph, as people do who do not know of spacing."""
    form.add_paragraph(words).paragraph_format.space_before = Pt(10)


def heading(form: Any, words: str) -> None:
    """A heading made by hand: bold and underlined, in the style of the text."""
    paragraph = form.add_paragraph()
    run = paragraph.add_run(words)
    run.bold = run.underline = True
    paragraph.paragraph_format.keep_with_next = True


def title(form: Any, words: str) -> None:
    """The title, by hand as well."""
    paragraph = form.add_paragraph()
    paragraph.alignment = WD_ALIGN_PARAGRAPH.CENTER
    run = paragraph.add_run(words)
    run.bold, run.font.size = True, Pt(14)


def bullets(form: Any, points: list[str]) -> None:
    """Bullets that Word makes."""
    for point in points:
        form.add_paragraph(point, style="List Bullet").paragraph_format.space_after = Pt(0)


def typed(form: Any, points: list[str]) -> None:
    """Bullets that somebody typed."""
    for point in points:
        form.add_paragraph(f"- {point}").paragraph_format.space_after = Pt(0)


def table(form: Any, rows: list[str]) -> None:
    """Whom to ring."""
    made = form.add_table(rows=0, cols=2, style="Table Grid")
    for row in rows:
        for cell, words in zip(made.add_row().cells, row.split("|"), strict=True):
            cell.text = words


SET: dict[str, Any] = {each.__name__: each for each in (text, lines, heading, title, bullets, typed, table)}


def make() -> bytes:
    """The form as the bytes of a Word file."""
    form = Document()
    look(form)
    margins(form)
    for kind, words in FORM:
        SET[kind](form, words)
    without_unused(form)
    said = form.core_properties
    said.title, said.author, said.comments = TITLE.title(), "Hazel Street (invented)", INVENTED
    said.created = said.modified = WRITTEN
    out = io.BytesIO()
    form.save(out)
    return same_each_time(out.getvalue())


def look(form: Any) -> None:
    """Small serif letters on A4 with narrow margins, so that it fits on few sheets."""
    section = form.sections[0]
    section.page_width, section.page_height = Cm(21), Cm(29.7)
    section.left_margin = section.right_margin = Cm(2)
    section.top_margin = section.bottom_margin = Cm(2)
    font = form.styles["Normal"].font
    font.name, font.size = "Times New Roman", Pt(11)


def margins(form: Any) -> None:
    """On every page: that it is invented, the letterhead, and a form number."""
    section = form.sections[0]
    head = section.header.paragraphs[0]
    head.add_run(INVENTED).bold = True
    section.header.add_paragraph(LETTERHEAD).alignment = WD_ALIGN_PARAGRAPH.RIGHT
    section.footer.paragraphs[0].text = "Form HS/CF/07, version 3. Invented."


def without_unused(form: Any) -> None:
    """Take out what python-docx's own template brings and this form has no use for: most of its bytes."""
    for rels in (form.part.rels, form.part.package.rels):
        for id in [id for id, rel in rels.items() if rel.reltype.endswith(UNUSED_PARTS)]:
            del rels[id]
    for style in list(form.styles):
        if not style.name.startswith(USED_STYLES):
            style.delete()
    for latent in list(form.styles.latent_styles):
        latent.delete()


def parts_of(data: bytes) -> dict[str, bytes]:
    """Name -> content of what a Word file holds; the list of kinds first, as the format wants it."""
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        names = sorted(package.namelist(), key=lambda each: (each != "[Content_Types].xml", each))
        return {name: package.read(name) for name in names}


def same_each_time(data: bytes) -> bytes:
    """The same package with fixed times, in fixed order and not compressed: another zlib would give
    other bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as package:
        for name, content in parts_of(data).items():
            entry = zipfile.ZipInfo(name, date_time=(*WRITTEN.timetuple()[:5], 0))
            entry.create_system = 0  # or it would say on which system it was made
            package.writestr(entry, content)
    return out.getvalue()


def main() -> None:
    out = Path(sys.argv[1]) if len(sys.argv) > 1 else OUT
    out.parent.mkdir(parents=True, exist_ok=True)
    out.write_bytes(make())
    print(f"{out}: an invented old form, badly written on purpose")


if __name__ == "__main__":
    main()
