"""Invented treatments in order, as the register would tell them to whoever watches."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from consentpack.rates.watching import Course, gather
from consentpack.register import SEEN, Batch, Order
from consentpack.register.course import NOT_SEEN

FAN = "needle-fan-one-entry"


def course_of(
    series: Iterable[tuple[date, bool]],
    groups: Sequence[tuple[str, ...]] = (),
    *,
    technique: str = FAN,
    outcome: str = "bruising",
    batch: int = 1000,
) -> Course:
    """Treatments of one technique that were all watched for one outcome."""
    rows = [(day.toordinal(), SEEN if seen else NOT_SEEN) for day, seen in series]
    batches = []
    for at in range(0, len(rows), batch):
        days, known = zip(*rows[at : at + batch], strict=True)
        batches.append(Batch(days, (7,) * len(days), groups[at : at + batch], (known,)))
    order = Order({7: frozenset({technique})}, {outcome: (0, 0)}, 1)
    return gather(order, batches, tuple)
