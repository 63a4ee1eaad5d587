"""How packs that were given stand, in a line for people of the clinic."""

from __future__ import annotations

from typing import TYPE_CHECKING

from consentpack.ledger import Entry, Standing

if TYPE_CHECKING:  # it brings all that makes a pack, and a story is told in half the time without
    from consentpack.pipeline.rebuilding import Rebuilt


def standing_words(standing: Standing) -> str:
    """'HS-P-101, version 1, given on 2026-11-20 by Dr Hazel (paper, en-GB, entry 1); signed on …'."""
    given = standing.given
    said = (
        f"{given.reference}, version {given.version}, given on {given.day} by {given.by} "
        f"({given.more.get('to', '')}, {given.more.get('language', '')}, entry {given.number})"
    )
    later = "; ".join(entry_words(each) for each in standing.later)
    newer = f"; superseded by version {standing.superseded_by}" if standing.superseded_by else ""
    return f"{said}{'; ' if later else ''}{later}{newer}"


def again_words(rebuilt: Rebuilt) -> str:
    """What came of making a given pack once more, as a sentence."""
    if rebuilt.failed:
        return f"It could not be made once more: {rebuilt.failed}"
    if rebuilt.figures:
        return f"Made once more, these figures come out differently: {', '.join(rebuilt.figures)}."
    if rebuilt.other:
        files = ", ".join(rebuilt.other)
        why = rebuilt.newer or "The program is the same: something it was made from is not."
        return f"Made once more, it has the same figures; set differently: {files}. {why}"
    return "Made once more from what was kept, and from the audit as it stood, it is the same in every byte."


def entry_words(entry: Entry) -> str:
    """'signed on 2026-11-24 by Dr A. Hazel (entry 2)'."""
    techniques = ", ".join(entry.more.get("techniques", ()))
    what = f"{entry.kind} ({techniques})" if techniques else entry.kind
    return f"{what} on {entry.day} by {entry.by} (entry {entry.number})"
