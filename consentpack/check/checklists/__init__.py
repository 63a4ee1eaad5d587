"""How a pack stands to published checklists: item by item, with source and finding."""

from consentpack.check.checklists.item import NOTES, Checklist, Finding, Held, Item, Published
from consentpack.check.checklists.report import (
    CHECKLISTS,
    TOGETHER,
    judged,
    report,
    summary,
    with_holders,
)

__all__ = [
    "CHECKLISTS",
    "NOTES",
    "TOGETHER",
    "Checklist",
    "Finding",
    "Held",
    "Item",
    "Published",
    "judged",
    "report",
    "summary",
    "with_holders",
]
