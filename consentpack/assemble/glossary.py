"""Clinical words a patient may meet in the document or hear in the clinic, in plain words."""

from __future__ import annotations

from consentpack.assemble.context import Context, cell
from consentpack.assemble.inputs import Printed
from consentpack.model import Term
from consentpack.tree import EXPLAINED, Cell, Node, Paragraph, Run, Table


def words_explained(ctx: Context, printed: Printed) -> list[Node]:
    """Each glossary term whose clinical word stands in the document, with its plain words."""
    text = " ".join(printed.texts).lower()
    terms = (term for term in ctx.library.terms if term.stands_in(text))
    rows = tuple(_row(ctx, term) for term in sorted(terms, key=lambda term: term.clinical))
    columns = (ctx.say("Word"), ctx.say("What it means"))
    return [Table(columns, rows, (30, 70), ctx.say("Clinical words explained."))] if rows else []


def _row(ctx: Context, term: Term) -> tuple[Cell, Cell]:
    """A term and its meaning. The term itself is what is hard; only the meaning is scored."""
    word = Paragraph((Run(ctx.catalogue.block(term.clinical).text, strong=True),), EXPLAINED, scored=False)
    return Cell((word,), head=True), cell(
        Paragraph((Run(ctx.catalogue.block(term.explain).text),), EXPLAINED)
    )
