"""What commands print with --json, as values that `json` can write."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from consentpack.manifest import counts_json, length_json, rate_answer, remark_json, score_json
from consentpack.model import Ease, RateAnswer
from consentpack.pipeline.reading import ReadFile, ReportRow
from consentpack.rates import Comparing
from consentpack.rates.standing_out import Sheet
from consentpack.rates.watching import Watched

if TYPE_CHECKING:
    from consentpack.pipeline.column_map import Proposal
    from consentpack.register import ImportResult, Place


def read_file(each: ReadFile) -> dict[str, Any]:
    """One text with its score and what an editor would mend."""
    return {
        "name": each.name,
        "title": each.document.title,
        **score_json(each.score),
        "beside_the_grade": ease(each.ease),
        "layout": [asdict(item) for item in each.layout.items],
        "length": length_json(each.length),
        "remarks": [remark_json(remark) for remark in each.remarks],
        "grade_if_mended": None if each.mended is None else round(each.mended, 2),
    }


def ease(found: Ease | None) -> dict[str, Any] | None:
    """The score beside the grade; None where there is none for the language, or too few words."""
    if found is None:
        return None
    return {
        "value": round(found.value, 2),
        "easier_than_of_100": {each.kind: each.of_100 for each in found.easier_than},
        "counted": {id: round(value, 3) for id, value in found.counted.items()},
        "numbers_a_sentence": round(found.numbers, 2),
        "longest_sentence": {
            "words": found.longest_words,
            "text": found.longest,
            "source": found.longest_source,
        },
        "rare_words": [asdict(word) for word in found.rare],
    }


def report_row(row: ReportRow) -> dict[str, Any]:
    """One module or document of the report on the library."""
    return {
        "kind": row.folder,
        "id": row.id,
        "title": row.title,
        "file": row.file,
        **score_json(row.score),
        "length": length_json(row.length),
        "over": list(row.over),
        "approved_grade": row.approved_grade,
        "trend": None if row.trend is None else round(row.trend, 2),
        "beside_the_grade": ease(row.ease),
        "remarks": [remark_json(remark) for remark in row.remarks],
    }


def rates(answers: Iterable[RateAnswer]) -> list[dict[str, Any]]:
    """What is known of each outcome of a plan."""
    return [rate_answer(answer) for answer in answers]


def watched(found: Sheet) -> dict[str, Any]:
    """Signals over time, what has no baseline, who stands apart, and what chance alone would bring."""
    luck, by_chance = found.luck, found.false_signals
    assert found.rules and by_chance  # or `watch_over_time` has raised
    return {
        "limits": found.rules.limits,
        "adjusted_for": list(found.rules.adjust_for),
        "watched": [_over_time(each) for each in found.watched],
        "no_baseline": [vars(each) for each in found.without],
        "apart": [
            {"technique": f.technique, "outcome": f.outcome, "by": f.grouping, "target": f.target}
            | {"group": p.group, "events": p.events, "n": p.n, "state": p.state, "expected": p.expected}
            for f, p in found.above()
        ],
        "by_chance": {
            "groups": luck.groups,
            "groups_above": round(luck.expected, 4),
            "any_group_above": round(luck.chance, 4),
            "signals": round(by_chance.expected, 4),
            "any_signal": round(by_chance.chance, 4),
        },
    }


def _over_time(each: Watched) -> dict[str, Any]:
    return {
        "technique": each.technique,
        "outcome": each.outcome,
        "baseline": {"events": each.events, "n": each.n},
        "treatments_since": each.since,
        "signals": [vars(s) | {"day": str(s.day), "since": str(s.since)} for s in each.signals],
    }


def compared(found: Comparing) -> dict[str, Any]:
    """Both counts and what they give; nothing is made up where one of the two was never watched."""
    difference = found.difference() if found.watched else None
    ratio = found.ratio() if found.watched else None
    return {
        "first": counts_json(found.first_counts),
        "second": counts_json(found.second_counts),
        "difference": difference.value if difference else None,
        "difference_95": [difference.low, difference.high] if difference else None,
        "ratio": ratio[0] if ratio else None,
        "ratio_95": [ratio[1].low, ratio[1].high] if ratio else None,
        "verdict": found.verdict() if found.watched else None,
        "quotable": found.quotable,
    }


def imported(result: ImportResult, aside: Path | None) -> dict[str, Any]:
    """What one import did, and what it read otherwise than it was typed."""
    return {
        "file": result.file,
        **_place(result.place),
        "dry_run": result.dry_run,
        "read": result.read,
        "added": result.added,
        "updated": result.updated,
        "unchanged": result.unchanged,
        "set_aside": result.rows_set_aside,
        "set_aside_file": str(aside) if aside else None,
        "set_aside_by_reason": [asdict(group) for group in result.aside_groups],
        "left_out": [asdict(each) for each in result.left_out],
        "repairs": [asdict(each) for each in result.repairs],
        "more_repairs": result.more_repairs,
        "doubts": [{"row": d.row, "column": d.column, "what": d.what} for d in result.doubts],
        "kept_older": result.kept_older,
        "not_in_file": result.not_in_file,
        "ignored_columns": list(result.ignored_columns),
        "differs": [vars(each) for each in result.differs],
        "overwritten": result.overwritten,
        "blanked": result.blanked,
        "unread": list(result.unread),
        "last_seen_read": result.last_seen_read,
        "without_last_seen": result.without_last_seen,
    }


def proposal(found: Proposal) -> dict[str, Any]:
    """What a spreadsheet seems to hold."""
    return {
        **_place(found.place),
        "columns": dict(found.columns),
        "identities": list(found.identities),
        "words": [asdict(word) for word in found.words],
    }


def _place(place: Place) -> dict[str, Any]:
    rows = list(place.header_rows)
    return {
        "sheet": place.sheet or None,
        "header_rows": rows,
        "other_sheets": list(place.others),
        "not_as_kept": list(place.otherwise),
    }
