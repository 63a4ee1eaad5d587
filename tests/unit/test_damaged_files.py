"""Files that cannot be read, translations that ask for more than words: each a sentence with its place."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from babel import Locale

from consentpack import shipped
from consentpack.approvals import load_approvals
from consentpack.catalogues import Catalogue, read_catalogue
from consentpack.clinic import load_clinic
from consentpack.errors import ClinicError, ContentError, TranslationError
from consentpack.library import load_library
from consentpack.library.tables import published, sources
from consentpack.manifest import documents_in, plan_in
from consentpack.readers.letters import decode
from consentpack.recovery import _made_here
from consentpack.translate.languages import load_language

PL = Locale("pl")
HEAD = (
    'msgid ""\nmsgstr ""\n"Language: pl\\n"\n"Content-Type: text/plain; charset={charset}\\n"\n'
    '"Plural-Forms: {plural}\\n"\n\n'
)
RULE = "nplurals=3; plural=(n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2);"


def po(folder: Path, body: str = "", *, charset: str = "utf-8", plural: str = RULE) -> Path:
    path = folder / "own.po"
    path.write_text(HEAD.format(charset=charset, plural=plural) + body, encoding="utf-8")
    return path


# --- translations --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "plural",
    [
        "nplurals=3; plural=n/0;",
        "nplurals=3; plural=n%0;",
        "nplurals=2; plural=n;",
        "nplurals=3; plural=__import__('os');",
        "nplurals=3; plural=" + "(" * 500 + "n" + ")" * 500 + ";",
        "nplurals=x; plural=0;",
        "nplurals=3; plural=-1;",
    ],
)
def test_a_rule_of_plural_forms_that_cannot_be_counted_with_is_refused(tmp_path, plural):
    with pytest.raises(TranslationError, match=r"own\.po"):
        read_catalogue(po(tmp_path, plural=plural), PL)


@pytest.mark.parametrize("charset", ["klingon", "hex", "utf-16"])
def test_a_charset_that_is_none_is_refused(tmp_path, charset):
    body = 'msgid "Take off"\nmsgstr "Zdejmij łatwo"\n'
    with pytest.raises(TranslationError, match=r"own\.po"):
        read_catalogue(po(tmp_path, body, charset=charset), PL)


def test_the_usual_rules_of_plural_forms_are_taken(tmp_path):
    assert read_catalogue(po(tmp_path), PL).num_plurals == 3


def test_a_translation_longer_than_a_chapter_or_full_of_signs_is_refused(tmp_path):
    for words in ("x" * 20_001, "*a **b " * 300):
        with pytest.raises(TranslationError, match="too long, or holds too many signs"):
            read_catalogue(po(tmp_path, f'msgid "a"\nmsgstr "{words}"\n'), PL)


@pytest.mark.parametrize(
    "asks", ["{phone.__class__}", "{phone[0]}", "{phone!r}", "{phone:>999999999}", "{0}", "{"]
)
def test_a_translation_may_name_values_and_nothing_of_them(tmp_path, asks):
    """`{phone.__class__}` printed the insides of the program on a patient's sheet."""
    catalog = read_catalogue(po(tmp_path, f'msgid "Ring {{phone}}"\nmsgstr "Telefon {asks}"\n'), PL)
    catalogue = Catalogue("pl", PL, (catalog,))
    with pytest.raises(TranslationError, match="cannot be filled"):
        catalogue.phrase("Ring {phone}", phone="020 7946 0001")


def test_a_translation_may_write_a_value_as_its_original_does(tmp_path):
    body = 'msgid "From {low:.1%} ({who})"\nmsgstr "Od {low:.1%} ({who}) {{tak}}"\n'
    catalogue = Catalogue("pl", PL, (read_catalogue(po(tmp_path, body), PL),))
    assert catalogue.phrase("From {low:.1%} ({who})", low=0.5, who="x") == "Od 50.0% (x) {tak}"


# --- files that are none -------------------------------------------------------------------------


def a_folder(path: Path) -> None:
    path.mkdir(parents=True)


def not_utf8(path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes("Łódź".encode("utf-16"))


BAD = pytest.mark.parametrize("bad", [a_folder, not_utf8])


@BAD
def test_approvals_that_cannot_be_read_are_never_no_approvals(tmp_path, bad):
    bad(tmp_path / "approvals.toml")
    with pytest.raises(ClinicError, match=r"approvals\.toml"):
        load_approvals(tmp_path)


@BAD
def test_a_translation_that_cannot_be_read_is_named(tmp_path, bad):
    bad(tmp_path / "own.po")
    with pytest.raises(TranslationError, match=r"own\.po"):
        read_catalogue(tmp_path / "own.po", PL)


@BAD
def test_settings_that_cannot_be_read_are_named(tmp_path, bad):
    bad(tmp_path / "clinic.toml")
    with pytest.raises(ClinicError, match=r"clinic\.toml"):
        load_clinic(tmp_path, load_library(shipped.content()))


@BAD
def test_a_module_that_cannot_be_read_is_named(tmp_path, bad):
    bad(tmp_path / "risks/bruising.md")
    with pytest.raises(ContentError, match=r"content/risks/bruising\.md|risks/bruising\.md"):
        load_library(shipped.content(), tmp_path)


def test_a_language_file_that_is_not_utf8_is_named(tmp_path):
    not_utf8(tmp_path / "language.toml")
    with pytest.raises(TranslationError, match=r"language\.toml"):
        load_language("pl", tmp_path)


def test_a_file_in_the_place_of_the_content_folder_is_not_passed_over(tmp_path):
    (tmp_path / "content").write_text("x", encoding="utf-8")
    with pytest.raises(ContentError, match="this should be a folder"):
        load_library(shipped.content(), tmp_path / "content")


def test_approvals_must_be_tables(tmp_path):
    for text in ("approval = [1, 2]", "approval = 7", "[approval]\nby = 'x'", "approval = [[" + "[" * 99):
        (tmp_path / "approvals.toml").write_text(text, encoding="utf-8")
        with pytest.raises(ClinicError):
            load_approvals(tmp_path)


@pytest.mark.parametrize(
    "text", [b"[" * 100_000, b"\xff\xfe", b"{}", b'{"documents": [1]}', b'{"documents": {"a": 1}}']
)
def test_a_manifest_that_is_none_of_ours_names_no_documents(text):
    assert documents_in(text) == {}


def test_a_manifest_set_inside_itself_names_no_plan_and_nothing_of_ours(tmp_path):
    """Found by damaging manifests: a thousand brackets end in a RecursionError, which is no ValueError."""
    text = b"[" * 100_000
    (tmp_path / "manifest.json").write_bytes(text)
    assert (plan_in(text), documents_in(text), _made_here(tmp_path / "manifest.json")) == ("", {}, {})


@pytest.mark.parametrize("text", ["[" * 100_000, "9" * 5000, "7", "{}", '[{"id": ["a"], "title": "x"}]'])
def test_sources_that_are_no_list_of_sources_are_a_problem(text):
    assert sources(text, file="sources.json")[1]


def test_a_count_in_another_script_or_of_a_thousand_digits_is_no_count():
    head = "id,technique,outcome,factor,events,n,unit,percent,population,follow_up,source,seen,caveat\n"
    for number in ("²", "9" * 5000):
        _, problems = published(head + f"a,b,c,,1,{number},patients,,x,,s,memory,\n", file="p.csv")
        assert "'n' is" in problems[0].what
    before = csv.field_size_limit(10_000_000)  # as the import of an audit leaves it
    try:
        _, problems = published(head + 'a,"' + "x" * 200_000, file="p.csv")
    finally:
        csv.field_size_limit(before)
    assert "cannot be read" in problems[0].what


@pytest.mark.parametrize("name", ["hex", "undefined", "rot13", "idna", "base64"])
def test_a_page_that_names_no_way_to_write_text_is_read_as_windows_wrote_it(name):
    page = f'<meta charset="{name}"><p>Caf\xe9</p>'.encode("latin-1")
    assert "Café" in decode(page, "a.html", declares=True)


def test_columns_and_words_of_the_audit_are_words(run, clinic_copy):
    path = clinic_copy / "clinic.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("[audit.columns]", '[audit.columns]\n"Seen" = 7\n"On" = [2026-01-01]'), encoding="utf-8"
    )
    result = run(clinic_copy, "audit", "history")
    assert result.exit_code == 16
    assert "'Seen' should be words in quotes; it is 7." in result.stderr and "'On' should be" in result.stderr


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ('reference = "HS-P-101"', f'reference = "{"r" * 300}"', 15),
        ("prepared = 20", "prepared = 0001-01-01 # 20", 15),
        ('site = "', 'site = "\\u0000', 15),
    ],
)
def test_a_plan_that_no_folder_calendar_or_page_can_hold_is_refused(run, clinic_copy, old, new, code):
    plan = clinic_copy / "plans/p-101.toml"
    text = plan.read_text(encoding="utf-8")
    assert old in text
    plan.write_text(text.replace(old, new), encoding="utf-8")
    result = run(clinic_copy, "build", "plans/p-101.toml")
    assert result.exit_code == code and "plans/p-101.toml, line" in result.stderr


def test_a_window_of_two_thousand_years_is_refused(run, clinic_copy):
    path = clinic_copy / "clinic.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("window_months = 36", "window_months = 24311"), encoding="utf-8")
    assert "window_months = 24311" in path.read_text(encoding="utf-8")
    result = run(clinic_copy, "build", "plans/p-101.toml")
    assert result.exit_code == 16 and "should be 1200 or less" in result.stderr


@pytest.mark.parametrize("number", ["0x" + "f" * 5000, "0b" + "1" * 20_000, "1_" * 5000 + "1", "9" * 5000])
def test_a_number_that_no_message_could_print_is_refused_however_it_is_written(tmp_path, number):
    """Found by damaging modules: a message that quotes the number ended in a fault of the program."""
    (tmp_path / "risks").mkdir()
    (tmp_path / "risks/bruising.md").write_text(f"+++\nid = {number}\n+++\n", encoding="utf-8")
    with pytest.raises(ContentError, match=r"risks/bruising\.md"):
        load_library(shipped.content(), tmp_path)
