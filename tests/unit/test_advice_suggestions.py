"""What the editor's help would write instead: whole sentences, in British English, or nothing."""

from __future__ import annotations

import pytest
from test_advice import LIBRARY, SCORER, TEXTS, document, help_with, paragraph, rules_for

from consentpack.advice import mended
from consentpack.advice.forms import inflected, is_participle, plural
from consentpack.readability import prepare, split
from consentpack.readability.counts import total
from consentpack.readability.formulas import flesch_kincaid
from consentpack.tree import Document


@pytest.mark.parametrize(
    ("rule", "text", "instead"),
    [
        ("noun-for-verb", "The removal of the pad is easy.", "Removing the pad is easy."),
        ("noun-for-verb", "After the insertion of it, rest.", "After putting in it, rest."),
        ("noun-for-verb", "Careful removal of it is vital.", ""),
        ("noun-for-verb", "During the removal of the pad it stings.", ""),
        ("noun-for-verb", "A reduction of 20 per cent is usual.", ""),
        ("noun-for-verb", "The removal of it by a nurse is quick.", ""),
        ("plain-word", "Treatment commenced.", "Treatment started."),
        ("plain-word", "She obtained a mask.", "She got a mask."),
        ("plain-word", "A mask was obtained.", ""),
        ("plain-word", "An additional visit is free.", "An extra visit is free."),
        ("plain-word", "An initial visit is free.", "A first visit is free."),
        ("plain-word", "An adequate amount helps.", ""),
        ("plain-word", "However, it may sink.", "But it may sink."),
        ("plain-word", "It may, however, sink.", ""),
        ("plain-word", "It is therefore vital.", ""),
        ("plain-word", "Discomfort is common.", ""),
        ("plain-word", "In order to heal, rest.", "To heal, rest."),
        ("jargon", "You may get an abscess.", "You may get a pocket of pus."),
        ("jargon", "Haematomas can form.", "Pockets of trapped blood can form."),
        ("jargon", "You get a haematoma formation.", ""),
        ("jargon", "Ecchymosis is common.", ""),
        ("jargon", "Oedema is common.", "Swelling is common."),
        ("jargon", "An INR is a number.", ""),
        ("double-negative", "Do not rub it unless we say so.", "Rub it only if we say so."),
        ("double-negative", "Please do not rub it, unless we say so.", "Rub it only if we say so."),
        ("double-negative", "Do not peel it for 4 weeks, unless we say so.", ""),
        ("double-negative", "Do not take anything unless we say so.", ""),
        ("double-negative", "Bruising is not uncommon.", "Bruising is common."),
        ("double-negative", "It is not an unusual result.", ""),
    ],
)
def test_the_sentence_instead_is_english_or_is_not_given(rule, text, instead):
    found = rules_for(text, rule)
    assert [remark.instead for remark in found] == [instead] if found else not instead


@pytest.mark.parametrize(
    ("text", "instead"),
    [
        (
            "We clean the skin and numb it with a very fine needle at the side of the scar, but you may "
            "feel a push.",
            "We clean the skin and numb it with a very fine needle at the side of the scar. But you may "
            "feel a push.",
        ),
        (
            "You can stop us at any time while we work on your scar with the needle, and we will wait until "
            "you are ready.",
            "You can stop us at any time while we work on your scar with the needle. We will wait until "
            "you are ready.",
        ),
        (  # the second half would hold without the 'if'
            "If it bleeds after you have gone home from the clinic, press on it with a pad, and you can "
            "then ring us.",
            "",
        ),
        (  # nor would it hold without the 'when'
            "When you have gone home from the clinic you must not rub it at all, and you must not scratch "
            "or pick it.",
            "",
        ),
        (  # a row of three clauses
            "We clean the skin with great care, we numb it with a fine needle at the side, and we cut all "
            "of the bands.",
            "",
        ),
        (  # so that
            "We use a sharp, hollow needle and work in layers at the side, so that we can cut bands deep "
            "down under it.",
            "",
        ),
        (  # a row of three
            "We clean the skin with care, numb it with a fine needle at the side, and then cut all of the "
            "bands under it.",
            "",
        ),
        (  # no clause of its own
            "You may feel a push or a pull while we work at the side of the scar, but never a sharp or a "
            "hot pain.",
            "",
        ),
    ],
)
def test_a_long_sentence_is_parted_only_where_both_halves_stand_alone(text, instead):
    (found,) = rules_for(text, "long-sentence")
    assert found.instead == instead


@pytest.mark.parametrize(("words", "found"), [(19, []), (20, []), (21, ["21 words"]), (22, ["22 words"])])
def test_a_sentence_is_long_from_21_words_on(words, found):
    text = " ".join(["Press"] * words)
    assert [remark.found for remark in rules_for(text, "long-sentence")] == found


def test_names_keep_their_number_capital_and_article():
    first = paragraph("A visit is short.")
    for text, instead in [
        ("Appointments are free.", "Visits are free."),
        ("Book an appointment.", "Book a visit."),
        ("Each session counts.", "Each visit counts."),
    ]:
        found = [each for each in help_with(document(first, paragraph(text))) if each.rule == "two-names"]
        assert [each.instead for each in found] == [instead]


@pytest.mark.parametrize(
    ("verb", "tag", "form"),
    [
        ("cancel", "VBG", "cancelling"),
        ("travel", "VBD", "travelled"),
        ("label", "VBG", "labelling"),
        ("get", "VBN", "got"),
        ("put in", "VBG", "putting in"),
        ("minimise", "VBG", "minimising"),
        ("find out", "VBD", "found out"),
        ("show", "VBN", "shown"),
        ("ask for", "VBN", "asked for"),
    ],
)
def test_forms_of_verbs_are_british(verb, tag, form):
    assert inflected(verb, tag) == form


@pytest.mark.parametrize("word", ["cleaned", "asked", "treated", "planned", "taken", "put", "shown", "cut"])
def test_a_regular_participle_is_one_like_an_irregular_one(word):
    assert is_participle(word)


@pytest.mark.parametrize("word", ["open", "dry", "clear", "tight", "took", "cleaning", "went", "gave"])
def test_other_words_are_no_participle(word):
    assert not is_participle(word)


@pytest.mark.parametrize(
    ("one", "many"),
    [
        ("pocket of blood", "pockets of blood"),
        ("lump", "lumps"),
        ("thin blunt tube", "thin blunt tubes"),
        ("problem caused by treatment", "problems caused by treatment"),
        ("stitch", "stitches"),
    ],
)
def test_the_noun_that_counts_takes_the_plural(one, many):
    assert plural(one) == many


def test_no_suggestion_of_the_house_style_is_american():
    said = " ".join((*LIBRARY.style.plain.values(), *LIBRARY.style.verbs.values()))
    american = {"color", "center", "gray", "anesthetic", "recognize", "tumor", "gotten", "canceled"}
    assert not american & set(said.replace(",", "").split())


# --- effect on the grade -------------------------------------------------------------------------


def whole(read: Document) -> float:
    return flesch_kincaid(total(piece.counts for piece in SCORER.pieces(read)))


def changed(text: str, old: str, new: str) -> str:
    """The text as scored, with the first such sentence replaced."""
    sentences = split(prepare(text))
    sentences[sentences.index(old)] = new
    return " ".join(sentences)


def test_before_and_after_are_those_of_the_whole_document_scored_again():
    read = document(*(paragraph(text, line) for line, text in enumerate(TEXTS, 1)))
    suggested = [remark for remark in help_with(read) if remark.instead]
    assert len(suggested) >= 9
    for remark in suggested:
        place = int(remark.source.rpartition(" ")[2])
        texts = [changed(t, remark.text, remark.instead) if n == place else t for n, t in enumerate(TEXTS, 1)]
        again = document(*map(paragraph, texts))
        assert remark.before == pytest.approx(whole(read), abs=1e-9)
        assert remark.after == pytest.approx(whole(again), abs=1e-9)


def test_all_changes_together_are_the_best_of_each_sentence_scored_again():
    read = document(*(paragraph(text, line) for line, text in enumerate(TEXTS, 1)))
    remarks = help_with(read)
    texts = dict(enumerate(TEXTS, 1))
    for place, text in {(each.source, each.text) for each in remarks if each.instead}:
        here = [each for each in remarks if each.instead and (each.source, each.text) == (place, text)]
        line = int(place.rpartition(" ")[2])
        texts[line] = changed(texts[line], text, min(here, key=lambda each: each.after or 0).instead)
    assert mended(remarks, read, SCORER) == pytest.approx(
        whole(document(*map(paragraph, texts.values()))), abs=1e-9
    )


PLAIN = "We look at your skin. You can ask us to stop. Sit down if you feel faint and drink water. " * 3


def test_a_remark_without_a_sentence_changes_nothing():
    read = document(paragraph(PLAIN), paragraph("The area is cleaned."))
    remarks = help_with(read)
    assert [remark.instead for remark in remarks] == [""]
    assert mended(remarks, read, SCORER) == pytest.approx(whole(read), abs=1e-9)


def test_the_same_sentence_in_two_places_is_mended_in_both():
    twice = [paragraph("Treatment will commence at noon.", line) for line in (8, 9)]
    read = document(paragraph(PLAIN), *twice)
    better = document(paragraph(PLAIN), *[paragraph("Treatment will start at noon.")] * 2)
    assert mended(help_with(read), read, SCORER) == pytest.approx(whole(better), abs=1e-9)


def test_too_short_a_text_has_no_grade_to_change():
    read = document(paragraph("Treatment will commence at noon."))
    (remark,) = help_with(read)
    assert (remark.instead, remark.before, remark.after) == ("Treatment will start at noon.", None, None)
    assert mended([remark], read, SCORER) is None


@pytest.mark.parametrize(
    ("words", "tag", "form"),
    [("put in", "VBG", "putting in"), ("need, make you need", "VBG", "needing, making you need")],
)
def test_each_of_several_choices_is_put_into_the_form_of_the_hard_word(words, tag, form):
    assert inflected(words, tag) == form
