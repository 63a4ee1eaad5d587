"""The editor's help: what to mend in a text, where, why, and what it would do to the grade.

English only: every rule rests on English words. It advises; a person decides.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from consentpack.advice import grammar, instructions, names, words
from consentpack.advice.grammar import Found
from consentpack.advice.layout import layout_of
from consentpack.advice.passages import Passage, listings, passages
from consentpack.model import HouseStyle, Remark, Spoken, Term
from consentpack.readability import FEWEST_WORDS, Scorer, root
from consentpack.readability.counts import total
from consentpack.readability.formulas import flesch_kincaid
from consentpack.tree import Document

RULES: Mapping[str, str] = {
    "long-sentence": "a sentence of more than 20 words",
    "passive": "who does it comes last, or not at all",
    "double-negative": "two turns of no",
    "noun-for-verb": "a deed hidden in a noun",
    "plain-word": "a hard word where a plain one does",
    "jargon": "a clinical term that nobody explains",
    "abbreviation": "capital letters that nobody writes out",
    "two-names": "two names for one thing",
    "vague-time": "an instruction without a time",
    "no-verb": "an instruction without a verb",
    "crowded-list": "a list with too many ideas",
}
"""Rule -> what it finds. The order is that of the report."""

_BY_SENTENCE: Mapping[str, Callable[[Passage, HouseStyle], Iterator[Found]]] = {
    "long-sentence": grammar.long_sentence,
    "passive": grammar.passive,
    "double-negative": grammar.double_negative,
    "noun-for-verb": grammar.noun_for_verb,
    "plain-word": words.plain_word,
    "vague-time": instructions.vague_time,
    "no-verb": instructions.no_verb,
}


def advise(
    document: Document,
    scorer: Scorer,
    *,
    terms: tuple[Term, ...] = (),
    spoken: Mapping[str, Spoken] | None = None,
    style: HouseStyle | None = None,
) -> list[Remark]:
    """Everything an editor would mend in a document, by rule and then in reading order.

    Where a rule knows a better sentence, the remark has the document's grade now and with it.
    Empty for a language other than English.
    """
    if root(document.language) != "en":
        return []
    style = style or HouseStyle()
    found_in = passages(document)
    remarks: list[Remark] = []
    for passage in found_in:
        for rule, looks in _BY_SENTENCE.items():
            remarks += [_remark(rule, passage, found) for found in looks(passage, style)]
    for rule, pairs in (
        ("jargon", words.jargon(found_in, terms, spoken or {}, style)),
        ("abbreviation", names.abbreviation(found_in, style)),
        ("two-names", names.two_names(found_in, style)),
    ):
        remarks += [_remark(rule, passage, found) for passage, found in pairs]
    for listing in listings(document):
        for source, text, found in instructions.crowded_list(listing):
            remarks.append(Remark("crowded-list", source, text, found.found, found.advice))
    order = list(RULES)
    remarks.sort(key=lambda remark: order.index(remark.rule))
    return _with_effect(remarks, document, scorer)


def _remark(rule: str, passage: Passage, found: Found) -> Remark:
    return Remark(rule, passage.source, passage.text, found.found, found.advice, found.instead)


def _with_effect(remarks: list[Remark], document: Document, scorer: Scorer) -> list[Remark]:
    """Each remark with the document's grade before and after its own change alone."""
    whole = total(piece.counts for piece in scorer.pieces(document))
    if whole.words < FEWEST_WORDS:
        return remarks
    before = flesch_kincaid(whole)
    done = []
    for remark in remarks:
        if remark.instead:
            changed = whole - scorer.counts_of(remark.text) + scorer.counts(remark.instead)
            remark = replace(remark, before=before, after=flesch_kincaid(changed))
        done.append(remark)
    return done


def mended(remarks: list[Remark], document: Document, scorer: Scorer) -> float | None:
    """The document's grade if every sentence with a suggestion were replaced by its best one.

    None when the text is too short to score. A sentence has one place: where it stands twice, a
    suggestion for one of them does not count for the other.
    """
    best: dict[tuple[str, str], Remark] = {}
    for remark in remarks:
        place = (remark.source, remark.text)
        if remark.after is not None and (place not in best or remark.after < (best[place].after or 0)):
            best[place] = remark
    pieces = scorer.pieces(document)
    whole = total(piece.counts for piece in pieces)
    if whole.words < FEWEST_WORDS:
        return None
    for piece in pieces:
        if chosen := best.pop((piece.source, piece.text), None):
            whole = whole - piece.counts + scorer.counts(chosen.instead)
    return flesch_kincaid(whole)


__all__ = ["RULES", "advise", "layout_of", "mended"]
