"""Words that belong to some techniques or places only, and where a document says one it should not.

A vocabulary, not ids alone: a sentence about a laser in a needle plan is found however it got there. The
words are those of the trade and of this library; the conditions are those of content (`conditions`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from consentpack.conditions import Facts, parse
from consentpack.tree import CITED, EXPLAINED, STUDIED, Document, Node, Paragraph, Table, paragraphs, text_of

FIELD_WORDS = frozenset({"skin", "scar", "scars", "face", "needle", "acne"})
"""Words of our field that another field, and the program, have no use for."""
NEEDLES = (
    "kind:release or trait:gel or trait:steroid or trait:injected-numbing or technique:microneedling "
    "or trait:under-skin"
)
VOCABULARY: tuple[tuple[str, str], ...] = (
    (r"\b(gel|gels|filler|fillers)\b", "trait:gel or factor:past-filler"),
    (r"\blasers?\b", "trait:laser"),
    (r"\bgraft(s|ed)?\b", "trait:graft"),
    (r"\bplugs?\b", "trait:graft or technique:punch-elevation"),
    (r"\b(stitch|stitches|stitched)\b", "trait:stitches or kind:release"),  # 'we do not plan to use stitches'
    (r"\bpaper strips?\b", "trait:stitches"),
    (r"\b(a|the|your|this|after) peels?\b", "technique:peel-medium or technique:peel-superficial"),
    (r"\bacids?\b", "trait:acid"),
    (r"\bsteroids?\b", "trait:steroid"),
    (r"\b(threads?|wires?)\b", "trait:thread or trait:stitches"),
    (r"\bcannulas?\b", "technique:blunt-cannula or trait:gel or technique:saline-after-release"),
    (r"\bneedles?\b", NEEDLES),
    (r"\bpunch(es|ed)?\b", "kind:surgery"),
    (r"\bbiops(y|ies)\b", "trait:is-test or trait:removes-tissue"),
    (r"\bmoles?\b", "indication:spot or trait:removes-tissue"),
    (r"\bgrowths?\b", "indication:spot or indication:keloid or trait:removes-tissue"),
    (r"\bkeloids?\b", "indication:keloid or indication:raised or factor:keloid-tendency or kind:surgery"),
    (r"\bdermabrasion\b", "technique:dermabrasion-mechanical"),
    (r"\bmicroneedling\b", "technique:microneedling"),
    (r"\bnerve blocks?\b", "technique:nerve-block-face"),
    (r"\b(tumescent|numbing fluid)\b", "technique:tumescent-dilute"),
    (r"\bnumbing cream\b", "technique:topical-anaesthetic"),
    (r"\bcold sores?\b", "region:face"),
    (r"\b(lips?|mouth|smile|smiles|chew|chewing)\b", "region:face"),
    # the gel that goes deep into cheek or temple names its place; off the face a rule keeps it from the plan
    (
        r"\b(cheeks?|forehead|temples?|jaw|chin|nose|brows?)\b",
        "region:face or technique:deep-support-filler",
    ),
    (r"\b(eyelids?|eyebrows?)\b", "region:face"),
    (r"\b(make-up|lipstick|beard)\b", "region:face"),
    # a drooping face is how a stroke is seen, wherever on head or neck the work was
    (
        r"\b(your|the) face\b",
        "region:face or region:head or region:neck or kind:anaesthetic or trait:gel",
    ),
    (r"\b(shoulders?|waistband|bra)\b", "region:trunk or region:arm"),
    (r"\b(shoes?|socks?|toes?)\b", "region:limb"),
)
"""Word -> the condition under which a patient's paper may say it."""

ALLERGY = (
    "severe-allergy",
    "severe-allergy-signs",
    "anaesthetic-toxicity",
    "anaesthetic-signs",
    "blue-lips-signs",
    "faint",
)
"""Modules that speak of the whole body: lips swell in an allergy wherever the needle went."""


def words_of(line: str) -> set[str]:
    """Whole words, also inside names: 'skin_type' and 'SkinType' hold 'skin', 'surface' holds no 'face'."""
    return {word.lower() for word in re.findall(r"[A-Z]+(?![a-z])|[A-Z]?[a-z]+", line)}


@dataclass(frozen=True)
class Strange:
    """A word in a document that does not concern its reader."""

    word: str
    text: str
    file: str


def strange_words(text: str, facts: Facts) -> Iterator[str]:
    """The words of a text that do not belong to a plan with these facts."""
    for pattern, condition in VOCABULARY:
        found = re.search(pattern, text, re.IGNORECASE)
        if found and not parse(condition).holds(facts):
            yield found.group(0)


def of_others(paragraph: Paragraph) -> bool:
    """Choices offered, circumstances of the patient, the people of a study and the papers cited."""
    offered = re.search(r"content/(options|factors)/", paragraph.source.file)
    return bool(offered) or paragraph.source in (STUDIED, CITED)


def explained_for(node: Node, heard: str) -> Iterator[Paragraph]:
    """The rows of the words explained whose word the patient does hear of in such a text, and only those."""
    for row in node.rows if isinstance(node, Table) else ():
        found = [p for cell in row for p in cell.content if isinstance(p, Paragraph)]
        if found and found[0].source == EXPLAINED and text_of(found[0].runs).lower() in heard:
            yield from found


def strange_in(document: Document, facts: Facts, own_words: tuple[str, ...]) -> Iterator[Strange]:
    """What a document says that is neither planned, nor possible, nor a choice offered, nor a factor.

    `own_words` are the clinician's, and titles of what is offered or of the patient's circumstances.
    """
    nodes = [*document.lead, *(node for section in document.sections for node in section.nodes)]
    offered = [p for node in nodes for p in paragraphs(node) if of_others(p)]
    heard = " ".join([*own_words, *(text_of(p.runs) for p in offered)]).lower()
    explained = [p for node in nodes for p in explained_for(node, heard)]
    for paragraph in (p for node in nodes for p in paragraphs(node)):
        if paragraph.source.module in ALLERGY or paragraph in offered or paragraph in explained:
            continue
        text = text_of(paragraph.runs)
        for words in own_words:
            text = re.sub(re.escape(words), "", text, flags=re.IGNORECASE) if words else text
        for word in strange_words(text, facts):
            yield Strange(word, text, f"{paragraph.source}")
