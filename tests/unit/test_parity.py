"""What is compared between a text and its translation. Each check has a slip it must find, taken from what
translators do wrong, and a right translation it must leave alone.

The translations are our own and made for these tests.
"""

from __future__ import annotations

import pytest

from consentpack import shipped
from consentpack.translate.checking import accepted_in
from consentpack.translate.languages import load_language
from consentpack.translate.parity import CHECKS, Pair, findings

LANGUAGES = {tag: load_language(tag, shipped.locales() / tag.replace("-", "_")) for tag in (
    "es", "pl", "ar", "vi", "zh-Hans", "fr",
)}  # fmt: skip

SLIPS = [
    ("values", "es", "Ring {{ clinic.phone }}.", "Llame a la clínica."),
    ("values", "es", "Wait {{ care.swim_wait }}.", "Espere {{ care.makeup_wait }}."),
    ("values", "pl", "From {low} to {high}.", "Od {low} do {low}."),
    ("braces", "fr", "Ring {{ clinic.phone }}.", "Appelez {{ clinic.phone }}. {"),
    ("numbers", "es", "It fades in 2 to 3 weeks.", "Desaparece en 2 a 8 semanas."),
    ("numbers", "pl", "About 12 in every 100.", "Około 21 na każde 100."),
    ("numbers", "fr", "Use 0.5 ml.", "Utilisez 5 ml."),
    ("numbers", "zh-Hans", "In the first 2 days", "在最初几天"),
    ("digits", "ar", "It fades in 2 weeks.", "يزول خلال ٢ أسبوع."),
    ("units", "es", "It can start again in the first 2 days.", "Puede volver en las primeras 2 horas."),
    ("units", "ar", "We judge the change 3 to 6 months later.", "نقيّم التغيّر بعد 3 إلى 6 أسابيع."),
    ("units", "zh-Hans", "It lasts 3 weeks.", "会持续3天。"),
    ("negations", "es", "Do not lift the pad to look.", "Levante la gasa para mirar."),
    ("negations", "pl", "You should not feel sharp pain.", "Możesz czuć ostry ból."),
    ("negations", "ar", "Never press on your eyeball.", "اضغط على مقلة العين."),
    ("negations", "vi", "Do not drive home.", "Hãy lái xe về nhà."),
    ("negations", "zh-Hans", "Don’t rub it.", "请揉搓它。"),
    ("negations", "fr", "It cannot be undone.", "On peut revenir en arrière."),
    ("links", "fr", "See [the site](https://example.org/a).", "Voir [le site](https://example.org/b)."),
    ("marks", "es", "Clinics call this **needling**.", "En las clínicas lo llaman microagujas."),
    ("marks", "pl", "**Put on make-up**: after 2 days.", "Po 2 dniach: **makijaż**."),
    ("marks", "vi", "Keep the skin clean.", "- Giữ da sạch."),
    ("length", "es", "Ring us the same day if the skin grows red, hot and sore.", "Llame pronto."),
    ("length", "zh-Hans", "Keep the skin clean and dry for the first day, please.", "保持皮肤干净。" * 9),
    ("left over", "es", "Keep the pad dry for one day.", "Keep the pad dry durante un día."),
    ("left over", "fr", "Numbing cream", "Numbing cream"),
    ("letters", "ar", "Bleeding", "Bleeding where"),
    ("letters", "zh-Hans", "Swelling", "Отёк"),
    ("terms", "es", "Clinics call this **microneedling**.", "En las clínicas lo llaman **dermopluma**."),
]  # fmt: skip
"""Check, language, English, a translation with the slip."""

RIGHT = [
    ("es", "It fades in 2 to 3 weeks.", "Desaparece en 2 o 3 semanas."),
    ("es", "Clinics call this **microneedling**.", "En las clínicas lo llaman **microagujas**."),
    ("fr", "In 1,000 people", "Chez 1\u202f000 personnes"),
    ("fr", "Use 0.5 ml.", "Utilisez 0,5 ml."),
    ("pl", "Ring {{ clinic.phone }} the same day.", "Zadzwoń tego samego dnia: {{ clinic.phone }}."),
    ("pl", "You should not feel sharp pain.", "Nie powinno być ostrego bólu."),
    ("ar", "Do not lift the pad for 2 days.", "لا ترفع الضمادة مدة 2 يوم."),
    ("ar", "It lasts 3 weeks.", "يستمر 3 أسابيع."),
    ("vi", "Do not drive home.", "Đừng tự lái xe về nhà."),
    ("zh-Hans", "Do not press on your eyeball.", "不要按压眼球。"),
    ("zh-Hans", "It lasts 3 weeks.", "会持续3周。"),
    ("zh-Hans", "Its name is TCA.", "它叫TCA。"),
    ("fr", "{yes} / {no}", "{yes} / {no}"),
    ("es", "Ambulance: {number}", "Ambulancia: {number}"),
]
TERMS = {"microneedling": "microagujas"}


@pytest.mark.parametrize(
    ("check", "tag", "source", "target"), SLIPS, ids=[f"{s[0]}-{s[1]}-{s[2][:20]}" for s in SLIPS]
)
def test_a_slip_is_found(check, tag, source, target):
    found = findings(Pair(source, target), LANGUAGES[tag], TERMS)
    assert check in {each.check for each in found}, found


@pytest.mark.parametrize(("tag", "source", "target"), RIGHT)
def test_a_right_translation_is_left_alone(tag, source, target):
    assert findings(Pair(source, target), LANGUAGES[tag], TERMS) == []


def test_every_check_has_a_slip():
    assert {slip[0] for slip in SLIPS} == set(CHECKS)


def test_the_words_for_two_treatments_may_say_the_number():
    pair = Pair("{number} treatments", "علاجين", plural=True)
    assert findings(pair, LANGUAGES["ar"], {}) == []
    assert findings(Pair("{number} treatments", "علاجين"), LANGUAGES["ar"], {})


@pytest.mark.parametrize(
    ("comment", "accepted"),
    [
        ("accepted: negations – said with refuse", ("negations",)),
        ("accepted: length, terms - a name", ("length", "terms")),
        ("accepted: negations", ()),
        ("accepted: negations –", ()),
        ("a note", ()),
    ],
)
def test_a_finding_is_accepted_only_with_a_reason(comment, accepted):
    assert accepted_in([comment]) == accepted


def test_what_is_accepted_is_not_reported_and_the_rest_is():
    pair = Pair("Do not wait 2 days.", "Espere 3 días.")
    found = findings(pair, LANGUAGES["es"], {}, accepted=("negations",))
    assert {each.check for each in found} == {"numbers"}
