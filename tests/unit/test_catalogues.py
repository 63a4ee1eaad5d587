"""Translations: what is printed, and that nothing untranslated passes unnoticed.

The German and Arabic messages here are made up for the tests; nobody's documents use them.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack.catalogues import Catalogue, Translated, load, parse_tag
from consentpack.errors import TranslationError

HEAD = (
    'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n'
    '"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n\n'
)
ARABIC_PLURALS = (
    "nplurals=6; plural=(n==0 ? 0 : n==1 ? 1 : n==2 ? 2 : n%100>=3 && n%100<=10 ? 3 : n%100>=11 ? 4 : 5);"
)
"""Arabic has six forms: zero, one, two, few, many, other (Unicode CLDR plural rules for ar, as in Babel)."""


@pytest.fixture
def made(tmp_path):
    """made(tag, 'messages', 'the clinic's own messages …'): a catalogue from PO files, nearest first."""

    def make(tag: str, *messages: str, head: str = HEAD) -> Catalogue:
        folders = []
        for number, text in enumerate(messages):
            folder = tmp_path / str(number)
            path = folder / tag / "LC_MESSAGES" / "content.po"
            path.parent.mkdir(parents=True)
            path.write_text(head + text, encoding="utf-8")
            folders.append(folder)
        return load(tag, folders, where="plan.toml")

    return make


def test_english_is_what_content_is_written_in_and_needs_no_file(tmp_path):
    english = load("en-GB", [tmp_path], where="plan.toml")
    assert english.block("Bruising") == Translated("Bruising", "source")
    assert english.phrases("{number} day", "{number} days", 1) == "1 day"
    assert english.phrases("{number} day", "{number} days", 2) == "2 days"


def test_a_translated_block_is_printed(made):
    assert made("de", 'msgid "Bruising"\nmsgstr "Bluterguss"\n').block("Bruising") == (
        Translated("Bluterguss", "translated")
    )


@pytest.mark.parametrize("messages", ["", 'msgid "Bruising"\nmsgstr ""\n'], ids=["absent", "empty"])
def test_a_missing_translation_says_so(made, messages):
    assert made("de", messages).block("Bruising") == Translated("Bruising", "missing")


def test_who_listens_hears_what_was_asked_for_and_the_catalogue_keeps_nothing(made):
    german, heard = made("de", 'msgid "a"\nmsgstr "A"\n'), []
    listening = german.heard_by(lambda text, status: heard.append((text, status)))
    listening.block("a"), listening.phrase("b"), listening.phrases("{number} day", "{number} days", 2)
    assert heard == [("a", "translated"), ("b", "missing"), ("{number} day", "missing")]
    german.block("c")
    assert len(heard) == 3


def test_a_translation_that_needs_review_says_so(made):
    german = made("de", '#, fuzzy\nmsgid "Bruising"\nmsgstr "Bluterguss"\n')
    assert german.block("Bruising") == Translated("Bluterguss", "needs review")


def test_an_obsolete_translation_is_none(made):
    assert made("de", '#~ msgid "Bruising"\n#~ msgstr "Bluterguss"\n').block("Bruising").status == "missing"


def test_the_clinics_own_words_go_before_the_shipped_ones(made):
    own, shipped = 'msgid "a"\nmsgstr "eigen"\n', 'msgid "a"\nmsgstr "x"\n\nmsgid "b"\nmsgstr "geliefert"\n'
    german = made("de", own, shipped)
    assert german.block("a").text == "eigen"
    assert german.block("b").text == "geliefert"


def test_a_phrase_is_filled_with_its_values_in_the_order_of_the_language(made):
    german = made("de", 'msgid "{a} before {b}"\nmsgstr "{b} nach {a}"\n')
    assert german.phrase("{a} before {b}", a="1", b="2") == "2 nach 1"


def test_plural_forms_follow_the_rule_of_the_language(made):
    forms = "".join(f'msgstr[{form}] "{{number}}:{form}"\n' for form in range(6))
    arabic = made(
        "ar",
        f'msgid "{{number}} day"\nmsgid_plural "{{number}} days"\n{forms}',
        head=HEAD.replace("nplurals=2; plural=(n != 1);", ARABIC_PLURALS),
    )
    said = [arabic.phrases("{number} day", "{number} days", n) for n in (0, 1, 2, 3, 11, 100)]
    assert said == ["0:0", "1:1", "2:2", "3:3", "11:4", "100:5"]
    assert arabic.rtl and arabic.plural("{number} day", "{number} days", 2).status == "translated"


@pytest.mark.parametrize("forms", ["", 'msgstr[0] "{number} Tag"\nmsgstr[1] ""\n'], ids=["absent", "half"])
def test_a_phrase_without_all_its_plural_forms_is_missing(made, forms):
    message = f'msgid "{{number}} day"\nmsgid_plural "{{number}} days"\n{forms}' if forms else ""
    german = made("de", message)
    assert german.phrases("{number} day", "{number} days", 1) == "1 days"
    assert german.plural("{number} day", "{number} days", 1).status == "missing"


def test_plural_forms_that_need_review_say_so(made):
    forms = 'msgstr[0] "{number} Tag"\nmsgstr[1] "{number} Tage"\n'
    german = made("de", f'#, fuzzy\nmsgid "{{number}} day"\nmsgid_plural "{{number}} days"\n{forms}')
    assert german.plural("{number} day", "{number} days", 2) == Translated("{number} Tage", "needs review")


def test_a_translation_that_names_an_unknown_value_is_an_error_for_the_translator(made):
    german = made("de", 'msgid "{number} left"\nmsgstr "noch {nummer}"\n')
    with pytest.raises(TranslationError):
        german.phrase("{number} left", number="2")


def test_a_regional_tag_falls_back_to_its_language(made, tmp_path):
    made("de", 'msgid "a"\nmsgstr "A"\n')
    assert load("de-AT", [tmp_path / "0"], where="plan.toml").block("a").text == "A"


@pytest.mark.parametrize("tag", ["english", "en_GB_x", "", "xx-YY", "../de"])
def test_what_is_no_language_tag_is_refused(tag):
    with pytest.raises(TranslationError) as caught:
        parse_tag(tag, where="plan.toml, line 3")
    assert str(caught.value) == (
        f"plan.toml, line 3: '{tag}' is not a language tag.\n  Tags look like 'en-GB', 'es' or 'ar'."
    )


def test_a_language_without_a_catalogue_names_those_there_are(made, tmp_path):
    made("de", "")
    with pytest.raises(TranslationError) as caught:
        load("fr", [tmp_path / "0", tmp_path / "nowhere"], where="plan.toml")
    assert str(caught.value) == (
        "plan.toml: there is no translation for 'fr' yet.\n  Languages to be had: de, en."
    )


def test_a_file_that_cannot_be_read_is_named(tmp_path):
    path = tmp_path / "de/LC_MESSAGES/content.po"
    path.parent.mkdir(parents=True)
    path.write_bytes((HEAD + 'msgid "a"\nmsgstr "ä"\n').encode("latin-1"))
    with pytest.raises(TranslationError, match="the file cannot be read") as caught:
        load("de", [tmp_path], where="plan.toml")
    assert caught.value.problems[0].where == str(path)


@given(tag=st.one_of(st.text(max_size=12), st.text("abzxEN_-/.1@", max_size=10)))
def test_any_tag_is_known_or_refused_and_never_breaks(tag):
    try:
        parse_tag(tag, where="plan.toml")
    except TranslationError as error:
        assert repr(tag)[1:-1] in str(error) or tag in str(error)


def test_a_stale_translation_that_names_other_values_is_lacking_and_no_error(made):
    """Seen when '{scar}' became '{condition}': the older text carried over could not be filled."""
    heard: list[tuple[str, str]] = []
    catalogue = made(
        "de",
        '#, fuzzy\nmsgid "{condition}, {site}"\nmsgstr "{scar}, {site}"\n\n'
        '#, fuzzy\nmsgid "{number} place of {total}"\nmsgid_plural "{number} places of {total}"\n'
        'msgstr[0] "{number} Stelle von {all}"\nmsgstr[1] "{number} Stellen von {all}"\n',
    ).heard_by(lambda text, status: heard.append((text, status)))
    assert catalogue.phrase("{condition}, {site}", condition="a dip", site="chin") == "a dip, chin"
    said = catalogue.phrases("{number} place of {total}", "{number} places of {total}", 2, total=3)
    assert said == "2 places of 3"
    assert [status for _, status in heard] == ["missing", "missing"]


def test_a_stale_translation_that_names_the_same_values_is_still_shown_for_review(made):
    catalogue = made("de", '#, fuzzy\nmsgid "{condition}, {site}"\nmsgstr "{site}: {condition}"\n')
    assert catalogue.phrase("{condition}, {site}", condition="a dip", site="chin") == "chin: a dip"
