"""What patients read of a figure, beside the counts it is made of: one sample for each way of saying it.

All counts are invented. The sentences are made by the program, so that page and forms cannot differ.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from consentpack.assemble import Inputs, make_context
from consentpack.assemble.context import Context
from consentpack.assemble.figures import figure_cell
from consentpack.assemble.short_figures import figure_in_short, own_counts
from consentpack.catalogues import load
from consentpack.match import match
from consentpack.model import (
    Clinic,
    Counts,
    Curve,
    IfNeeded,
    Level,
    Plan,
    Rate,
    RateAnswer,
    ReadingRules,
    Seen,
    Told,
    Worse,
)
from consentpack.pipeline.place import library_of
from consentpack.rates.counted import spread
from consentpack.rates.intervals import wilson
from consentpack.rates.over_time import estimate
from consentpack.tree import Cell, Paragraph, Pictograph, text_of

HARM, GAIN, TECHNIQUE, STEP = "bruising", "less-pulling", "blunt-cannula", "filler-after-release"
FIRST, LAST = date(2026, 1, 5), date(2026, 6, 1)
PLAN = Plan(
    reference="INV-1", prepared=date(2026, 11, 20), language="en-GB", planned=(TECHNIQUE,), site="left cheek",
    region="cheek", strata={"skin_type": "III"}, sessions=1, condition="invented", reason="invented",
    clinician="invented", clinician_role="invented",
)  # fmt: skip
CLINIC = Clinic(
    name="Invented Clinic", address=("1 Invented Road",), phone="020 7946 0101",
    phone_out_of_hours="020 7946 0199", hours="9 to 5", emergency_number="999", language="en-GB",
    reading=ReadingRules(), window_months=36, care={}, audit_columns={}, audit_words={}, list_covers=(),
    date_order="year-first", register_url="", invented=True, site_groups={}, stratum_groups={},
)  # fmt: skip


def own(events: int, n: int, level: Level = "closest", id: str = HARM) -> Rate:
    interval, counts = wilson(events, n), Counts(events, n, n, n)
    return Rate(id, events, n, interval, level, "treatments", "", "own audit", FIRST, LAST, counts=counts)


def by_days(n: int, *steps: tuple[int, int, int]) -> Rate:
    """A figure from days: (day, in which it was seen, not watched further) for each day."""
    risk = estimate(Curve(tuple((day, seen, 0, left) for day, seen, left in steps)))
    assert risk and risk.n == n
    rate = replace(own(risk.events, n), interval=risk.interval, over="up to", risk=risk)
    assert rate.counts
    return rate


def study(events: int, n: int, days: int | None = 14) -> Rate:
    interval = wilson(events, n)
    return Rate(HARM, events, n, interval, "published", "people", "people", "invented", watched_days=days)


def seen(events: int, n: int, lost: int = 0, level: Level = "closest") -> Seen:
    counts = Counts(events, n, n + lost, n)
    return Seen(HARM, level, counts, spread(counts), "", FIRST, LAST, unknown=lost)


def told(percent: float, events: int | None = None, n: int | None = None, days: int | None = 0) -> Told:
    return Told("people", "people", "invented", "", days, "", percent, events, n)


def answer(
    rate: Rate | None = None, id: str = HARM, technique: str = TECHNIQUE, **more: object
) -> RateAnswer:
    return replace(RateAnswer(id, technique, rate), **more)  # type: ignore[arg-type]


def closer(events: int, n: int, level: Level = "closest", *, than: Level = "same-techniques", **more: object):  # type: ignore[no-untyped-def]
    made = Worse(level, Counts(events, n, n, n), than, (40, 180), True)
    return (replace(made, **more),)  # type: ignore[arg-type]


SAMPLES: dict[str, RateAnswer] = {
    "12 of 100": answer(own(12, 100)),
    "48 of 192; compared with the same techniques anywhere": answer(own(48, 192, "same-techniques")),
    "30 of 300; by the leading technique": answer(own(30, 300, "lead-technique")),
    "30 of 300; by a technique that is not the first": answer(own(30, 300, "lead-technique"), technique=STEP),
    "30 of 300; by several techniques": answer(own(30, 300, "lead-technique"), steps=(TECHNIQUE, STEP)),
    "19 of 54; no day is known": answer(replace(own(19, 54), over="at least")),
    "100 watched unequally: 10 seen on day 3, 40 left on day 5, 10 seen on day 10": answer(
        by_days(100, (3, 10, 0), (5, 0, 40), (10, 10, 0), (14, 0, 40))
    ),
    "30 of 100; no last-seen day is known": answer(replace(own(30, 100), over="some time")),
    "1 of 300": answer(own(1, 300)),
    "1 of 600": answer(own(1, 600)),
    "1 of 20,000": answer(own(1, 20_000)),
    "1 of 30,000": answer(own(1, 30_000)),
    "599 of 600": answer(own(599, 600)),
    "0 of 86": answer(own(0, 86)),
    "0 of 400; pooled, because none was seen closer": answer(own(0, 400, "lead-technique"), pooled=True),
    "0 of 86; a study beside it, 18 of 2209": answer(own(0, 86), beside=study(18, 2209)),
    "86 of 86": answer(own(86, 86)),
    "18 of 2209 people in a study, 14 days": answer(study(18, 2209)),
    "18 of 2209 people in a study, no time given": answer(study(18, 2209, None)),
    "30 of 100; with a step on the day 64 of 100": answer(
        own(30, 100), if_needed=(IfNeeded(STEP, own(64, 100), "higher"),)
    ),
    "counts 8 of 234": answer(seen=seen(8, 234)),
    "counts 3 of 40; seen in those not watched to the end": answer(
        seen=replace(seen(3, 40), over="some time")
    ),
    "counts 1 of 300": answer(seen=seen(1, 300)),
    "counts 20 of 100, lost 40": answer(seen=seen(20, 100, 40)),
    "counts 0 of 12": answer(seen=seen(0, 12)),
    "counts 5 of 5": answer(seen=seen(5, 5)),
    "counts 17 of 68, lost 104": answer(seen=seen(17, 68, 104)),
    "counts 0 of 3, lost 7": answer(seen=seen(0, 3, 7)),
    "counts 1 of 4": answer(seen=seen(1, 4)),
    "counts 0 of 2": answer(seen=seen(0, 2)),
    "counts 2 of 120; pooled": answer(seen=seen(2, 120, level="lead-technique"), pooled=True),
    "48 of 192; closer 8 of 12": answer(own(48, 192, "same-techniques"), worse=closer(8, 12)),
    "48 of 192; closer 8 of 12, lost 8": answer(
        own(48, 192, "same-techniques"), worse=closer(8, 12, unknown=8)
    ),
    "48 of 192; closer 4 of 12, told with its part": answer(
        own(48, 192, "same-techniques"), worse=closer(4, 12, found=False)
    ),
    "a gain, 143 of 192; closer 3 of 12": answer(
        own(143, 192, "same-techniques", GAIN), GAIN, worse=closer(3, 12)
    ),
    "18 of 2209 people in a study; closer 2 of 20": answer(
        study(18, 2209), worse=closer(2, 20, "lead-technique", than="published")
    ),
    "a gain, 143 of 192; closer 3 of 12, against a study": answer(
        own(143, 192, "same-techniques", GAIN), GAIN, worse=closer(3, 12, "lead-technique", than="published")
    ),
    "told 5 of 30 people in a study": answer(told=told(100 * 5 / 30, 5, 30)),
    "told 44% of people in a study": answer(told=told(44)),
    "told 0.2% of people in a study": answer(told=told(0.2)),
    "no number; counted in its whole": answer(counted_in="bleeding"),
    "no number; at least its part": answer(at_least="blood-pocket"),
    "nothing counted": answer(),
}  # fmt: skip


SOURCES: dict[str, tuple[RateAnswer, ...]] = {
    "12 of 100 in 14 days and 143 of 192 in 180": (
        answer(own(12, 100)),
        answer(own(143, 192, id=GAIN), GAIN),
    ),
    "19 of 54 in 14 days, no day is known, and 143 of 192 in 180": (
        answer(replace(own(19, 54), over="at least")),
        answer(own(143, 192, id=GAIN), GAIN),
    ),
    "12 of 100 in 14 days": (answer(own(12, 100)),),
    "30 of 100, no last-seen day is known": (answer(replace(own(30, 100), over="some time")),),
}
"""What stands once below all figures of a form."""


def context(*found: RateAnswer) -> Context:
    library = library_of(None)
    rates = {each.outcome: each for each in found}
    catalogue = load("en-GB", (), where="docs")
    return make_context(Inputs(PLAN, library, CLINIC, match(PLAN, library), rates, catalogue))


def cell_text(cell: Cell) -> str:
    """What a patient reads of an answer, without the picture."""
    return " ".join(text_of(each.runs) for each in cell.content if not isinstance(each, Pictograph))


def table() -> str:
    """Counts, what is read of them in whole sentences, and in short, as Markdown."""
    rows = []
    for counts, found in SAMPLES.items():
        ctx = context(found)
        both = figure_cell(ctx, found.outcome), figure_in_short(ctx, found.outcome)
        rows.append(f"| {counts} | {' | '.join(map(cell_text, both))} |\n")
    once = [f"- {counts}: {source_line(found)}\n" for counts, found in SOURCES.items()]
    return (
        f"| counts | what patients read | in short |\n|---|---|---|\n{''.join(rows)}\n"
        f"Once below all figures of the form that are the clinic's own:\n\n{''.join(once)}"
    )


def source_line(found: tuple[RateAnswer, ...]) -> str:
    (node,) = own_counts(context(*found), [each.outcome for each in found])
    assert isinstance(node, Paragraph)
    return text_of(node.runs)
