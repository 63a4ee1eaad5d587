"""The paper for the talk-back: what to ask, where the answer stands, and three boxes to each question.

It is in the patient's language. For a clinician who does not speak it, the words by which marks are entered
and what a question is about stand there in the clinic's language.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from consentpack.assemble.context import Context, cell
from consentpack.assemble.layers import FORM
from consentpack.assemble.short_figures import has_figure
from consentpack.assemble.signing import name_and_role
from consentpack.catalogues import N_
from consentpack.talk_back import MARKS, Asked, Question, questions
from consentpack.tree import Cell, Document, Field, Fields, Node, Paragraph, Run, Table, text_of
from consentpack.wording import in_sentence

SHEET = "aftercare"
PATTERNS: Mapping[str, str] = {
    "what": N_("What will we do? Say it in your own words."),
    "gain": N_("What may this do for you, and how often does it work?"),
    "harm": N_("How often does this happen: {outcome}?"),
    "serious": N_("This is serious: {outcome}. How often does it happen, and can it last?"),
    "choice": N_("What else can you choose, and what would that be like?"),
    "tonight": N_("You are at home, and you have {signs}. What will you do?"),
    "ring": N_("You are worried at night. Whom do you ring?"),
}
"""Kind of question -> how it is asked. What it names is said with a title or a sign of the library."""
_NAMES: Mapping[str, str] = {"harm": "outcome", "serious": "outcome", "tonight": "signs"}
_SAID: Mapping[str, str] = {
    "said": N_("Said it"),
    "again": N_("Said it after we explained again"),
    "not-yet": N_("Not yet"),
}
"""Each of MARKS -> the column it is made in."""
WIDTHS = (33, 39, 8, 12, 8)
_BOX, _GAP = "\u2610", " \u00b7 "


def asked_of(ctx: Context, papers: Mapping[str, Document]) -> tuple[Question, ...]:
    """The questions of a plan from its papers, by kind, all of one language; none without a form."""
    if FORM not in papers:
        return ()
    matches = ctx.matches
    risks = sorted(matches.risks, key=lambda match: match.only_if_needed)
    outcomes = (*matches.benefits, *risks)
    asked = Asked(
        ctx.library,
        risks=tuple(match.id for match in risks),
        rated=frozenset(match.id for match in outcomes if has_figure(ctx, match.id)),
        options=tuple(match.id for match in matches.options),
        warnings=tuple(match.id for match in matches.warnings),
        form=papers[FORM],
        sheet=papers.get(SHEET),
    )
    return questions(asked)


def talk_back(ctx: Context, asked: Sequence[Question]) -> list[Node]:
    """A row for each question, then who held the talk, and when."""
    if not asked:
        return []
    columns = (ctx.say("Ask"), ctx.say("What our papers say, and where"), *(_head(ctx, m) for m in MARKS))
    rows = tuple(_row(ctx, each) for each in asked)
    said = ctx.say("What to ask, where the answer stands, and boxes to tick.")
    lines = (name_and_role(ctx), Field(ctx.say("Date"), "date"))
    return [
        Table(columns, rows, WIDTHS, said, grid=True),
        Fields("", lines, tag="talk-back", in_row=True),
    ]


def _head(ctx: Context, mark: str) -> str:
    """A column in which a mark is made; in the patient's language with the word by which it is entered."""
    said = ctx.say(_SAID[mark])
    return said if ctx.catalogue.is_source else f"{said} ({mark})"


def _row(ctx: Context, asked: Question) -> tuple[Cell, ...]:
    question = Paragraph((Run(said_in(ctx, asked)),))
    boxes = (cell(Paragraph((Run(_BOX),), scored=False)) for _ in MARKS)
    answer = Paragraph((*_answer(asked), Run(f"{_GAP}{_place(ctx, asked)}")), scored=False)
    return cell(question, _for_the_clinic(ctx, asked), head=True), cell(answer), *boxes


def _answer(asked: Question) -> Iterator[Run]:
    """The answer's own words in a row: the paper is one side."""
    for place, paragraph in enumerate(asked.answer):
        if place:
            yield Run(_GAP)
        one = len(paragraph.runs) == 1
        yield from (replace(run, strong=run.strong and not one, big=False) for run in paragraph.runs)


def said_in(ctx: Context, asked: Question) -> str:
    """The question in the language of the paper."""
    about = ctx.catalogue.block(asked.about).text if asked.about else ""
    return ctx.say(PATTERNS[asked.kind], **_named(asked, about))


def _named(asked: Question, about: str) -> dict[str, str]:
    name = _NAMES.get(asked.kind, "")
    return {name: in_sentence(about)} if name else {}


def _for_the_clinic(ctx: Context, asked: Question) -> Paragraph:
    """The word by which a mark is entered; what it is about too, where the clinic's language is another."""
    if ctx.catalogue.is_source:
        return Paragraph((Run(asked.kind),), scored=False)
    words = f"{asked.kind}: {in_sentence(asked.about)}" if asked.about else asked.kind
    return Paragraph((Run(words, language=ctx.clinic.language),), scored=False)


def _place(ctx: Context, asked: Question) -> str:
    """The heading; the paper too, where it is not the form, or alone where the heading is in the answer."""
    place = asked.place
    if place.paper == FORM:
        return ctx.say("See “{heading}”.", heading=place.heading)
    if place.heading == text_of(asked.answer[0].runs):
        return ctx.say("See “{heading}”.", heading=place.title)
    return ctx.say("See “{heading}” in “{title}”.", heading=place.heading, title=place.title)
