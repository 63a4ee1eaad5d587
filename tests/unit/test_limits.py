"""Limits of readers: what would fill the memory, take an afternoon or stop a parser is refused in words."""

from __future__ import annotations

import io
import time
import zipfile

import pytest

from consentpack import limits, markdown
from consentpack.errors import ReadError
from consentpack.limits import OverLimit, bounded_zip
from consentpack.readers import READERS
from consentpack.strict import Key, load_toml, said, wrong_value


def zip_of(parts: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        for name, data in parts.items():
            package.writestr(name, data)
    return out.getvalue()


def word(body: bytes) -> bytes:
    space = b'xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main"'
    return zip_of(
        {
            "[Content_Types].xml": b'<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>',
            "word/document.xml": b"<w:document " + space + b"><w:body>" + body + b"</w:body></w:document>",
        }
    )


def refused(ending: str, data: bytes) -> str:
    """What is said of a file; fails when it takes longer than five seconds of processor time."""
    begun = time.process_time()
    with pytest.raises(ReadError) as caught:
        READERS[ending](data, f"old{ending}")
    assert time.process_time() - begun < 5
    return str(caught.value)


# --- zip files -----------------------------------------------------------------------------------


def test_a_word_file_of_nothing_but_tags_is_refused_before_it_is_parsed():
    """284 kB took 4.6 GB."""
    data = word(b"<w:p/>" * 10_000_000)
    assert len(data) < 300_000
    assert refused(".docx", data).startswith(
        "old.docx: its part 'word/document.xml' has more than 20 million bytes."
    )


def test_many_tags_in_few_bytes_are_counted():
    assert f"it has more than {limits.MOST_TAGS} tags." in refused(
        ".docx", word(b"<w:p/>" * limits.MOST_TAGS)
    )


def test_a_zip_file_of_too_many_or_too_large_parts_is_over_the_limit():
    with pytest.raises(OverLimit, match="more than 3 parts"):
        bounded_zip(zip_of({str(n): b"" for n in range(4)}), parts=3)
    with pytest.raises(OverLimit, match="more than 1 million bytes"):
        bounded_zip(zip_of({"a": bytes(600_000), "b": bytes(600_000)}), unpacked=1_000_000)


def test_a_zip_file_whose_directory_lies_about_its_place_is_damaged():
    data = bytearray(zip_of({"a": b"x" * 50}))
    end = data.rindex(b"PK\x05\x06")
    data[end + 12 : end + 16] = (2**31).to_bytes(4, "little")  # the size of the directory (APPNOTE 4.3.16)
    with pytest.raises(zipfile.BadZipFile):
        bounded_zip(bytes(data))


def test_a_zip_file_that_lacks_a_piece_is_damaged_when_it_is_read():
    data = bytearray(zip_of({"a": b"x" * 50}))
    del data[5:25]  # places before the gap are then counted from before the file's beginning
    with pytest.raises(zipfile.BadZipFile), bounded_zip(bytes(data)) as package:
        package.read("a")
    form = bytearray(word(b"<w:p/>"))
    del form[60:70]
    assert refused(".docx", bytes(form)).startswith("old.docx: the file is damaged")


def test_a_zip_file_within_the_limits_is_read():
    with bounded_zip(zip_of({"a.xml": b"<x></x>", "b": b"<" * 9}), unpacked=100, parts=2) as package:
        assert package.read("a.xml", most=7) == b"<x></x>"
        package.check_tags(most=2)
        with pytest.raises(OverLimit):
            package.check_tags(most=1)
        with pytest.raises(OverLimit):
            package.read("a.xml", most=6)


# --- text, Markdown, HTML --------------------------------------------------------------------------


def test_a_text_longer_than_a_novel_is_refused():
    for ending in (".txt", ".md", ".html"):
        assert "characters of text" in refused(ending, b"word " * (limits.MOST_TEXT // 5 + 1))


def test_a_paragraph_of_stars_does_not_keep_the_parser_busy():
    """70 kB took 46 seconds."""
    assert refused(".md", b"# x\n\n" + b"*a **b " * 10_000).startswith(
        "old.md, line 3: a paragraph has more than"
    )


def test_content_with_a_paragraph_of_stars_is_a_problem_with_its_line():
    blocks, problems = markdown.parse("Well.\n\n" + "*a **b " * 1000, file="m.md", first_line=5)
    assert blocks == () and [p.where for p in problems] == ["m.md, line 7"]


def test_prose_with_as_many_marks_as_people_type_is_read():
    blocks, problems = markdown.parse("- **bold** and more\n" * 300, file="m.md")
    assert len(blocks[0].items) == 300 and problems == []


@pytest.mark.parametrize("piece", [b"<div>", b"<p hidden><b>", b"<ul><li>", b"<svg>"])
def test_html_nested_without_end_is_refused(piece):
    data = b"<p>Words.</p>" + piece * 50_000
    if piece.startswith(b"<p"):  # a paragraph ends the one before it
        READERS[".html"](data, "old.html")
    else:
        assert "deep." in refused(".html", data)


# --- TOML ----------------------------------------------------------------------------------------


def test_toml_nested_three_thousand_deep_is_a_problem():
    data, problems = load_toml("a = 1\nb = " + "[" * 3000 + "]" * 3000, file="p.toml")
    assert data == {} and problems[0].where == "p.toml, line 2" and "40 deep" in problems[0].what


def test_a_number_of_five_thousand_digits_is_a_problem():
    _, problems = load_toml("sessions = " + "9" * 5000, file="p.toml")
    assert str(problems[0]).startswith("p.toml, line 1: a number here has more than 18 digits.")


def test_brackets_and_digits_inside_words_are_words():
    text = 'a = "' + "[" * 100 + "9" * 100 + "\"\nb = '''" + "{" * 50 + "\n" + "1" * 30 + "'''\n# " + "[" * 99
    data, problems = load_toml(text, file="p.toml")
    assert problems == [] and data["a"].startswith("[")


def test_a_hexadecimal_number_too_long_to_be_shown_is_still_refused():
    data, problems = load_toml("n = 0x" + "f" * 20_000, file="p.toml")
    assert problems == []
    assert "it is too long to be shown" in wrong_value(Key(int, ""), data["n"])
    assert wrong_value(Key(str, ""), data["n"]).startswith("should be words in quotes")
    assert said("x" * 500).endswith("…")


def test_typographic_quotes_are_named():
    _, problems = load_toml("a = 1\nsite = “chin”\n", file="p.toml")
    assert str(problems[0]) == (
        "p.toml, line 2: this line has typographic quotes (“), which word processors put in.\n"
        '  Type straight ones: site = "chin"'
    )


def test_typographic_quotes_inside_straight_ones_are_words():
    assert load_toml('a = "he said “no”"', file="p.toml") == ({"a": "he said “no”"}, [])
    _, problems = load_toml('a = "he said “no”" x', file="p.toml")
    assert "is not TOML" in problems[0].what


@pytest.mark.parametrize(
    ("key", "text", "said_of_it"),
    [
        (Key(int, "", most=1200), "24311", "should be 1200 or less; it is 24311."),
        (Key(str, "", most=100), '"' + "x" * 300 + '"', "has 300 characters; 100 is the most."),
        (Key(str, ""), '"a\\u0000b"', "holds a control character"),
        (Key(list, ""), '["a\\u0007"]', "holds a control character"),
    ],
)
def test_values_that_would_stop_a_later_stage_are_refused(key, text, said_of_it):
    data, _ = load_toml(f"x = {text}", file="p.toml")
    assert said_of_it in wrong_value(key, data["x"])


@pytest.mark.parametrize("day", ["0001-01-01", "1899-12-31", "2200-01-01", "9999-12-31"])
def test_days_at_the_ends_of_the_calendar_are_refused(day):
    from datetime import date

    data, _ = load_toml(f"x = {day}", file="p.toml")
    assert wrong_value(Key(date, ""), data["x"]) == f"should be a day from 1900 to 2199; it is {day}."
