"""Printed figures: which one fits, and what is told without one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from consentpack.model import PublishedRate, Rate, Rejected, Told
from consentpack.rates.fits import Asked, misleading, unfit
from consentpack.rates.intervals import wilson
from consentpack.rates.reliability import reliable

Rates = Iterable[PublishedRate]


def published_rate(
    rates: Rates, sentence: Asked, *, techniques: tuple[str, ...], factors: tuple[str, ...]
) -> Rate | None:
    """The printed figure for an outcome that patients may see; None when there is none.

    A figure for people with one of the patient's factors goes before a figure for everybody. Of
    several that fit, whichever technique of the plan they are for, the least favourable is taken: a
    figure that flatters must not be picked. A printed figure must fit its sentence, and pass the same
    rule of reliability as the clinic's own.
    """
    mine = _of(rates, sentence, techniques, lambda rate: rate.quotable and not _why_not(rate, sentence))
    found = _least_favourable(mine, factors, harm=sentence.harm)
    return _as_rate(found) if found else None


def told(
    rates: Rates, sentence: Asked, *, techniques: tuple[str, ...], factors: tuple[str, ...]
) -> Told | None:
    """A harm that a study saw, where no printed figure may be quoted as a rate; None when there is none.

    Never a gain, and never that none was seen: a few who were lucky, told so, would flatter.
    """
    if not sentence.harm:
        return None
    found = _least_favourable(
        _of(rates, sentence, techniques, lambda rate: _tellable(rate, sentence)), factors, harm=True
    )
    return _as_told(found) if found else None


def withheld(
    rates: Rates, sentence: Asked, *, techniques: tuple[str, ...], factors: tuple[str, ...]
) -> Iterator[Rejected]:
    """The printed figures patients are not shown as a rate, each once, with the reason, for the clinician.

    Figures nobody has read in the source are named in the record's notes.
    """
    mine = _of(rates, sentence, techniques, lambda rate: rate.readable and rate.factor in ("", *factors))
    whys = ((rate, _why_not(rate, sentence)) for rate in mine)
    said = dict.fromkeys(f"{rate.source}, {_figure(rate)}: {why}" for rate, why in whys if why)
    yield from (Rejected("published", line) for line in said)


def _of(
    rates: Rates, sentence: Asked, techniques: tuple[str, ...], good: Callable[[PublishedRate], bool]
) -> list[PublishedRate]:
    """The figures of this outcome for these techniques that are good for something."""
    mine = (rate for rate in rates if rate.outcome == sentence.outcome and rate.technique in techniques)
    return [rate for rate in mine if good(rate)]


def _why_not(rate: PublishedRate, sentence: Asked) -> str:
    """Why a figure that was read in its source is no rate for patients; '' when it is one."""
    if why := unfit(rate, sentence):
        return why
    if not rate.n or rate.events is None:
        return "no count is printed that fits it"
    return reliable(rate.events, rate.n).why


def _tellable(rate: PublishedRate, sentence: Asked) -> bool:
    whole = rate.counted in ("it", "part")
    return rate.readable and whole and bool(_percent(rate)) and not misleading(rate, sentence)


def _least_favourable(rates: Rates, factors: tuple[str, ...], *, harm: bool) -> PublishedRate | None:
    rates = list(rates)
    for groups in (factors, ("",)):
        fitting = [rate for rate in rates if rate.factor in groups]
        if fitting:
            return (max if harm else min)(fitting, key=_percent)
    return None


def _percent(rate: PublishedRate) -> float:
    if rate.n and rate.events is not None:
        return 100 * rate.events / rate.n
    return rate.percent or 0.0


def _figure(rate: PublishedRate) -> str:
    """A printed figure in a few words: '5 of 30 people', '44% of keloids'."""
    if rate.n and rate.events is not None:
        return f"{rate.events:,} of {rate.n:,} {rate.unit}"
    return f"{rate.percent:g}% of {rate.unit}"


def _as_told(found: PublishedRate) -> Told:
    counted = bool(found.n) and found.events is not None
    return Told(
        unit=found.unit,
        who=found.population,
        source=found.source,
        follow_up=found.follow_up,
        watched_days=found.watched_days,
        caveat=found.caveat,
        percent=_percent(found),
        events=found.events if counted else None,
        n=found.n if counted else None,
        few=not counted or not reliable(found.events or 0, found.n or 1).ok,
    )


def _as_rate(found: PublishedRate) -> Rate:
    assert found.events is not None and found.n  # else it would not be quotable
    return Rate(
        outcome=found.outcome,
        events=found.events,
        n=found.n,
        interval=wilson(found.events, found.n),
        level="published",
        unit=found.unit,
        who=found.population,
        source=found.source,
        follow_up=found.follow_up,
        caveat=found.caveat,
        watched_days=found.watched_days,
    )
