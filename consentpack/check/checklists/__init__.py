"""How a pack stands to published checklists: item by item, with source and finding."""

from consentpack.check.checklists.item import Checklist, Finding, Held, Item, Published
from consentpack.check.checklists.report import CHECKLISTS, judged, report, summary

__all__ = ["CHECKLISTS", "Checklist", "Finding", "Held", "Item", "Published", "judged", "report", "summary"]
