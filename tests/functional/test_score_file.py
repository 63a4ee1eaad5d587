"""`consentpack score` on a form a clinic already has: the invented old form of the demo clinic."""

from __future__ import annotations

import importlib.util
import json
import re
import subprocess
import sys
import zipfile
from collections import Counter
from pathlib import Path

import docx_integrity
import pytest
from openxml_audit import OpenXmlValidator
from textstat.backend.metrics import flesch_kincaid_grade

from consentpack.advice import RULES
from consentpack.errors import ReadabilityError, ReadError

EXAMPLES = Path(__file__).parents[2] / "examples"
FORM = EXAMPLES / "hazel-street" / "old-form.docx"
TARGET = 6
"""Of the demo clinic's clinic.toml."""


@pytest.fixture
def score(run, demo_clinic):
    """Run the command on the old form in the demo clinic's folder."""

    def call(*options: str, form: Path | str = FORM):
        return run(demo_clinic, "score", str(form), *options)

    return call


@pytest.fixture
def answer(score) -> dict:
    (found,) = json.loads(score("--json").stdout)
    return found


# --- the form itself ---------------------------------------------------------------------------


def script():
    """The script that makes the form, as a module."""
    spec = importlib.util.spec_from_file_location("make_old_form", EXAMPLES / "make_old_form.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_form_in_the_repository_is_what_its_script_makes():
    """Part by part first, so that a change says where it is; then byte for byte."""
    made = script().make()
    with zipfile.ZipFile(FORM) as kept:
        assert {n: kept.read(n) for n in kept.namelist()} == script().parts_of(made)
    assert made == FORM.read_bytes()


def test_the_script_makes_the_same_bytes_in_another_process(tmp_path):
    """No clock, no chance, no order of a set."""
    command = [sys.executable, str(EXAMPLES / "make_old_form.py"), str(tmp_path / "form.docx")]
    subprocess.run(command, check=True, capture_output=True, env={"PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo"})
    assert (tmp_path / "form.docx").read_bytes() == FORM.read_bytes()


def test_the_form_says_on_every_page_that_it_is_invented_and_its_numbers_are_kept_for_drama():
    """020 7946 0000 to 0999 is reserved for drama (Ofcom, 'Telephone numbers for use in TV and radio
    drama programmes'; from memory)."""
    with zipfile.ZipFile(FORM) as kept:
        text = {n: re.sub(r"<[^>]+>", " ", kept.read(n).decode()) for n in kept.namelist()}
    assert "INVENTED EXAMPLE" in text["word/header1.xml"]
    words = " ".join(text[n] for n in text if n.startswith("word/") and "theme" not in n)
    assert len(re.findall(r"020 7946 0\d{3}", words)) == 3
    assert not re.findall(r"\b0\d{2,4} \d{3,4} \d{3,4}\b(?<!020 7946 0\d{3})", words)
    assert re.findall(r"[\w.]+@([\w.]+)", words) == ["example.org"]


def test_the_form_is_a_sound_word_file():
    """By openxml-audit (schema and semantics of ECMA-376) and docx-integrity (references), from PyPI."""
    assert OpenXmlValidator().validate(str(FORM)).errors == []
    assert docx_integrity.check(str(FORM)) == []


@pytest.mark.office
def test_the_form_prints_on_two_or_three_pages(office, tmp_path):
    command = [
        office,
        f"-env:UserInstallation=file://{tmp_path}/profile",
        "--headless",
        "--convert-to",
        "pdf",
    ]
    subprocess.run(
        [*command, "--outdir", str(tmp_path), str(FORM)], check=True, capture_output=True, timeout=120
    )
    info = subprocess.run(
        ["pdfinfo", str(tmp_path / "old-form.pdf")], check=True, capture_output=True, text=True
    )
    assert re.search(r"Pages:\s+[23]\n", info.stdout)


# --- the grade ---------------------------------------------------------------------------------


def test_a_form_over_its_target_exits_with_the_code_for_it_and_says_by_how_much(score, answer):
    """The form is about seven grades over: a person with thirteen years of school can follow it."""
    result = score("--advice")
    assert result.exit_code == ReadabilityError.exit_code == 13
    assert answer["target"] == TARGET
    assert 6 < answer["grade"] - TARGET < 9
    assert f"old-form.docx: grade {answer['grade']:.1f} (target {TARGET}, " in result.stdout
    assert answer["over"][0] == "", "the whole, not only a part of it"


def test_every_part_that_is_long_enough_to_score_is_over(answer):
    scored = [part for part in answer["sections"] if part["grade"] is not None]
    assert {part["id"] for part in scored} | {""} == set(answer["over"])
    assert [part["heading"] for part in scored] == [
        "NATURE OF PROCEDURE", "EXPECTED OUTCOME", "CONTRAINDICATIONS", "RISKS AND COMPLICATIONS",
        "POST-PROCEDURE INSTRUCTIONS", "ALTERNATIVES", "CONSENT",
    ]  # fmt: skip


def test_the_printed_text_scored_by_textstat_gives_textstats_own_number(score, answer):
    """So anybody can repeat it with textstat alone."""
    printed = score("--text").stdout
    own = flesch_kincaid_grade(printed, "en_US")
    assert round(own, 2) == answer["textstat"]
    assert f"textstat's own {own:.1f}" in score().stdout


def test_the_printed_text_holds_every_word_of_running_text_and_no_other(score):
    """Words are counted over in the script that made the form, not by the reader."""
    made = script()
    running = {"text": 1, "bullets": 1, "typed": 1}
    written = [words for kind, words in made.FORM if kind in running]
    flat = " ".join(" ".join(words) if isinstance(words, list) else words for words in written)
    printed = score("--text").stdout
    plain = {"87%": "87 per cent", "Post-inflammatory": "Post inflammatory", "re-tethering": "re tethering"}
    for as_written, as_read in plain.items():
        flat = flat.replace(as_written, as_read)
    count = Counter(re.findall(r"[A-Za-z]+|\d+", flat))
    assert Counter(re.findall(r"[A-Za-z]+|\d+", printed)) == count


def test_what_was_left_out_is_counted(answer, score):
    """By hand: 9 headings; 2 lines to fill in, 3 to sign, 4 rows of 2 cells, 2 of header, 1 of footer."""
    assert answer["left_out"] == {"headings": 9, "names, contacts and references": 2 + 3 + 8 + 2 + 1}
    assert "not scored: 9 headings, 16 names, contacts and references" in score().stdout


# --- the advice --------------------------------------------------------------------------------

TRIPPED = {
    "long-sentence": (4, "77 words"),
    "passive": (5, "is … undertaken"),
    "double-negative": (5, "not uncommon"),
    "noun-for-verb": (4, "the administration of"),
    "plain-word": (5, "prior to"),
    "jargon": (14, "Seroma"),
    "abbreviation": (4, "LA"),
    "two-names": (5, "practitioner"),
    "vague-time": (27, "regularly"),
    "no-verb": (31, "Analgesia as required."),
    "crowded-list": (12, "a list of 14 points"),
}
"""Rule -> a paragraph of the printed form, counted by hand, and what is wrong in it."""


def test_every_rule_has_something_in_the_form():
    assert set(TRIPPED) == set(RULES)


@pytest.mark.parametrize("rule", TRIPPED)
def test_a_rule_finds_what_a_person_finds_in_the_place_where_it_is(answer, rule):
    number, found = TRIPPED[rule]
    places = [r["source"] for r in answer["remarks"] if (r["rule"], r["found"]) == (rule, found)]
    assert f"{FORM}, paragraph {number}" in places


def test_every_remark_has_a_place_in_the_form_and_names_what_to_change(answer):
    for remark in answer["remarks"]:
        assert re.fullmatch(re.escape(str(FORM)) + r", paragraph \d+", remark["source"])
        named = [part for part in remark["found"].split(" … ") if not re.search(r"\d+ (words|points)", part)]
        assert all(part.lower() in remark["text"].lower() for part in named), remark
        assert remark["advice"].endswith((".", "”."))
        assert remark["instead"] != remark["text"]


def test_the_text_on_the_page_has_the_sentences_of_the_remarks(answer):
    """The place is right: the paragraph counted there by python-docx holds the words."""
    import docx

    from consentpack.readability import prepare

    printed = [p.text for p in docx.Document(str(FORM)).paragraphs if p.text.strip()]
    for remark in answer["remarks"]:
        number = int(remark["source"].rpartition(" ")[2])
        begin = " ".join(remark["text"].rstrip(".").split()[-4:])
        assert begin in prepare(printed[number - 1].replace("_", "")), remark


def test_the_answer_as_json_and_the_answer_in_words_agree(score, answer):
    words = score("--advice").stdout
    assert f"our count {answer['corrected']:.1f}, textstat's own {answer['textstat']:.1f}" in words
    assert f"{answer['words']} words in {answer['sentences']} sentences" in words
    for part in answer["sections"]:
        grade = "not scored" if part["grade"] is None else f"{part['grade']:.1f}"
        over = "  OVER" if part["id"] in answer["over"] else ""
        assert f"{grade:>10}  {part['heading']} ({part['words']} words){over}\n" in words
    for remark in answer["remarks"]:
        assert f"{remark['source']}: “{remark['found']}”. {remark['advice']}\n" in words
    assert words.count("      now:     ") == len(answer["remarks"])
    now, then = re.findall(r"All suggestions taken: ([\d.]+) → ([\d.]+)\n", words)[0]
    assert float(now) == pytest.approx(answer["corrected"], abs=0.06)
    assert float(then) == pytest.approx(answer["grade_if_mended"], abs=0.06)


def test_the_rules_stand_in_their_order_each_once(score):
    said = re.findall(r"^  ([a-z-]+): (.+)$", score("--advice").stdout, re.MULTILINE)
    assert [rule for rule, what in said if RULES.get(rule) == what] == list(RULES)


def test_suggestions_make_it_easier_but_do_not_write_the_form_anew(answer):
    """Said honestly: no change of single words brings a form from grade 13 to 6."""
    assert TARGET < answer["grade_if_mended"] < answer["corrected"]


# --- other files -------------------------------------------------------------------------------


def test_an_easy_text_exits_with_nought(score, tmp_path):
    path = tmp_path / "easy.txt"
    path.write_text("We look at your skin. We press on it for a bit. You can ask us to stop. " * 3)
    result = score("--advice", form=path)
    assert result.exit_code == 0 and "OVER" not in result.stdout


def test_advice_on_a_text_in_another_language_is_not_said_to_be_none_needed(score, tmp_path):
    """The rules rest on English words: that they find nothing says nothing."""
    path = tmp_path / "einwilligung.txt"
    path.write_text("Die Haut wird gereinigt und danach betäubt. " * 10, encoding="utf-8")
    said = score("--advice", "--language", "de", form=path).stdout
    assert "an editor would change nothing" not in said
    assert "advice is given on English texts alone" in said


def test_a_file_that_cannot_be_read_exits_with_its_code_and_says_what_to_do(score, tmp_path):
    path = tmp_path / "old.docx"
    path.write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600))
    result = score(form=path)
    assert result.exit_code == ReadError.exit_code
    assert (
        "this is an old Word file (.doc)" in result.stderr and "save it as a Word document" in result.stderr
    )
