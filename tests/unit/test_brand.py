"""[brand] of clinic.toml: what a clinic's papers may look like, and everything that is refused.

Word counts in half-points; a designer's file is made here with python-docx, as its own template is
what a designer might start from.
"""

from __future__ import annotations

import hashlib
import importlib.util
import io
import struct
import zipfile
from pathlib import Path

import pytest
from docx import Document
from docx.shared import Pt, RGBColor

from consentpack.brand import KEYS, LARGEST_LOGO, read_brand
from consentpack.brand.colours import contrast, darker, mixed
from consentpack.brand.pictures import PictureError, size_of

ROOT = Path(__file__).parents[2]


def png(width=120, height=60, end=b"IEND\xaeB`\x82") -> bytes:
    """As much of a PNG as is looked at."""
    return b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + struct.pack(">II", width, height) + b"\0" * 9 + end


def jpeg(width=120, height=60) -> bytes:
    """A JPEG's segments up to its frame, without the JFIF mark that some programs leave out."""
    comment = b"\xff\xfe\0\x06abcd"
    return (
        b"\xff\xd8"
        + b"\xff"
        + comment
        + b"\xff\xc2\0\x11\x08"
        + struct.pack(">HH", height, width)
        + b"\0" * 9
    )


def word_file(change=lambda document: None, *, size=12) -> bytes:
    """A designer's Word file: python-docx's own template, its letters large enough."""
    document = Document()
    document.styles["Normal"].font.size = Pt(size)
    for level in (1, 2, 3):
        document.styles[f"Heading {level}"].font.size = Pt(22 - 3 * level)
        document.styles[f"Heading {level}"].font.color.rgb = RGBColor(0x5A, 0x1F, 0x3C)
    change(document)
    stream = io.BytesIO()
    document.save(stream)
    return stream.getvalue()


def repacked(data: bytes, **changed: bytes) -> bytes:
    """A package with some parts added or replaced; '__' stands for '/' and '_DOT_' for '.'."""
    stream = io.BytesIO()
    new = {name.replace("__", "/").replace("_DOT_", "."): content for name, content in changed.items()}
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(stream, "w") as made:
        for name in old.namelist():
            if name not in new:
                made.writestr(name, old.read(name))
        for name, content in new.items():
            made.writestr(name, content)
    return stream.getvalue()


@pytest.fixture
def brand(tmp_path):
    """brand(table, file=bytes ...): the look and what is said against it."""

    def read(table, **files: bytes):
        for name, content in files.items():
            (tmp_path / name.replace("_", ".")).write_bytes(content)
        made, problems = read_brand(table, tmp_path, lambda key: f"clinic.toml, [{key}]")
        return made, [str(problem) for problem in problems]

    return read


# --- colour ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("colour", "ratio"),
    [
        ("000000", 21.00),
        ("FFFFFF", 1.00),
        ("767676", 4.54),  # the lightest grey that passes AA: WebAIM and others; from memory
        ("777777", 4.48),
        ("595959", 7.00),
        ("0563C1", 5.90),
        ("FFC000", 1.64),
    ],
)
def test_contrast_with_white_is_as_published(colour, ratio):
    """WCAG 2.2, definitions of relative luminance and contrast ratio."""
    assert round(contrast(colour, "FFFFFF"), 2) == round(contrast("FFFFFF", colour), 2) == ratio


def test_a_pale_colour_is_refused_with_its_measure_and_a_shade_that_would_do(brand):
    _, said = brand({"colour": "#FFC000"})
    shade = darker("FFC000")
    assert said == [
        "clinic.toml, [colour]: 'colour' is #FFC000: its contrast with white is 1.64 to 1, and words need "
        "4.5 to 1 (WCAG 1.4.3). White words on it would be as hard to read.\n"
        f"  Take a darker shade of it, such as #{shade} ({contrast(shade, 'FFFFFF'):.2f} to 1)."
    ]
    assert brand({"colour": f"#{shade}"})[1] == []


@pytest.mark.parametrize("colour", ["#777777", "#FFC000", "#00FF00", "#FFFFFF", "#FF0000"])
def test_the_shade_that_is_offered_passes_and_is_hardly_darker_than_it_must_be(colour):
    shade = darker(colour[1:])
    lighter = mixed(shade, "FFFFFF", 90)
    assert contrast(shade, "FFFFFF") >= 4.5 > contrast(lighter, "FFFFFF")


@pytest.mark.parametrize("colour", ["red", "#1B3A4", "1B3A4B", "#1B3A4G", "#1B3A4B4B", "#1b3a4b\n"])
def test_a_colour_is_a_hash_and_six_hex_digits(brand, colour):
    assert "six hex digits" in brand({"colour": colour})[1][0]


def test_a_good_colour_is_kept_in_capitals(brand):
    assert brand({"colour": "#1f5a3c"})[0].colour == "1F5A3C"


# --- logo -----------------------------------------------------------------------------------------

LOGO = {"logo": "a.png", "logo_alt": "A leaf"}


@pytest.mark.parametrize("content", [png(), jpeg()])
def test_a_png_or_jpeg_is_taken_with_its_size_and_words(brand, content):
    made, said = brand(LOGO, a_png=content)
    assert said == []
    assert (made.logo.width, made.logo.height, made.logo.alt) == (120, 60, "A leaf")
    assert made.files == (("a.png", hashlib.sha256(content).hexdigest()),)


def test_a_logo_needs_words_for_who_cannot_see_it(brand):
    _, said = brand({"logo": "a.png"}, a_png=png())
    assert len(said) == 1 and "no 'logo_alt'" in said[0]


def test_words_without_a_logo_are_a_mistake(brand):
    assert "'logo' is not" in brand({"logo_alt": "A leaf"})[1][0]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"GIF89a" + b"\0" * 100, "neither a PNG nor a JPEG"),
        (b"<svg/>", "neither a PNG nor a JPEG"),
        (png()[:25], "broken"),
        (png(end=b"\0" * 12), "broken"),
        (jpeg()[:9], "broken"),
        (png(59, 60), "59 by 60 pixels"),
        (png(3001, 3000), "3001 by 3000 pixels"),
        (png(900, 100), "too long a strip"),
        (b"", "is empty"),
        (png() + b"\0" * LARGEST_LOGO, "300 kB is the most"),
    ],
)
def test_a_file_that_cannot_be_printed_well_is_refused(brand, content, said):
    assert said in brand(LOGO, a_png=content)[1][0]


def test_a_jpeg_that_never_ends_is_refused_and_not_read_for_ever():
    with pytest.raises(PictureError):
        size_of(b"\xff\xd8\xff\xe0\0\0" * 50_000)


@pytest.mark.parametrize("name", ["../a.png", "/etc/hostname", "b/../../a.png"])
def test_only_files_in_the_clinic_folder_are_read(brand, name):
    assert "outside it" in brand({**LOGO, "logo": name})[1][0]


@pytest.mark.parametrize("name", ["no.png", ".", "a\0b"])
def test_a_file_that_is_not_there_is_said(brand, name):
    assert "cannot be read" in brand({**LOGO, "logo": name})[1][0]


def test_the_demos_sign_is_what_its_script_draws():
    spec = importlib.util.spec_from_file_location("make_logo", ROOT / "examples" / "make_logo.py")
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    assert (ROOT / "examples" / "hazel-street" / "logo.png").read_bytes() == script.make()


# --- font and paper -------------------------------------------------------------------------------


@pytest.mark.parametrize("font", ["", "a<b", '"', "x" * 70, "Arial\n", "A;B"])
def test_a_font_is_named_as_word_names_it(brand, font):
    assert "no font's name" in brand({"font": ["Arial", font]})[1][0]


def test_no_more_than_four_fonts(brand):
    assert "5 fonts" in brand({"font": list("ABCDE")})[1][0]


def test_every_key_may_be_left_out(brand):
    assert not any(key.required for key in KEYS.values())
    made, said = brand({})
    assert said == [] and made.paper == "A4"


# --- a designer's file ----------------------------------------------------------------------------

BASE = {"base": "base.docx"}


def test_sizes_colours_and_fonts_are_taken_with_what_they_inherit(brand):
    made, said = brand(BASE, base_docx=word_file())
    styles = dict(made.styles)
    assert said == []
    assert (styles["Normal"].size, styles["heading 1"].size, styles["heading 1"].colour) == (24, 38, "5A1F3C")
    assert styles["heading 1"].bold and styles["heading 1"].font == "Calibri"  # its theme's heading font


@pytest.mark.parametrize("part", ["body", "header", "footer"])
def test_a_file_with_words_is_refused_and_not_stripped(brand, part):
    def write(document):
        section = document.sections[0]
        where = {"body": document, "header": section.header, "footer": section.footer}[part]
        where.add_paragraph("Results guaranteed (invented)")

    assert "holds text, “Results guaranteed" in brand(BASE, base_docx=word_file(write))[1][0]


@pytest.mark.parametrize(
    "name", ["word__vbaProject_DOT_bin", "word__embeddings__a_DOT_bin", "word__activeX__a_DOT_xml"]
)
def test_a_file_with_macros_or_objects_is_refused(brand, name):
    assert "macros" in brand(BASE, base_docx=repacked(word_file(), **{name: b"x"}))[1][0]


def test_a_file_that_calls_itself_one_with_macros_is_refused(brand):
    data = word_file()
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        kinds = package.read("[Content_Types].xml")
    kinds = kinds.replace(
        b"application/vnd.openxmlformats-officedocument.wordprocessingml.document.main",
        b"application/vnd.ms-word.document.macroEnabled.main",
    )
    assert "macros" in brand(BASE, base_docx=repacked(data, **{"[Content_Types]_DOT_xml": kinds}))[1][0]


def test_a_file_without_a_style_we_need_is_refused_by_its_name(brand):
    def drop(document):
        document.styles["Heading 3"].delete()

    assert "lacks the style 'heading 3'" in brand(BASE, base_docx=word_file(drop))[1][0]


def test_letters_under_12_points_are_refused(brand):
    """UKAAF G003 (2019): at least 12 pt; footers too."""
    assert "has 11 pt in the style 'Normal'" in brand(BASE, base_docx=word_file(size=11))[1][0]


def test_a_pale_heading_is_refused_with_its_measure(brand):
    def pale(document):
        document.styles["Heading 2"].font.color.rgb = RGBColor(0xFF, 0xC0, 0x00)

    assert "#FFC000 in the style 'heading 2': 1.64 to 1" in brand(BASE, base_docx=word_file(pale))[1][0]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"no package", "is no Word file"),
        (word_file()[:2000], "is no Word file"),
        (repacked(word_file(), word__styles_DOT_xml=b"<styles"), "is no Word file"),
        (repacked(word_file(), word__styles_DOT_xml=b"<!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>"), "entities"),
        (repacked(word_file(), word__styles_DOT_xml=b"<a/>"), "lacks the style"),
    ],
)
def test_a_broken_or_hostile_file_is_refused(brand, content, said):
    assert said in brand(BASE, base_docx=content)[1][0]


def test_styles_that_are_based_on_each_other_in_a_circle_end(brand):
    def circle(document):
        document.styles["Heading 1"].base_style = document.styles["Heading 2"]
        document.styles["Heading 2"].base_style = document.styles["Heading 1"]

    assert brand(BASE, base_docx=word_file(circle))[1] == []
