"""Texts to translate, and PO files: made, brought up to date, read by other programs."""

from __future__ import annotations

import gettext
import io
import re
import time

import polib
import pytest
from babel import Locale
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from hypothesis import given
from hypothesis import strategies as st

from consentpack import shipped
from consentpack.catalogues import LACKING, Catalogue, load, made_of
from consentpack.errors import TranslationError
from consentpack.library import load_library
from consentpack.translate import po, pseudo
from consentpack.translate.languages import Language, load_language
from consentpack.translate.messages import KEYWORDS, VALUES, Message, clinic_only, messages_of
from consentpack.translate.parity import Pair, values
from consentpack.translate.plurals import form_names, plural_forms
from consentpack.wording import UNITS, Words

UNITS_OF_FIELD = load_library(shipped.content()).field.units

LANGUAGES = ("es", "pl", "ar", "vi", "zh_Hans", "fr")
NUMBERS = (0, 1, 2, 3, 5, 11, 21, 22, 100, 101)
"""Those the Unicode plural rules tell apart in these languages."""


@pytest.fixture(scope="module")
def library():
    return load_library(shipped.content())


@pytest.fixture(scope="module")
def messages(library):
    return messages_of(library)


# --- what there is to translate -------------------------------------------------------------------


def test_a_text_is_named_with_its_file_and_line(messages):
    place = next(m.places[0] for m in messages if m.id == "Has the skin bled today?")
    text = (shipped.content().parent / place[0]).read_text(encoding="utf-8")
    assert text.splitlines()[place[1] - 1] == "Has the skin bled today?"


def test_a_phrase_of_the_program_is_named_with_its_file_and_line(messages):
    file, line = next(m.places[0] for m in messages if m.id == "What I hope for")
    text = (shipped.content().parent / file).read_text(encoding="utf-8")
    assert "What I hope for" in text.splitlines()[line - 1]


def test_a_name_that_looks_up_a_sentence_of_the_field_is_no_text(messages):
    """A key in square brackets after a word that marks texts was taken for a text with a number."""
    assert not [
        m for m in messages if m.id in ("no_promise", "no-promise", "closest") or m.plural == "no-promise"
    ]


def test_a_text_that_stands_twice_is_translated_once(messages):
    assert len({m.id for m in messages}) == len(messages)
    assert max(len(m.places) for m in messages) > 5


def test_every_value_of_a_text_is_explained(messages):
    for message in messages:
        values = [v for v in message.comments if v.startswith("{")]
        named = {v.split("}")[0] + "}" for v in values}
        for name in VALUES:
            if f"{{{name}}}" in message.id and "{{" not in message.id:
                assert f"{{{name}}}" in named, message.id


def test_what_only_the_clinic_reads_is_not_translated(messages, library):
    texts = {m.id for m in messages}
    factor = library.factors["blood-thinners"].sections["For the clinician"][0].items[0].text
    assert factor not in texts
    assert "Nothing to note." not in texts


def test_no_phrase_for_patients_is_built_where_it_cannot_be_found():
    """A phrase that is not written out where it is looked up is never offered to a translator."""
    import ast

    root = shipped.content().parent / "consentpack"
    found = []
    for path in [root / "wording.py", *(root / "assemble").glob("*.py")]:
        if f"consentpack.assemble.{path.stem}" in clinic_only():
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and node.args:
                name = getattr(node.func, "attr", getattr(node.func, "id", ""))
                if name in KEYWORDS and isinstance(node.args[0], ast.JoinedStr | ast.BinOp):
                    found.append(f"{path.name}, line {node.lineno}")
    assert found == []


# --- PO files -------------------------------------------------------------------------------------


def small(*texts: str) -> list[Message]:
    return [Message(text, places=[("content/a.md", n)]) for n, text in enumerate(texts, 1)]


def begun(tmp_path, *texts: str):
    path = tmp_path / "pl" / "LC_MESSAGES" / "a.po"
    po.update(path, small(*texts), Locale("pl"))
    return path


def translated(path, texts):
    catalog = read_po(io.BytesIO(path.read_bytes()))
    for text, string in texts.items():
        catalog.get(text).string = string
    path.write_text(po.written(catalog), encoding="utf-8")


LONG = "Keep the pad dry for the first day and do not lift it to look at the skin below."


def test_an_edited_text_makes_exactly_one_translation_stale(tmp_path):
    path = begun(tmp_path, "Bruising", LONG, "Ring us the same day.")
    translated(
        path, {"Bruising": "Siniaki", LONG: "Trzymaj opatrunek …", "Ring us the same day.": "Zadzwoń."}
    )
    edited = LONG.replace("first day", "first two days")
    stand = po.update(path, small("Bruising", edited, "Ring us the same day."), Locale("pl"))
    assert (stand.translated, stand.fuzzy, stand.missing) == (2, 1, [])
    catalog = read_po(io.BytesIO(path.read_bytes()))
    assert catalog.get(edited).fuzzy and catalog.get(edited).string == "Trzymaj opatrunek …"
    assert "#| msgid" in path.read_text(encoding="utf-8"), "the translator sees what it was"


def test_what_a_long_text_was_before_can_be_read_by_another_reader(tmp_path):
    long = f'{LONG} Ring us if it says "wet" \\ or red, " " and so on. {LONG}'
    path = begun(tmp_path, long)
    translated(path, {long: "Trzymaj opatrunek …"})
    po.update(path, small(long.replace("first day", "first two days")), Locale("pl"))
    (entry,) = polib.pofile(str(path))
    assert entry.fuzzy and entry.previous_msgid == long


def test_what_is_still_in_use_lends_its_translation_to_no_other_text(tmp_path):
    path = begun(tmp_path, LONG)
    translated(path, {LONG: "Trzymaj opatrunek …"})
    stand = po.update(path, small(LONG, LONG.replace("first day", "second day")), Locale("pl"))
    assert (stand.translated, stand.fuzzy, len(stand.missing)) == (1, 0, 1)


def test_a_text_with_a_number_takes_over_only_from_one_with_a_number(tmp_path):
    path = tmp_path / "pl" / "LC_MESSAGES" / "a.po"
    po.update(path, [Message("{number} mark is filled", "{number} marks are filled")], Locale("pl"))
    catalog = read_po(io.BytesIO(path.read_bytes()))
    catalog.get("{number} mark is filled").string = ("a", "b", "c", "d")
    path.write_text(po.written(catalog), encoding="utf-8")
    stand = po.update(path, small("{number} marks were filled"), Locale("pl"))
    assert (stand.fuzzy, stand.obsolete) == (0, 1)
    stand = po.update(path, [Message("{number} mark was filled", "{number} marks were filled")], Locale("pl"))
    assert (stand.fuzzy, stand.obsolete) == (1, 0)


def test_a_large_revision_takes_seconds(tmp_path):
    """2,000 texts of which each was edited; Babel's own search took a quarter of an hour for 900."""
    texts = [f"{LONG} This is text {n}, {'of many ' * (n % 7)}and so on." for n in range(2000)]
    path = begun(tmp_path, *texts)
    translated(path, {text: f"pl {n}" for n, text in enumerate(texts)})
    begun_at = time.process_time()
    stand = po.update(path, small(*(text.replace("skin", "wound") for text in texts)), Locale("pl"))
    assert stand.fuzzy == 2000
    assert time.process_time() - begun_at < 20


def test_a_new_text_that_is_like_none_is_missing(tmp_path):
    path = begun(tmp_path, "Bruising")
    translated(path, {"Bruising": "Siniaki"})
    stand = po.update(path, small("Bruising", LONG), Locale("pl"))
    assert (stand.translated, stand.fuzzy, stand.missing) == (1, 0, [LONG])
    assert stand.percent == 50


def test_a_translation_whose_text_has_gone_is_kept(tmp_path):
    path = begun(tmp_path, "Bruising", LONG)
    translated(path, {"Bruising": "Siniaki", LONG: "Trzymaj"})
    assert po.update(path, small("Bruising"), Locale("pl")).obsolete == 1
    assert "Trzymaj" in path.read_text(encoding="utf-8")


def test_one_missing_text_of_many_is_never_a_hundred_percent(tmp_path):
    stand = po.Stand("pl", 100_000, 99_999, 0, ["x"])
    assert stand.percent < 100


def test_who_translated_stays_when_the_file_is_brought_up_to_date(tmp_path):
    path = begun(tmp_path, "Bruising")
    text = path.read_text(encoding="utf-8")
    assert made_of(read_po(io.BytesIO(path.read_bytes()))).by_machine
    named = text.replace("# Translated by: a machine", "# Translated by: Anna Kowal (invented)")
    path.write_text(named, encoding="utf-8")
    po.update(path, small("Bruising", LONG), Locale("pl"))
    made = made_of(read_po(io.BytesIO(path.read_bytes())))
    assert made.by == "Anna Kowal (invented)" and not made.by_machine


def test_the_same_texts_give_the_same_bytes(tmp_path, messages):
    assert po.written(po.template(messages)) == po.written(po.template(messages))


@pytest.mark.parametrize("language", LANGUAGES)
def test_another_reader_of_po_files_sees_the_same(language):
    """polib is a second reader, as PO editors are."""
    path = shipped.locales() / language / "LC_MESSAGES" / "consentpack.po"
    theirs = polib.pofile(str(path))
    ours = read_po(io.BytesIO(path.read_bytes()))
    assert len(theirs) - len(theirs.obsolete_entries()) == len([m for m in ours if m.id])
    assert [m.msgid for m in theirs.fuzzy_entries()] == [m.id for m in ours if m.id and m.fuzzy]
    assert theirs.metadata["Plural-Forms"].startswith(f"nplurals={plural_forms(Locale.parse(language))[0]};")


# --- plural forms ---------------------------------------------------------------------------------


@pytest.mark.parametrize("language", [*LANGUAGES, "en", "de", "he", "ru", "cs", "lt"])
@given(number=st.integers(0, 2_000))
def test_the_rule_of_the_file_chooses_the_form_that_cldr_names(language, number):
    """Unicode CLDR plural rules, as Babel carries them, against the rule that gettext reads."""
    locale = Locale.parse(language)
    forms, rule = plural_forms(locale)
    chosen = gettext.c2py(rule)(number)
    assert 0 <= chosen < forms
    if forms > 1:
        assert form_names(locale)[chosen] == locale.plural_form(number)


def test_polish_has_four_forms_and_arabic_six():
    assert form_names(Locale("pl")) == ("one", "few", "many", "other")
    assert form_names(Locale("ar")) == ("zero", "one", "two", "few", "many", "other")
    assert plural_forms(Locale("vi"))[0] == plural_forms(Locale.parse("zh_Hans"))[0] == 1


POLISH_DAYS = (
    "0 dni",
    "1 dzień",
    "2 dni",
    "3 dni",
    "5 dni",
    "11 dni",
    "21 dni",
    "22 dni",
    "100 dni",
    "101 dni",
)
POLISH_WEEKS = (
    "0 tygodni", "1 tydzień", "2 tygodnie", "3 tygodnie", "5 tygodni", "11 tygodni", "21 tygodni",
    "22 tygodnie", "100 tygodni", "101 tygodni",
)  # fmt: skip
"""Polish grammar: 1 tydzień; 2 to 4 and 22 to 24 tygodnie; all others tygodni."""


def words_in(language: str) -> Words:
    return Words(load(language.replace("_", "-"), [shipped.locales()], where="test"))


def test_polish_numbers_take_their_nouns():
    words = words_in("pl")
    assert tuple(words.span(n, "days") for n in NUMBERS) == POLISH_DAYS
    assert tuple(words.span(n, "weeks") for n in NUMBERS) == POLISH_WEEKS


ARABIC_DAYS = {3: "أيام", 5: "أيام", 11: "يوم", 21: "يوم", 22: "يوم", 100: "يوم", 101: "يوم"}
"""Arabic grammar: 3 to 10 with the plural, above that with the singular; 1 and 2 have words of their own."""


def test_arabic_numbers_take_their_nouns():
    words = words_in("ar")
    said = {n: words.span(n, "days") for n in NUMBERS}
    assert all(noun in said[n] for n, noun in ARABIC_DAYS.items()), said
    assert "يومان" in said[2] or "يومين" in said[2]
    assert len({said[n].replace(str(n), "") for n in (1, 2, 3, 11, 100)}) >= 4


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_unit_and_number_is_said_as_gettext_itself_would_say_it(language):
    """The catalogue compiled to MO and read by Python's own gettext: an independent reader."""
    path = shipped.locales() / language / "LC_MESSAGES" / "consentpack.po"
    stream = io.BytesIO()
    write_mo(stream, read_po(io.BytesIO(path.read_bytes())))
    stream.seek(0)
    theirs, lacking = gettext.GNUTranslations(stream), set()
    catalogue = words_in(language).catalogue
    heard = catalogue.heard_by(lambda text, status: lacking.add(text) if status in LACKING else None)
    words = Words(heard, UNITS_OF_FIELD)
    for number in NUMBERS:
        form = theirs.ngettext("{number} treatment", "{number} treatments", number)
        assert words.counted(number) == form.format(number=number)
        for unit in (*UNITS, *UNITS_OF_FIELD):
            assert words.counted(number, unit)
    assert lacking == set()


# --- the made-up language -------------------------------------------------------------------------


@given(text=st.text(max_size=60), mirrored=st.booleans())
def test_the_made_up_language_keeps_values_and_marks(text, mirrored):
    plain = re.sub(r"[{}*]", "", text)
    source = f"{plain} {{{{ clinic.phone }}}} **bold** {{number}}"
    made = pseudo.pseudo(source, mirrored=mirrored)
    assert values(Pair(source, made), Language("qps"), {}) == ""
    assert made.count("**") == source.count("**")


def test_the_made_up_language_is_longer_and_not_english():
    made = pseudo.pseudo("Bleeding where we worked")
    assert len(made) > 1.2 * len("Bleeding where we worked") and "Bleeding" not in made


# --- the language files ---------------------------------------------------------------------------


def test_a_language_file_with_an_unknown_unit_names_the_line(tmp_path):
    text = 'letters = "LATIN"\nshortest = 0.5\nlongest = 2.0\nstem = 4\nnegations = ["no"]\n\n[units]\n'
    (tmp_path / "language.toml").write_text(f'{text}fortnights = ["x"]\n', encoding="utf-8")
    with pytest.raises(TranslationError, match=r"line 8: 'fortnights' is no unit here"):
        load_language("xx", tmp_path)


def test_a_language_without_a_file_is_checked_all_the_same(tmp_path):
    assert load_language("xx", tmp_path) == Language("xx")


def test_a_chinese_region_finds_its_script(tmp_path):
    assert load("zh-CN", [shipped.locales()], where="test").block("Bruising").status == "translated"
    with pytest.raises(TranslationError):
        load("zh-TW", [shipped.locales()], where="test")


def test_what_stands_in_both_is_the_clinics(tmp_path):
    path = tmp_path / "pl" / "LC_MESSAGES" / "clinic.po"
    po.update(path, small("Bruising"), Locale("pl"))
    translated(path, {"Bruising": "Nasze siniaki"})
    catalogue: Catalogue = load("pl", [tmp_path, shipped.locales()], where="test")
    assert catalogue.block("Bruising").text == "Nasze siniaki"
    assert catalogue.block("Patient").status == "translated"
