"""References, from CSL-JSON items."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from consentpack.assemble.context import Context
from consentpack.assemble.figures import named_beside
from consentpack.assemble.layers import BOOKLET, FIGURES, SOURCES, piece, stands_in_full
from consentpack.tree import CITED, Items, Node, Paragraph, Run


def cite(item: Mapping[str, Any]) -> str:
    """One source in a plain author-year form."""
    authors = ", ".join(_name(author) for author in item.get("author", ()))
    parts = item.get("issued", {}).get("date-parts", [[]])
    year = f" ({parts[0][0]})" if parts and parts[0] else ""
    journal = item.get("container-title", "")
    place = " ".join(filter(None, (journal, item.get("volume", ""), item.get("page", ""))))
    doi = f"doi:{item['DOI']}" if item.get("DOI") else ""
    words = (f"{authors}{year}".strip(), item["title"], place, doi)
    return ". ".join(part.rstrip(".") for part in words if part) + "."


def _name(author: Mapping[str, str]) -> str:
    return author.get("literal") or f"{author.get('family', '')} {author.get('given', '')}".strip()


def figure_sources(ctx: Context) -> list[Node]:
    """Where the figures come from; the studies in the paper behind, where there is no room for them."""
    own = ctx.para(
        "Our own figures come from our list of treatments. The clinic keeps this list and you "
        "can ask us about it."
    )
    moved = piece(SOURCES, FIGURES) in ctx.moved(BOOKLET)
    return [own, *(stands_in_full(ctx) if moved else studies(ctx))]


def studies_in_full(ctx: Context) -> list[Node]:
    """The studies that figures are from, where the booklet has no room for them."""
    return studies(ctx) if piece(SOURCES, FIGURES) in ctx.moved(BOOKLET) else []


def studies(ctx: Context) -> list[Node]:
    """The published sources of the figures."""
    rates = [answer.rate for answer in ctx.rates.values() if answer.rate]
    told = {answer.told.source for answer in ctx.rates.values() if answer.told}
    beside = {a.beside.source for a in ctx.rates.values() if a.beside and named_beside(a)}
    ids = sorted({rate.source for rate in rates if rate.level == "published"} | told | beside)
    if not ids:
        return []
    items = (Paragraph((Run(cite(ctx.library.sources[id])),), CITED, scored=False) for id in ids)
    return [ctx.para("The other figures come from these studies."), Items(tuple(items))]
