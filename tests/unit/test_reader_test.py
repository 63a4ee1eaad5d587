"""The test with readers: gaps, the spreadsheet there and back, what marks say. All marks are invented."""

from __future__ import annotations

import io
import json
import random
import re

import docx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook
from scipy import stats

from consentpack.errors import ReadError
from consentpack.reader_test import Reader, Sheet, cloze_of, count, difference, read_marks, workbook
from consentpack.reader_test.cloze import BLANK, EVERY, GAPS
from consentpack.tree import Document, Heading, Items, Paragraph, Run, Section

SAID = "we numb your skin first and then clean it well before you go home in the evening with a friend"
WORDS = SAID.split()


def text_of_length(words, start=0):
    return " ".join(WORDS[(start + n) % len(WORDS)] for n in range(words)) + "."


def document(*nodes, language="en-GB"):
    made = (Section("a", "What we do", nodes),)
    return Document("a.txt", "Title", language, "patient", "", "", "", made)


def p(text):
    return Paragraph((Run(text),))


def words_in(sheet):
    return [
        part for section in sheet.sections[1:] for node in section.nodes
        for item in (node.items if isinstance(node, Items) else [node])
        for part in item.runs[0].text.split()
    ]  # fmt: skip


# --- gaps -----------------------------------------------------------------------------------------


def test_every_fifth_word_is_a_gap_after_a_first_sentence_that_stays_whole():
    first, rest = "We tell you what we do.", "Then " + text_of_length(120)
    cloze = cloze_of(document(p(f"{first} {rest}")), name="a")
    assert [gap.word for gap in cloze.gaps] == [word.strip(".") for word in rest.split()[4::5]]
    assert words_in(cloze.sheet)[:6] == first.split()


@given(st.integers(130, 400), st.integers(EVERY, 9))
def test_the_words_of_the_key_put_back_give_the_text(length, every):
    source = f"This is the start. Then {text_of_length(length)}"
    cloze = cloze_of(document(p(source)), name="a", every=every, most=GAPS) if length // every >= 20 else None
    if cloze:
        found = cloze.sheet.sections[1].nodes[0].runs[0].text
        for gap in cloze.gaps:
            found = found.replace(f"{BLANK} ({gap.number})", gap.word, 1)
        assert found == source


def test_all_gaps_have_one_length_and_marks_stay_outside_them():
    cloze = cloze_of(document(p("Go. " + "Do rest at your (home), " * 40)), name="a")
    text = " ".join(words_in(cloze.sheet))
    assert len(re.findall(rf"\({BLANK} \(\d+\)\),", text)) == len(cloze.gaps) == 40
    assert {gap.word for gap in cloze.gaps} == {"home"}


def test_no_more_gaps_than_asked_and_the_rest_of_the_paragraph_stays():
    cloze = cloze_of(document(p(f"A start. Then {text_of_length(400)}"), p("Not needed any more.")), name="a")
    assert len(cloze.gaps) == GAPS and "needed" not in words_in(cloze.sheet)
    assert words_in(cloze.sheet)[-1] == text_of_length(400).split()[-1]


def test_headings_and_lists_keep_their_form_and_headings_no_gaps():
    nodes = (
        Heading((Run("One two three four five six"),), 3),
        Items(tuple(p(text_of_length(40, n)) for n in range(4))),
    )
    cloze = cloze_of(document(*nodes), name="a")
    kept = cloze.sheet.sections[1].nodes
    assert kept[0] == nodes[0] and isinstance(kept[1], Items) and len(kept[1].items) == 4


def test_a_short_text_and_another_language_are_refused():
    with pytest.raises(ReadError, match="a test needs 20"):
        cloze_of(document(p(text_of_length(60))), name="a.txt")
    with pytest.raises(ReadError, match="not translated"):
        cloze_of(document(p(text_of_length(300)), language="es"), name="a.txt")


def test_the_sheet_asks_for_no_name():
    sheet = cloze_of(document(p("A start. Then " + text_of_length(300))), name="a").sheet
    fields = [f.label for node in sheet.sections[0].nodes if hasattr(node, "lines") for f in node.lines]
    assert fields == ["Number of the reader", "Day"]


# --- the spreadsheet ------------------------------------------------------------------------------


def filled(tmp_path, *rows, name="marks.xlsx", gaps=3):
    book = Workbook()
    table = book.active
    table.title = "old"
    table.append(["reader", *range(1, gaps + 1)])
    table.append(["the word", *WORDS[:gaps]])
    for row in rows:
        table.append(row)
    book.save(tmp_path / name)
    return tmp_path / name


def test_what_is_written_is_read_again_and_nobody_has_marks(tmp_path):
    texts = [
        cloze_of(document(p("A start. Then " + text_of_length(300, n))), name=f"forms/text[{n}].docx")
        for n in (0, 3, 0)
    ]
    (tmp_path / "m.xlsx").write_bytes(workbook(texts))
    sheets = read_marks(tmp_path / "m.xlsx")
    assert len({sheet.text for sheet in sheets}) == 3
    assert [sheet.words for sheet in sheets] == [tuple(gap.word for gap in text.gaps) for text in texts]
    assert all(sheet.readers == () and sheet.aside == () and count(sheet) is None for sheet in sheets)


def test_good_rows_are_kept_and_bad_rows_are_named(tmp_path):
    """A gap without a mark is not a wrong word: counted as one, the text would look harder."""
    rows = (["R1", 1, 0, 1], ["R2", 1, None, 1], ["R3", 1, "y", 0], ["R1", 0, 0, 0], [None, 1, 1, 1], ["R4"],
            ["R5", 1.0, True, "0"])  # fmt: skip
    (sheet,) = read_marks(filled(tmp_path, *rows))
    assert sheet.readers == (Reader("R1", (True, False, True)), Reader("R5", (True, True, False)))
    assert [problem.where[-5:] for problem in sheet.aside] == ["row 4", "row 5", "row 6", "row 7"]
    told = " ".join(problem.what for problem in sheet.aside)
    for said in ("gap 2 has no mark", "gap 2 is marked 'y'", "R1 stands here twice", "no number"):
        assert said in told


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04 nothing", b"\x00" * 400])
def test_a_damaged_file_is_told(tmp_path, data):
    (tmp_path / "m.xlsx").write_bytes(data)
    with pytest.raises(ReadError, match="no spreadsheet"):
        read_marks(tmp_path / "m.xlsx")


def test_another_spreadsheet_is_told(tmp_path):
    book = Workbook()
    book.active.append(["name", "age"])
    book.save(tmp_path / "m.xlsx")
    with pytest.raises(ReadError, match="no table in it"):
        read_marks(tmp_path / "m.xlsx")


# --- what the marks say ---------------------------------------------------------------------------


def sheet_of(shares, gaps=50, seed=1, text="old"):
    draw = random.Random(seed)
    readers = []
    for number, share in enumerate(shares):
        right = [True] * round(share * gaps / 100) + [False] * (gaps - round(share * gaps / 100))
        draw.shuffle(right)
        readers.append(Reader(f"R{number}", tuple(right)))
    return Sheet(text, tuple(f"w{n}" for n in range(gaps)), tuple(readers), ())


def test_mean_and_interval_are_those_of_another_program():
    """scipy's t interval of the mean."""
    shares = [64, 52, 70, 38, 58, 62, 80, 44]
    found = count(sheet_of(shares))
    mean = sum(shares) / 8
    low, high = stats.t.interval(0.95, 7, loc=mean, scale=stats.sem(shares))
    assert found.mean == pytest.approx(mean) and found.interval == pytest.approx((low, high))


def test_the_difference_is_welchs():
    """scipy's test with unequal spreads."""
    old, new = [44, 38, 52, 60, 30, 48], [70, 66, 80, 58, 74, 62, 90]
    two = difference(count(sheet_of(old)), count(sheet_of(new, text="new")))
    theirs = stats.ttest_ind(new, old, equal_var=False).confidence_interval(0.95)
    assert (two.low, two.high) == pytest.approx((theirs.low, theirs.high))
    assert two.verdict == "readers did better with new"


def test_no_difference_and_worse_are_told_apart():
    alike = difference(count(sheet_of([50, 60, 40])), count(sheet_of([52, 58, 44], text="new")))
    worse = difference(count(sheet_of([80, 82, 84])), count(sheet_of([40, 42, 38], text="new")))
    assert alike.verdict == "no difference was shown" and worse.verdict == "readers did worse with new"


def test_bands_meet_at_60_and_40():
    found = count(sheet_of([60, 58, 40, 38, 100, 0]))
    assert (found.alone, found.with_help, found.too_hard) == (2, 2, 2)


def test_one_reader_has_no_interval_and_few_are_told():
    found = count(sheet_of([60]))
    assert found.interval is None and found.few
    assert difference(found, found) is None
    assert not count(sheet_of([60] * 10)).few


def test_the_gaps_that_the_fewest_got_right_come_first():
    rows = (Reader("a", (True, False, True)), Reader("b", (True, False, False)))
    found = count(Sheet("t", ("x", "y", "z"), rows, ()))
    assert found.hardest == ((2, "y", 0), (3, "z", 1), (1, "x", 2))


# --- the commands ---------------------------------------------------------------------------------


def test_from_a_form_to_its_result(run, tmp_path):
    (tmp_path / "form.txt").write_text("WHAT WE DO\n\nWe tell you all. Then " + text_of_length(300))
    made = run(tmp_path, "reader-test", "make", "form.txt", "--out", "test")
    assert made.exit_code == 0 and (tmp_path / "test" / "form-key.txt").is_file()
    sheet = " ".join(each.text for each in docx.Document(tmp_path / "test" / "form-sheet.docx").paragraphs)
    assert sheet.count(BLANK) == GAPS and "Please do not write your name" in sheet
    marks = tmp_path / "test" / "marks.xlsx"
    book = load_workbook(io.BytesIO(marks.read_bytes()))
    for row in (3, 4, 5):
        for column in range(2, GAPS + 2):
            book["form.txt"].cell(row, column, int(column % row > 0))
    book.save(marks)
    done = run(tmp_path, "reader-test", "count", str(marks), "--json")
    (found,) = json.loads(done.output)["texts"]
    right = [100 * sum(c % r > 0 for c in range(2, GAPS + 2)) / GAPS for r in (3, 4, 5)]
    assert found["shares"] == right and found["readers"] == 3


def test_marks_that_somebody_wrote_are_never_lost(run, tmp_path):
    (tmp_path / "form.txt").write_text("We tell you all. Then " + text_of_length(300))
    run(tmp_path, "reader-test", "make", "form.txt", "--out", "test")
    again = run(tmp_path, "reader-test", "make", "form.txt", "--out", "test")
    assert again.exit_code != 0 and "would be lost" in again.output


def test_a_row_that_is_set_aside_is_named_and_the_others_are_counted(run, tmp_path):
    filled(tmp_path, ["R1", 1, 0, 1], ["R2", 1, None, 1], ["R3", 1, 1, 1])
    done = run(tmp_path, "reader-test", "count", "marks.xlsx")
    assert done.exit_code == 17 and "old: 2 readers" in done.output and "row 4" in done.output
