"""Packs in the patient's own language: every example in every shipped language, and in a made-up one."""

from __future__ import annotations

import io
import json
import re
import shutil
import subprocess
from dataclasses import replace
from datetime import date
from pathlib import Path

import docx_integrity
import pytest
from babel import Locale
from browsers import PHONE, SCREEN
from docx import Document as WordDocument
from docx.oxml.ns import qn
from openxml_audit import OpenXmlValidator
from panels import as_in_word
from readings import said

from consentpack import pipeline, shipped
from consentpack.accessibility import check_file
from consentpack.assemble import first_difference, shape_of
from consentpack.errors import TranslationError
from consentpack.export._script import unmarked
from consentpack.export.text import export_text
from consentpack.tree import Box, Choice, Document, Fields, Section, Table

SHIPPED = ("es", "pl", "ar", "vi", "zh-Hans", "fr")
MADE_UP = ("de", "he")
"""Accented and longer; and from right to left."""
PLANS = ("p-101", "p-102", "p-103", "p-104")
KINDS = ("form", "booklet", "more", "aftercare", "homecare", "diary", "slips")
DRAFT = "DRAFT – not approved for patients"
every_language = pytest.mark.parametrize("language", [*SHIPPED, *MADE_UP])
every_shipped = pytest.mark.parametrize("language", SHIPPED)


def add_made_up(clinic: Path) -> None:
    """Catalogues of a made-up language, as docs/how-to/add-a-language.md has them made."""
    place = pipeline.texts(None, folder=clinic / "locales")
    pipeline.update_translations(place, MADE_UP, made_up=True)


@pytest.fixture(scope="module")
def built(demo_clinic, tmp_path_factory):
    """Language and plan -> the pack, with both languages side by side; made when it is first asked for, so
    that two workers who share these tests do not both make all of them."""
    clinic = tmp_path_factory.mktemp("languages") / "clinic"
    shutil.copytree(demo_clinic, clinic)
    add_made_up(clinic)
    place = pipeline.open_workplace(clinic)

    class Built(dict):
        def __missing__(self, key):
            language, plan = key
            path = clinic / "plans" / f"{plan}.toml"
            self[key] = pipeline.make_pack(place, path, language=language, both_languages=True)
            return self[key]

    return Built()


def document(pack, kind: str) -> Document:
    return next(d for d in pack.documents if d.kind == kind)


def words(text: str) -> str:
    return re.sub(r"[\W_]+", "", unmarked(text))


# --- complete -------------------------------------------------------------------------------------


@every_language
@pytest.mark.parametrize("plan", PLANS)
def test_nothing_of_the_library_is_left_in_english(built, language, plan):
    """What may still be English are the clinician's own words in the plan, and then the pack says so."""
    left = [r for r in built[language, plan].draft if "translat" in r and "[translated" not in r]
    own = [r for r in left if r.startswith("'")]
    assert [r for r in left if r not in own and "Monday to Friday" not in r] == []


@every_shipped
def test_the_first_example_is_whole_in_every_language(built, language):
    assert [r for r in built[language, "p-101"].draft if "approved" not in r] == []


@every_language
@pytest.mark.parametrize("plan", PLANS)
def test_a_translation_has_the_sections_rows_boxes_and_lines_of_the_original(built, language, plan):
    """Each pack is compared with itself in English while it is made."""
    assert [r for r in built[language, plan].draft if "parts of the original" in r] == []
    for kind in KINDS:
        lines = shape_of(document(built[language, plan], kind))
        assert len(lines) > 12 and (kind == "slips" or any(line.startswith("row: ") for line in lines))


def test_a_lost_row_point_box_or_section_is_named(built):
    whole = document(built["pl", "p-101"], "booklet")
    risky = next(s for s in whole.sections if s.id == "what-can-go-wrong")
    table = next(node for node in risky.nodes if isinstance(node, Table))
    nodes = tuple(replace(n, rows=n.rows[1:]) if n is table else n for n in risky.nodes)
    without_row = tuple(replace(s, nodes=nodes) if s is risky else s for s in whole.sections)
    found = first_difference(replace(whole, sections=without_row), whole)
    assert "what-can-go-wrong" in found and "rows" in found
    form = document(built["pl", "p-101"], "form")
    agreed = next(s for s in form.sections if s.id == "your-decision")
    nodes = tuple(replace(n, body=n.body[1:]) if isinstance(n, Box) else n for n in agreed.nodes)
    without_box = tuple(replace(s, nodes=nodes) if s is agreed else s for s in form.sections)
    assert "tick box" in first_difference(replace(form, sections=without_box), form)
    assert first_difference(replace(whole, sections=whole.sections[1:]), whole)
    assert first_difference(whole, whole) == ""


@every_language
@pytest.mark.parametrize("kind", KINDS)
def test_tags_of_boxes_and_lines_are_the_same_in_every_language(built, packs, language, kind):
    def tags(found: Document) -> list[str]:
        nodes = [node for section in found.sections for node in section.nodes]
        return [n.tag for n in nodes if isinstance(n, Choice | Fields)]

    assert tags(document(built[language, "p-101"], kind)) == tags(document(packs["p-101"], kind))


# --- honest ---------------------------------------------------------------------------------------


@every_shipped
@pytest.mark.parametrize("kind", KINDS)
def test_a_pack_nobody_has_approved_says_draft_in_both_languages_on_every_page(built, language, kind):
    found = document(built[language, "p-101"], kind)
    assert found.labels["draft"].endswith(f" · {DRAFT}") and found.labels["draft"] != DRAFT
    word = WordDocument(io.BytesIO(built[language, "p-101"].files[f"{kind}.docx"]))
    headers = [word.sections[0].header, word.sections[0].first_page_header]
    assert all(words(DRAFT) in words("".join(p.text for p in h.paragraphs)) for h in headers)


@every_shipped
def test_a_machines_translation_says_so_before_anything_else(built, language):
    for kind in KINDS:
        found = document(built[language, "p-101"], kind)
        assert found.notice and found.notice in export_text(found).split("\n", 2)[1]


def test_english_has_no_such_notice(packs):
    assert not any(d.notice for d in packs["p-101"].documents)


@every_shipped
def test_the_form_says_who_translated_and_that_nobody_has_checked(built, language):
    section = next(
        s for s in document(built[language, "p-101"], "booklet").sections if s.id == "about-this-booklet"
    )
    facts = [pair for node in section.nodes for pair in getattr(node, "pairs", ())]
    name = Locale.parse(language, sep="-").get_display_name("en")
    assert any(name in value for _, value in facts)
    assert len(facts) == 8


_GROUPED = re.compile(r"(?<=\d)[.,\u00a0\u202f](?=\d{3})")


def _said(part) -> str:
    return getattr(part, "alt", "") or "".join(run.text for run in part.runs)


@every_shipped
def test_figures_are_the_same_numbers_in_every_language(built, packs, language):
    """Every whole number of the risk table, in its order of rows; digits are 0 to 9 everywhere."""

    def numbers(found: Document) -> list[list[str]]:
        section = next(s for s in found.sections if s.id == "what-can-go-wrong")
        tables = [node for node in section.nodes if isinstance(node, Table)]
        cells = [row[1] for table in tables for row in table.rows]
        texts = (
            " ".join(getattr(c, "alt", "") or "".join(r.text for r in c.runs) for c in cell.content)
            for cell in cells
        )
        return [
            sorted(re.findall(r"\d+", re.sub(r"(?<=\d)[.,\u00a0\u202f](?=\d{3})", "", text)))
            for text in texts
        ]

    ours, theirs = (numbers(document(p, "booklet")) for p in (built[language, "p-101"], packs["p-101"]))
    for mine, english in zip(ours, theirs, strict=True):
        missing = [n for n in english if n not in mine and n not in ("1", "2")]
        assert missing == [], (mine, english)  # Arabic says one and two in the noun


@every_language
@pytest.mark.parametrize("plan", PLANS)
def test_one_kind_of_digit_in_a_document(built, language, plan):
    for kind in KINDS:
        text = export_text(document(built[language, plan], kind))
        assert not [c for c in text if c.isdecimal() and not c.isascii()]


@every_language
def test_the_record_stays_in_english_and_names_the_patients_language(built, language):
    record = document(built[language, "p-101"], "record")
    assert record.language == "en-GB" and not record.rtl
    assert Locale.parse(language, sep="-").get_display_name("en") in export_text(record)


@every_shipped
def test_an_interpreter_is_asked_for_in_the_patients_language(built, language):
    text = export_text(document(built[language, "p-101"], "booklet"))
    assert Locale.parse(language, sep="-").get_display_name() in text


# --- the files ------------------------------------------------------------------------------------


@every_language
@pytest.mark.parametrize("plan", PLANS)
def test_word_and_page_say_what_the_tree_says(built, language, plan):
    pack = built[language, plan]
    for kind in KINDS:
        body = WordDocument(io.BytesIO(pack.files[f"{kind}.docx"])).element.body
        found = said(body)
        tree = export_text(as_in_word(document(pack, kind)))
        tree = re.sub(r"^\d+\. ", "", tree, flags=re.M).replace("/ 1. ", "/ ")
        assert words(found) == words(tree), kind
        page = pack.files[f"{kind}.html"].decode()
        assert f'<html lang="{language}" dir="{"rtl" if document(pack, kind).rtl else "ltr"}">' in page


@every_language
@pytest.mark.parametrize("plan", PLANS)
def test_no_rule_for_accessible_files_is_broken(built, language, plan, tmp_path):
    """Makes the pack where no other test has, and reads each of its files by every rule."""
    for name, data in built[language, plan].files.items():
        if name.endswith(".docx") and (plan == "p-101" or "side-by-side" not in name):
            (tmp_path / name).write_bytes(data)
            assert not check_file(tmp_path / name), name


@every_language
def test_the_validators_find_nothing(built, language, tmp_path):
    """Both validators read the whole schema for each of the files."""
    for name, data in built[language, "p-101"].files.items():
        if name.endswith(".docx"):
            (tmp_path / name).write_bytes(data)
            assert OpenXmlValidator().validate(str(tmp_path / name)).errors == [], name
            assert docx_integrity.check(str(tmp_path / name)) == [], name


@every_language
def test_word_is_told_the_language_in_the_attribute_of_its_script(built, language):
    word = WordDocument(io.BytesIO(built[language, "p-101"].files["booklet.docx"]))
    lang = next(word.styles.element.iter(qn("w:lang")))
    attribute = {"ar": "bidi", "he": "bidi", "zh-Hans": "eastAsia"}.get(language, "val")
    assert lang.get(qn(f"w:{attribute}")) == {"zh-Hans": "zh-CN"}.get(language, language)


@every_shipped
@pytest.mark.browser
def test_axe_finds_nothing_and_nothing_is_wider_than_the_screen(built, browser, language, tmp_path):
    # the widest table is the same in all of them; the one that runs both ways is enough
    for kind in (*KINDS, *(("aftercare-side-by-side",) if language == "ar" else ())):
        (tmp_path / f"{kind}.html").write_bytes(built[language, "p-101"].files[f"{kind}.html"])
        for width in (PHONE, SCREEN):
            browser.show(tmp_path / f"{kind}.html", width=width)
            assert browser.faults() == [], (kind, width)
            assert browser.ask("document.documentElement.scrollWidth") <= width


# --- side by side ---------------------------------------------------------------------------------


@every_language
def test_side_by_side_has_every_block_of_both(built, language):
    pack = built[language, "p-101"]
    both = words(export_text(document(pack, "booklet-side-by-side")))
    # beside it stands the same once more in the clinic's language, with the same things moved
    for one in (document(pack, "booklet"), pack.drafted.twins["booklet"].document):
        for section in one.sections:
            if "about-this-document" not in section.parts:
                assert words(section.heading) in both
                assert all(words(text) in both for text in _texts(section)), section.heading


def _texts(section: Section) -> list[str]:
    one = Document("x", "x", "en", "patient", "x", "x", "x", (section,))
    lines = [line for line in export_text(one).splitlines()[3:] if " | " not in line and "____" not in line]
    return [re.sub(r"^(?:[-\d.]+|\[ \]|#+) ", "", line).strip("[]") for line in lines if line]


@pytest.mark.parametrize("language", ["ar", "pl"])
def test_words_of_the_patients_column_are_marked_with_its_language(built, language):
    table = next(
        node
        for section in document(built[language, "p-101"], "booklet-side-by-side").sections
        for node in section.nodes
        if isinstance(node, Table)
    )
    runs = [run for row in table.rows for part in row[0].content for run in getattr(part, "runs", ())]
    assert runs and all(run.language == language for run in runs)


def test_each_column_puts_its_own_sign_between_a_label_and_its_value(built):
    text = export_text(document(built["zh-Hans", "p-101"], "booklet-side-by-side"))
    assert "就诊次数：2" in text and "Number of visits: 2" in text


def test_there_is_nothing_to_set_beside_one_language(place):
    path = place.folder / "plans" / "p-101.toml"
    with pytest.raises(TranslationError, match="nothing to set beside it"):
        pipeline.make_pack(place, path, both_languages=True)


EDIT = ("Bruises fade in 1 to 2 weeks.", "Most bruises fade in 2 weeks.")

# --- what keeps it honest -------------------------------------------------------------------------


def test_one_changed_paragraph_makes_one_text_stale_in_each_language_and_the_pack_a_draft(clinic_copy):
    """The clinic changes one English sentence: nothing else is lost, and no patient reads the old one."""
    place = pipeline.open_workplace(clinic_copy)
    path = pipeline.copy_module(place, "bruising")
    text = path.read_text(encoding="utf-8")
    assert text.count(EDIT[0]) == 1
    path.write_text(
        text.replace("Bruises fade in 1 to 2 weeks.", "Most bruises fade in 2 weeks."), encoding="utf-8"
    )
    place = pipeline.open_workplace(clinic_copy)
    for language in SHIPPED:
        pack = pipeline.make_pack(place, clinic_copy / "plans/p-101.toml", language=language)
        stale = [r for r in pack.draft if "in the translation" in r]
        assert stale == [
            "“Most bruises fade in 2 weeks. They can take up to 3 weeks.” is missing in the translation."
        ]
        with pytest.raises(TranslationError):
            pipeline.build(place, clinic_copy / "plans/p-101.toml", language=language)


def test_what_two_people_have_approved_in_a_language_is_no_draft_there(clinic_copy):
    """45 CFR 92.201(c)(3); ISO 17100: the original approved, and two people for the translation."""
    place = pipeline.open_workplace(clinic_copy)
    day = date(2026, 11, 25)
    pipeline.approve(place, [], by="Dr Ruth Ambrose (invented)", role="doctor", day=day, until=None)
    for who in ("Anna Kowal (invented)", "Jan Lis (invented)"):
        pipeline.approve(place, [], by=who, role="translator", day=day, until=None, language="pl")
    pack = pipeline.make_pack(place, clinic_copy / "plans/p-101.toml", language="pl", today=day)
    assert pack.draft == ()
    text = export_text(document(pack, "booklet"))
    assert "DRAFT" not in pack.files["booklet.html"].decode()
    assert not document(pack, "booklet").notice
    assert "Anna Kowal (invented)" in text and "Jan Lis (invented)" in text


def test_a_changed_phrase_of_a_translation_withdraws_what_two_people_approved(clinic_copy):
    place = pipeline.open_workplace(clinic_copy)
    day, plan = date(2026, 11, 25), clinic_copy / "plans/p-101.toml"
    pipeline.approve(place, [], by="Dr Ruth Ambrose (invented)", role="doctor", day=day, until=None)
    for who in ("Anna Kowal (invented)", "Jan Lis (invented)"):
        pipeline.approve(place, [], by=who, role="translator", day=day, until=None, language="pl")
    path = clinic_copy / "locales/pl/LC_MESSAGES/clinic.po"
    with path.open("a", encoding="utf-8") as stream:
        stream.write('\nmsgid "I do not agree to the treatment."\nmsgstr "Bez zgody."\n')
    pack = pipeline.make_pack(place, plan, language="pl", today=day)
    assert pack.draft == ("1 module changed since approval",)
    assert document(pack, "booklet").notice


def test_one_person_is_not_enough_for_a_translation(clinic_copy):
    place = pipeline.open_workplace(clinic_copy)
    day = date(2026, 11, 25)
    for language in ("", "pl"):
        pipeline.approve(
            place, [], by="Dr Ruth Ambrose", role="doctor", day=day, until=None, language=language
        )
    pack = pipeline.make_pack(place, clinic_copy / "plans/p-101.toml", language="pl", today=day)
    assert any("approved by one person; a translation needs two" in reason for reason in pack.draft)


def test_words_of_the_plan_that_nobody_translated_are_named(place):
    pack = pipeline.make_pack(place, place.folder / "plans/p-102.toml", language="pl")
    named = {r.split("'")[1] for r in pack.draft if "not in the patient's language" in r}
    assert named == {"site", "condition", "reason", "clinician_role", "follow_up"}
    assert any("[translated.pl]" in str(p) for p in pack.problems)


@pytest.mark.parametrize("patients", ["es", "pl"])
def test_a_clinics_language_that_the_record_is_not_written_in_is_refused(clinic_copy, patients):
    path = clinic_copy / "clinic.toml"
    path.write_text(
        path.read_text(encoding="utf-8").replace('language = "en-GB"', 'language = "pl"'), encoding="utf-8"
    )
    with pytest.raises(TranslationError, match="the record is written in English only"):
        pipeline.make_pack(
            pipeline.open_workplace(clinic_copy), clinic_copy / "plans/p-101.toml", language="es"
        )


# --- the shipped catalogues -----------------------------------------------------------------------


def test_status_says_every_language_is_whole(run, tmp_path):
    done = run(tmp_path, "translate", "status", "--json", "--shipped")
    found = {each["language"]: each for each in json.loads(done.stdout)}
    assert set(found) == set(SHIPPED)
    for each in found.values():
        assert (each["percent"], each["fuzzy"], each["missing"], each["obsolete"]) == (100.0, 0, [], 0)


def test_check_finds_nothing_in_the_shipped_catalogues(run, tmp_path):
    """Compares every text of six languages with its original."""
    done = run(tmp_path, "translate", "check", "--shipped")
    assert done.exit_code == 0, done.output


def test_check_finds_a_number_that_was_changed(run, tmp_path):
    shutil.copytree(shipped.locales() / "pl", tmp_path / "locales" / "pl")
    path = tmp_path / "locales/pl/LC_MESSAGES/consentpack.po"
    before, _, after = path.read_text(encoding="utf-8").rpartition("38 °C")
    assert "msgstr" in before.rsplit("msgid", 1)[1]
    path.write_text(f"{before}39 °C{after}", encoding="utf-8")
    done = run(tmp_path, "translate", "check", "pl", "--shipped", "--catalogues", "locales")
    assert done.exit_code == 12
    assert "consentpack.po, line" in done.output and "(numbers)" in done.output


def test_check_finds_nothing_in_the_demos_own_words(run, clinic_copy):
    done = run(clinic_copy, "translate", "check")
    assert done.exit_code == 0, done.output


def test_a_clinics_own_text_is_taken_up_and_ours_is_not_asked_for_again(run, clinic_copy):
    """A copy of our module has one sentence changed: only that one is to be translated."""
    place = pipeline.open_workplace(clinic_copy)
    path = pipeline.copy_module(place, "bruising")
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("Bruises fade in 1 to 2 weeks.", "Most bruises fade in 2 weeks."), encoding="utf-8"
    )
    done = run(clinic_copy, "translate", "update", "pl")
    assert done.exit_code == 0 and "pl: 50.0% of 2 texts" in done.output
    po_file = (clinic_copy / "locales/pl/LC_MESSAGES/clinic.po").read_text(encoding="utf-8")
    assert "Most bruises fade in 2 weeks." in po_file and "Purple" not in po_file


def test_extract_writes_a_template_with_places_and_meanings(run, clinic_copy):
    done = run(clinic_copy, "translate", "extract")
    assert done.exit_code == 0
    text = (clinic_copy / "locales/messages.pot").read_text(encoding="utf-8")
    assert "#: clinic.toml:1" in text and "#. Opening hours." in text


# --- on paper -------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def paper(office, built, tmp_path_factory):
    """Language and kind -> the text of each page that LibreOffice draws. One call draws all."""
    folder = tmp_path_factory.mktemp("paper")
    for language in SHIPPED:
        for kind in KINDS:
            data = built[language, "p-101"].files[f"{kind}.docx"]
            (folder / f"{language}.{kind}.docx").write_bytes(data)
    files = sorted(str(path) for path in folder.glob("*.docx"))
    profile = f"-env:UserInstallation=file://{folder}/profile"
    command = [office, profile, "--headless", "--convert-to", "pdf", "--outdir", str(folder)]
    subprocess.run([*command, *files], check=True, capture_output=True, timeout=300)
    found = {}
    for path in folder.glob("*.pdf"):
        language, kind, _ = path.name.split(".")
        done = subprocess.run(["pdftotext", str(path), "-"], check=True, capture_output=True, text=True)
        found[language, kind] = done.stdout.rstrip("\f").split("\f")
    return found


@pytest.mark.office
@every_shipped
def test_every_page_of_every_language_is_drawn_with_its_draft_marks(paper, language):
    for kind in KINDS:
        pages = paper[language, kind]
        assert 1 < len(pages) < 40
        assert all("DRAFT" in page and "HS-P-101" in page for page in pages)


@pytest.mark.office
@every_shipped
def test_emergency_signs_begin_on_page_one_with_the_number_to_ring(paper, language):
    page = paper[language, "aftercare"][0]
    assert "999" in page and "20" in page


@pytest.mark.office
@pytest.mark.parametrize("language", ["es", "pl", "vi", "zh-Hans", "fr"])
def test_the_letters_of_a_language_are_drawn_as_themselves(paper, built, language):
    """Where a font lacks a letter, the page shows a box and its text another sign."""
    for kind in KINDS:
        title = document(built[language, "p-101"], kind).title
        assert words(title) in words(paper[language, kind][0])
