"""Figures, dates and times in plain words, in the patient's language.

The rules are those of the risk communication literature (NICE NG197; IPDAS, Trevena 2013): whole
numbers in one denominator, both frames, who and over what time, an honest range, never a frequency
word alone, never "1 in X", and zero seen is never "no risk".
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from babel.dates import format_date
from babel.lists import format_list
from babel.numbers import format_decimal

from consentpack.catalogues import N_, Catalogue
from consentpack.model import Over, Rate, Seen, Told, Worse
from consentpack.signs import signs_of

OUT_OF = 100
"""The one denominator of a document."""
RARE_OUT_OF = (10_000, 1_000)
"""For what is under 1 in 100, said beside it; the larger one only where the data can carry it."""


@dataclass(frozen=True)
class Natural:
    """A proportion as whole numbers out of a denominator, with what has it and what has not."""

    number: int
    rest: int
    out_of: int
    below: bool = False
    """More than none, but it rounds to none: 'fewer than 1'."""
    above: bool = False
    """Fewer than all, but it rounds to all."""


def natural(events: int, n: int, out_of: int = OUT_OF) -> Natural:
    """events / n as a natural frequency, rounded half up; both frames add up to `out_of`."""
    number = (2 * events * out_of + n) // (2 * n)
    below, above = events > 0 and number == 0, events < n and number == out_of
    if below:
        number = 1
    elif above:
        number = out_of - 1
    return Natural(number, out_of - number, out_of, below, above)


def range_of(rate: Rate | Seen, out_of: int = OUT_OF) -> tuple[int, int]:
    """The interval of a rate in whole numbers, rounded outwards so that it never looks narrower."""
    # a float a hair above a whole number must not be rounded up to the next one
    low = math.floor(round(rate.interval.low * out_of, 9))
    high = math.ceil(round(rate.interval.high * out_of, 9))
    return low, high


TELLS_NOTHING = 50
"""Of 100: a range wider than this leaves open whether most have it or few do. Our own reasoning."""


def cannot_tell(seen: Seen) -> bool:
    """Whether own counts are so few, or so many were lost, that their range says nothing to a patient.

    The clinician's record has the range all the same.
    """
    low, high = range_of(seen)
    return high - low > TELLS_NOTHING


def rare_out_of(n: int) -> int:
    """The largest denominator for which n observations can carry a whole number; 0 when none can."""
    return next((out_of for out_of in RARE_OUT_OF if 2 * n >= out_of), 0)


BANDS = ((10, "very common"), (100, "common"), (1_000, "uncommon"), (10_000, "rare"))
"""A band holds rates of at least 1 in its number: European Commission, guideline on the summary of
product characteristics (2009), section 4.8. The lower bound belongs to the band."""


def frequency_band(events: int, n: int) -> str:
    """The EU frequency band of a rate, for the record only: patients over-read these words.

    Zero events give '', because a band would be a claim about what has never been seen.
    """
    if not events:
        return ""
    return next((word for one_in, word in BANDS if events * one_in >= n), "very rare")


UNITS = ("treatments", "people", "procedures", "visits")
"""What figures of any field may count; each has its words in every language."""


def in_sentence(words: str) -> str:
    """A title or figure inside a sentence: without its capital letter."""
    return words[:1].lower() + words[1:]


@dataclass(frozen=True)
class Words:
    """Wording in one language."""

    catalogue: Catalogue
    units: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    """What else the field's figures count -> its phrases for one and for many."""

    def number(self, value: int) -> str:
        return format_decimal(value, locale=self.catalogue.locale)

    def day(self, value: date) -> str:
        return format_date(value, format="long", locale=self.catalogue.locale)

    def listed(self, items: list[str]) -> str:
        return format_list(items, locale=self.catalogue.locale)

    def either(self, items: list[str]) -> str:
        """Several things of which one is meant: 'a bruise, a lump or a fever'."""
        return format_list(items, style="or", locale=self.catalogue.locale)

    def span(self, number: int, unit: str) -> str:
        """A number with its unit of time: '2 days'."""
        phrases = self.catalogue.phrases
        return {
            "minutes": lambda: phrases("{number} minute", "{number} minutes", number),
            "hours": lambda: phrases("{number} hour", "{number} hours", number),
            "days": lambda: phrases("{number} day", "{number} days", number),
            "weeks": lambda: phrases("{number} week", "{number} weeks", number),
            "months": lambda: phrases("{number} month", "{number} months", number),
            "years": lambda: phrases("{number} year", "{number} years", number),
        }[unit]()

    def watching(self, days: int) -> str:
        """A watching time in the words a person would use: 14 -> '2 weeks', 365 -> '1 year'."""
        if days % 365 == 0:
            return self.span(days // 365, "years")
        if days >= 60:
            return self.span(round(days / 30), "months")
        if days >= 14 and days % 7 == 0:
            return self.span(days // 7, "weeks")
        return self.span(days, "days")

    def over(self, days: int, over: Over) -> str:
        """How long treatments were watched, where each was for its watching time, at least, or at most."""
        time = self.watching(days)
        if over == "at least":
            return self.catalogue.phrase("at least {time}", time=time)
        return self.catalogue.phrase("up to {time}", time=time) if over == "up to" else time

    def counted(self, number: int, unit: str = "treatments") -> str:
        """A number with what is counted: '100 treatments'.

        One message for each unit, because languages bend the noun by the number before it. A unit of the
        clinic's own is said as it stands.
        """
        phrases = self.catalogue.phrases
        if unit in self.units:
            return phrases(*self.units[unit], number)
        if unit not in UNITS:
            return f"{self.number(number)} {self.catalogue.block(unit).text}"
        return {
            "treatments": lambda: phrases("{number} treatment", "{number} treatments", number),
            "people": lambda: phrases("{number} person", "{number} people", number),
            "procedures": lambda: phrases("{number} operation", "{number} operations", number),
            "visits": lambda: phrases("{number} visit", "{number} visits", number),
        }[unit]()

    def sentences(self, *parts: str) -> str:
        """Sentences one after the other; empty ones are left out."""
        return signs_of(self.catalogue.language).gap.join(filter(None, parts))

    def series(self, items: Iterable[str]) -> str:
        """Names in a row that may hold commas themselves: 'a; b'."""
        return signs_of(self.catalogue.language).semicolon.join(items)

    @property
    def colon(self) -> str:
        """What stands between a label and what it is the label of."""
        return signs_of(self.catalogue.language).colon

    def sentence(self, words: str) -> str:
        """A figure as a sentence of its own, with a full stop."""
        return words + signs_of(self.catalogue.language).stop

    def headline(self, rate: Rate) -> str:
        """The figure itself: 'About 12 in every 100 treatments'."""
        say, study = self.catalogue.phrase, rate.level == "published"
        if rate.events == 0:
            message = N_("None in {total}") if study else N_("None in {total} so far")
            return say(message, total=self.counted(rate.n, rate.unit))
        if rate.events == rate.n:
            message = N_("All of {total}") if study else N_("All of {total} so far")
            return say(message, total=self.counted(rate.n, rate.unit))
        shown = natural(*rate.ratio)
        values = {"number": self.number(shown.number), "total": self.counted(OUT_OF, rate.unit)}
        if shown.above:
            return say("More than {number} in every {total}", **values)
        if not shown.below:
            return say("About {number} in every {total}", **values)
        fewer = say("Fewer than {number} in every {total}", **values)
        rare = self._rare(rate)
        return say("{fewer} ({rare})", fewer=fewer, rare=rare) if rare else fewer

    def _rare(self, rate: Rate) -> str:
        """A figure under 1 in 100 once more in a denominator that fits it; '' when none does."""
        out_of = rare_out_of(rate.tested[1])
        if not out_of:
            return ""
        shown = natural(*rate.ratio, out_of)
        values = {"number": self.number(shown.number), "of": self.number(out_of)}
        say = self.catalogue.phrase
        if shown.below:
            return say("fewer than {number} in every {of}", **values)
        return say("about {number} in every {of}", **values)

    def other_frame(self, rate: Rate) -> str:
        """The same figure from the other side: 'About 88 in every 100 did not have it.'"""
        phrases, shown, of = self.catalogue.phrases, natural(*rate.ratio), self.number(OUT_OF)
        if rate.events in (0, rate.n):
            return ""
        # the verb follows the number in many languages, so these too have plural forms
        if shown.below:
            return phrases(
                "More than {number} in every {of} did not have it.",
                "More than {number} in every {of} did not have it.",
                shown.rest,
                of=of,
            )
        if shown.above:
            return phrases(
                "Fewer than {number} in every {of} did not have it.",
                "Fewer than {number} in every {of} did not have it.",
                shown.rest,
                of=of,
            )
        return phrases(
            "About {number} in every {of} did not have it.",
            "About {number} in every {of} did not have it.",
            shown.rest,
            of=of,
        )

    def honest_range(self, rate: Rate) -> str:
        """How far the true figure may lie from the one shown, in no words of a hard limit."""
        say = self.catalogue.phrase
        low, high = range_of(rate)
        values = {"low": self.number(low), "high": self.number(high), "of": self.number(OUT_OF)}
        if rate.events == 0:
            return say("The true number could be up to about {high} in every {of}.", **values)
        if rate.events == rate.n:
            return say("The true number could be as low as {low} in every {of}.", **values)
        if high == 1:
            return say("The true number is likely to be fewer than 1 in every {of}.", **values)
        return self._in_many_more(low, high, study=rate.level == "published")

    def _in_many_more(self, low: int, high: int, *, study: bool = False) -> str:
        """Where a figure would most likely be if more were counted: "from 6 to 20" was read as if it could
        be nothing else."""
        say = self.catalogue.phrase
        low_said, high_said, of = (self.number(value) for value in (low, high, OUT_OF))
        if study:
            few = N_(
                "If many more were counted, it would most likely be from fewer than 1 to {high} "
                "in every {of}."
            )
            some = N_(
                "If many more were counted, it would most likely be from {low} to {high} in every {of}."
            )
        else:
            few = N_(
                "If we counted many more, it would most likely be from fewer than 1 to {high} in every {of}."
            )
            some = N_("If we counted many more, it would most likely be from {low} to {high} in every {of}.")
        return say(some if low else few, low=low_said, high=high_said, of=of)

    def seen(self, seen: Seen) -> str:
        """Own counts as they are: 'We saw it in 8 of 234 treatments'."""
        say, total = self.catalogue.phrase, self.counted(seen.n)
        if seen.events == 0:
            return say("None in {total} so far", total=total)
        if seen.events == seen.n:
            return say("All of {total} so far", total=total)
        return say("We saw it in {number} of {total}", number=self.number(seen.events), total=total)

    def around_seen(self, seen: Seen) -> str:
        """How many nobody looked at, and where the true number most likely lies; of too few, that nobody can
        tell: "from 1 to 78 in every 100" frightens, and says nothing."""
        if cannot_tell(seen):
            few = self.catalogue.phrase("That is too few to be sure.")
            return self.sentences(few, self.unknown(seen.unknown), self._far_from(seen))
        return self.sentences(self.unknown(seen.unknown), self._if_many_more(seen))

    def _far_from(self, seen: Seen) -> str:
        """That the true number may be another; where none or all had it, the count has said so."""
        if seen.events in (0, seen.n):
            return ""
        return self.catalogue.phrase("The true number could be much higher or lower.")

    def _if_many_more(self, seen: Seen) -> str:
        say = self.catalogue.phrase
        low, high = range_of(seen)
        values = {"low": self.number(low), "high": self.number(high), "of": self.number(OUT_OF)}
        if seen.events == 0 and not low:
            return say("The true number could be up to about {high} in every {of}.", **values)
        if seen.events == seen.n and high == OUT_OF:
            return say("The true number could be as low as {low} in every {of}.", **values)
        return self._in_many_more(low, high)

    def told(self, told: Told) -> str:
        """A harm a study saw: how many, where it says out of how many, and never as a rate."""
        if told.events is None or told.n is None:
            return self._without_count(told)
        say = self.catalogue.phrase
        values = {"number": self.number(told.events), "total": self.counted(told.n, told.unit)}
        few = say("That is too few to be sure.") if told.few else ""
        return self.sentences(say("A study saw it in {number} of {total}.", **values), few)

    def _without_count(self, told: Told) -> str:
        shown, say = natural(round(told.percent * 1000), OUT_OF * 1000), self.catalogue.phrase
        values = {"number": self.number(shown.number), "total": self.counted(OUT_OF, told.unit)}
        message = N_("A study saw it in about {number} in every {total}.")
        if shown.below:
            message = N_("A study saw it in fewer than {number} in every {total}.")
        open_ = say("It does not say how many, so the true number may not be near that.")
        return self.sentences(say(message, **values), open_)

    def watched_in_study(self, days: int | None) -> str:
        """Over what time a study looked: a short one may have missed what comes late."""
        if not days:
            no_days = N_("The study does not say for how long."), N_("They were watched on the day.")
            return self.catalogue.phrase(no_days[days is not None])
        return self.catalogue.phrase("They were watched for {time}.", time=self.watching(days))

    def unknown(self, number: int) -> str:
        """How many treatments nobody looked at; '' for none."""
        if not number:
            return ""
        return self.catalogue.phrases(
            "We do not know about {number} more treatment.",
            "We do not know about {number} more treatments.",
            number,
        )

    def so_far(self, worse: Worse, *, harm: bool) -> str:
        """A closer group that is worse than the figure that is printed: its count, and that it is worse."""
        say, counts = self.catalogue.phrase, worse.counts
        values = {"number": self.number(counts.events), "total": self.counted(counts.watched)}
        message = N_("We saw it in {number} of {total} here like yours. That is too few to be sure.")
        if worse.level == "lead-technique":
            message = N_(
                "In our own clinic we saw it in {number} of {total} so far. That is too few to be sure."
            )
        more, less = (
            N_("But it is more than in the others we counted."),
            N_("But it is less than in the others we counted."),
        )
        if worse.than == "published":
            more = N_("But it is more than the study found.")
            less = N_("But it is less than the study found.")
        if not worse.found:
            return self.sentences(say(message, **values), self.unknown(worse.unknown))
        compared = say(more if harm else less)
        return self.sentences(say(message, **values), self.unknown(worse.unknown), compared)


def percent(rate: Rate) -> str:
    """A percentage for the record, with no more digits than the interval supports."""
    width = 100 * rate.interval.width
    digits = max(0, math.ceil(-math.log10(width))) if width else 0
    shown = f"{100 * rate.proportion:.{digits}f}"
    least = f"{10**-digits:.{digits}f}"
    if rate.events and not float(shown):
        return f"<{least}%"  # seen, so never "0%"
    if rate.events < rate.n and float(shown) == 100:
        return f">{100 - 10**-digits:.{digits}f}%"
    return f"{shown}%"


def percent_range(rate: Rate) -> str:
    """The interval of a rate for the record, with the digits of `percent`."""
    width = 100 * rate.interval.width
    digits = max(0, math.ceil(-math.log10(width))) if width else 0
    return f"{100 * rate.interval.low:.{digits}f} to {100 * rate.interval.high:.{digits}f}%"
