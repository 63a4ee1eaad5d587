"""Plain text, its letters, and files that cannot be read: the right sentences, each with its line."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest
from readings import headings, lines, lists, read_as, told

from consentpack.errors import ReadError
from consentpack.limits import MOST_BYTES
from consentpack.readability.scoring import left_out
from consentpack.readers import READERS, read_file


@pytest.fixture
def read(tmp_path: Path):
    """Read words or bytes as a file of some name."""
    return partial(read_as, tmp_path)


# --- plain text -------------------------------------------------------------------------------


def test_hard_wrapped_lines_are_one_paragraph_with_the_line_it_begins_on(read):
    text = (
        "We look at your skin and we press on it for a bit, and\nyou can ask us to stop.\n\nThen we clean it."
    )
    assert lines(read("f.txt", text)) == {
        "We look at your skin and we press on it for a bit, and you can ask us to stop.": 1,
        "Then we clean it.": 4,
    }


@pytest.mark.parametrize("end", ["\r\n", "\r", "\n"], ids=["Windows", "old Mac", "Unix"])
@pytest.mark.parametrize("name", ["f.txt", "f.md", "f.html"])
def test_the_line_ends_of_every_system_give_the_same_places(read, end, name):
    text = (
        "<p>We clean it.</p>\n\n\n<p>Then we stop.</p>\n"
        if name == "f.html"
        else "We clean it.\n\n\nThen we stop."
    )
    assert lines(read(name, text.replace("\n", end))) == {"We clean it.": 1, "Then we stop.": 4}


def test_points_and_their_wrapped_lines_are_a_list(read):
    text = "Do this:\n\n- Keep it dry\n  for two days. Then\n  Wash it.\n- Ring us\n\n1. Press.\n2) Wait.\n"
    document = read("f.txt", text)
    assert lists(document) == [(False, 2), (True, 2)]
    assert lines(document)["Keep it dry for two days. Then Wash it."] == 3
    assert lines(document)["Wait."] == 9


def test_short_lines_that_were_not_wrapped_are_sentences_of_their_own(read):
    assert told(read("f.txt", "No alcohol\nNo smoking\nNo sport\n")) == [
        "No alcohol",
        "No smoking",
        "No sport",
    ]


def test_a_wrapped_line_may_begin_with_a_name(read):
    long_enough = "You will be asked to sit and wait in a small room\nHazel Street keeps for it.\n"
    assert told(read("f.txt", "Please ask the\nHazel Street team.\n")) == [
        "Please ask the Hazel Street team."
    ]
    assert told(read("f.txt", long_enough)) == [" ".join(long_enough.split())]


@pytest.mark.parametrize("head", [
    "RISKS", "RISKS OF TREATMENT", "Risks", "What may go wrong?", "After care\n==========", "1. RISKS",
    "WHAT YOU SHOULD KNOW BEFORE YOU COME TO US", "Will the numbing medicine wear off that night?",
])  # fmt: skip
def test_a_line_that_stands_alone_or_has_a_line_under_it_is_a_heading(read, head):
    document = read("f.txt", f"We clean it.\n\n{head}\n\nYou may bruise.\n")
    assert headings(document) == {head.split("\n")[0]: 3}
    assert told(document) == ["We clean it.", "You may bruise."]


def test_a_heading_in_capitals_needs_no_empty_line_under_it(read):
    document = read("f.txt", "YOUR RISKS\nYou may bruise.\n")
    assert headings(document) == {"YOUR RISKS": 1} and lines(document) == {"You may bruise.": 2}


@pytest.mark.parametrize(
    "line", ["Please do not smoke", "You must ring us", "DO NOT DRIVE HOME", "We clean it."]
)
def test_a_short_order_that_stands_alone_is_no_heading(read, line):
    assert told(read("f.txt", f"{line}\n\nYou may bruise.\n"))[0] == line


def test_an_address_and_lines_to_sign_do_not_carry_a_sentence_away_with_them(read):
    text = (
        "Hazel Street Scar Clinic\n1 Hazel Street\nEX1 1EX\nTel: 020 7946 0101\n\n"
        "I agree to the treatment.\nSigned: ________\nDate: ________\n"
    )
    document = read("f.txt", text)
    assert lines(document) == {"I agree to the treatment.": 6}
    assert left_out(document) == {"names, contacts and references": 6}


# --- letters ----------------------------------------------------------------------------------

WORDS = "It isn’t over – a café naïf costs £5."
ENCODED = {
    "UTF-8": WORDS.encode(),
    "UTF-8 with its mark": WORDS.encode("utf-8-sig"),
    "UTF-16": WORDS.encode("utf-16"),
    "UTF-16 the other way round": "\ufeff".encode("utf-16-be") + WORDS.encode("utf-16-be"),
    "UTF-16 without its mark": WORDS.encode("utf-16-le"),
    "UTF-32": WORDS.encode("utf-32"),
    "Windows-1252": WORDS.encode("cp1252"),
}


@pytest.mark.parametrize("name", ["f.txt", "f.md", "f.html"])
@pytest.mark.parametrize("how", ENCODED)
def test_a_file_is_read_however_its_letters_are_kept(read, name, how):
    assert told(read(name, ENCODED[how])) == [WORDS]


@pytest.mark.parametrize(("charset", "kept_as"), [
    ("iso-8859-1", "cp1252"),  # what browsers do (WHATWG Encoding Standard, 4.2)
    ("windows-1252", "cp1252"),
    ("iso-8859-2", "iso-8859-2"),
    ("utf-8", "utf-8"),
    ("no-such-letters", "cp1252"),
])  # fmt: skip
def test_a_page_may_say_how_its_letters_are_kept(read, charset, kept_as):
    words = "Nie ćwicz, proszę." if charset == "iso-8859-2" else "It isn’t over."
    words = words.replace("ę", "e") if charset == "iso-8859-2" else words
    page = f'<meta charset="{charset}"><p>{words}</p>'
    assert told(read("f.html", page.encode(kept_as))) == [words]


# --- bad files ----------------------------------------------------------------------------------


def refused(path: Path) -> str:
    with pytest.raises(ReadError) as caught:
        read_file(path)
    problem = caught.value.problems[0]
    assert problem.where == path.name and problem.fix, "each error says where and what to do"
    return problem.what


@pytest.mark.parametrize("name", [f"f{ending}" for ending in READERS])
def test_an_empty_file_is_refused(tmp_path, name):
    (tmp_path / name).touch()
    assert refused(tmp_path / name) == "the file is empty (0 bytes)."


@pytest.mark.parametrize(("name", "data"), [
    ("f.txt", b" \n\t\n"), ("f.md", b"---\ntitle: x\n---\n"), ("f.html", b"<p></p><script>x</script>"),
    ("f.md", b"# A heading alone\n"),
])  # fmt: skip
def test_a_file_without_text_is_refused(tmp_path, name, data):
    (tmp_path / name).write_bytes(data)
    assert refused(tmp_path / name) == "there is no text in this file."


@pytest.mark.parametrize(("data", "says"), [
    (b"%PDF-1.7\n\x00\x01\x02", "this is a PDF file."),
    (b"\x89PNG\r\n\x1a\n\x00\x00\x01", "this is a picture."),
    (b"PK\x03\x04\x14\x00\x06", "this is a zip file, such as Word or LibreOffice writes."),
    (bytes(range(256)) * 4, "this is no text file."),
])  # fmt: skip
@pytest.mark.parametrize("name", ["f.txt", "f.md", "f.html"])
def test_a_file_that_is_no_text_is_named_for_what_it_is(tmp_path, name, data, says):
    (tmp_path / name).write_bytes(data)
    assert refused(tmp_path / name) == says


@pytest.mark.parametrize(("name", "says"), [
    ("f.doc", "a '.doc' file cannot be read."), ("f.pdf", "a '.pdf' file cannot be read."),
    ("form", "its name has no ending."),
])  # fmt: skip
def test_another_kind_of_file_is_refused_by_its_name(tmp_path, name, says):
    (tmp_path / name).write_text("We clean it.")
    assert refused(tmp_path / name) == says


def test_a_file_that_is_not_there_and_a_folder_are_refused(tmp_path):
    (tmp_path / "folder.txt").mkdir()
    assert refused(tmp_path / "none.txt") == "the file cannot be read (No such file or directory)."
    assert refused(tmp_path / "folder.txt") == "the file cannot be read (Is a directory)."


def test_a_film_under_the_name_of_a_text_is_not_loaded(tmp_path):
    with (tmp_path / "f.txt").open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    assert refused(tmp_path / "f.txt") == "the file has more than 50 million bytes."
