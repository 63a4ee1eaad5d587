"""The published formulas, from counts. Each names its source; none rounds.

Grades are US school grades. `w` words, `s` sentences, `y` syllables; all need at least one sentence.
"""

from __future__ import annotations

from math import sqrt

from consentpack.readability.counts import Counts

DALE_CHALL_LOWEST = 4.0
"""'Grade 4 or below': the lowest band of their table."""
DALE_CHALL_ADDED = 3.6365
DALE_CHALL_FROM = 5.0
"""Percent of unlisted words above which the constant is added: the conditional form, as textstat's
first version and most later summaries have it. DuBay's review has it always added."""


def flesch_kincaid(c: Counts) -> float:
    """US grade (Kincaid, Fishburne, Rogers and Chissom 1975, Research Branch Report 8-75)."""
    return 0.39 * c.words / c.sentences + 11.8 * c.syllables / c.words - 15.59


def flesch_kincaid_textstat(c: Counts) -> float:
    """The same with textstat's own syllables."""
    return 0.39 * c.words / c.sentences + 11.8 * c.textstat_syllables / c.words - 15.59


def flesch(c: Counts) -> float:
    """Reading ease, high is easy (Flesch 1948, J Appl Psychol 32:221)."""
    return 206.835 - 1.015 * c.words / c.sentences - 84.6 * c.syllables / c.words


def smog(c: Counts) -> float:
    """US grade for full comprehension (McLaughlin 1969, J Reading 12:639), its exact form."""
    return 1.0430 * sqrt(c.polysyllables * 30 / c.sentences) + 3.1291


def fog(c: Counts) -> float:
    """Years of schooling (Gunning 1952)."""
    return 0.4 * (c.words / c.sentences + 100 * c.complex_words / c.words)


def coleman_liau(c: Counts) -> float:
    """US grade (Coleman and Liau 1975, J Appl Psychol 60:283)."""
    return 0.0588 * 100 * c.letters / c.words - 0.296 * 100 * c.sentences / c.words - 15.8


def ari(c: Counts) -> float:
    """US grade (Smith and Senter 1967, AMRL-TR-66-220)."""
    return 4.71 * c.characters / c.words + 0.5 * c.words / c.sentences - 21.43


def dale_chall(c: Counts) -> float:
    """Raw score, not a grade (Dale and Chall 1948, Educ Res Bull 27:11), conditional form."""
    percent = 100 * c.unlisted / c.words
    added = DALE_CHALL_ADDED if percent > DALE_CHALL_FROM else 0.0
    return 0.1579 * percent + 0.0496 * c.words / c.sentences + added


def dale_chall_grade(c: Counts) -> float:
    """The middle of the grades the score stands for (their table; 16 for college and above)."""
    raw = dale_chall(c)
    bands = ((5.0, DALE_CHALL_LOWEST), (6.0, 5.5), (7.0, 7.5), (8.0, 9.5), (9.0, 11.5), (10.0, 14.0))
    return next((grade for below, grade in bands if raw < below), 16.0)


def fernandez_huerta(c: Counts) -> float:
    """Spanish, high is easy (Fernández Huerta 1959), with words per sentence: the printed
    'sentences per 100 words' is a mistake (Law 2011, LINGUIST List 22.2332)."""
    return 206.84 - 60 * c.syllables / c.words - 1.02 * c.words / c.sentences


def szigriszt(c: Counts) -> float:
    """Spanish, high is easy (Szigriszt-Pazos 1993; bands of Barrio-Cantalejo 2008)."""
    return 206.835 - 62.3 * c.syllables / c.words - c.words / c.sentences


def kandel_moles(c: Counts) -> float:
    """French, high is easy (Kandel and Moles 1958)."""
    return 207 - 1.015 * c.words / c.sentences - 73.6 * c.syllables / c.words


def amstad(c: Counts) -> float:
    """German, high is easy (Amstad 1978)."""
    return 180 - c.words / c.sentences - 58.5 * c.syllables / c.words


def vienna_1(c: Counts) -> float:
    """German school year (Bamberger and Vanecek 1984), the first formula."""
    ms, iw = 100 * c.polysyllables / c.words, 100 * c.long_words / c.words
    es, sl = 100 * c.one_syllable / c.words, c.words / c.sentences
    return 0.1935 * ms + 0.1672 * sl + 0.1297 * iw - 0.0327 * es - 0.875


def gulpease(c: Counts) -> float:
    """Italian, high is easy (Lucisano and Piemontese 1988)."""
    return 89 + (300 * c.sentences - 10 * c.letters) / c.words


def douma(c: Counts) -> float:
    """Dutch, high is easy (Douma 1960; from memory)."""
    return 206.84 - 0.93 * c.words / c.sentences - 77 * c.syllables / c.words


def martins(c: Counts) -> float:
    """Portuguese, high is easy (Martins et al. 1996)."""
    return 248.835 - 1.015 * c.words / c.sentences - 84.6 * c.syllables / c.words


def pisarek(c: Counts) -> float:
    """Polish years of schooling (Pisarek 1969, the non-linear form; from memory): hard words have
    four or more syllables."""
    sentence, hard = c.words / c.sentences, 100 * c.four_syllables / c.words
    return 0.5 * sqrt(sentence**2 + hard**2)


def lix(c: Counts) -> float:
    """Swedish, Danish, Norwegian: low is easy (Björnsson 1968; from memory)."""
    return c.words / c.sentences + 100 * c.long_words / c.words
