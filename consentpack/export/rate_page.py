"""The rate sheet as one page that needs nothing else: what stands out first, then all by technique.

It works without its script, which adds finding by words; it can be read on a telephone, without colour, and
printed.
"""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable, Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

from consentpack.export import funnel_plot
from consentpack.export.cusum_plot import cusum_svg
from consentpack.export.rate_dots import CEILINGS, ceiling_of, dots, percents
from consentpack.rates.funnel import ALARM, ALERT, FEWEST, Place, limits
from consentpack.rates.needed import needed
from consentpack.rates.standing_out import Key, Sheet
from consentpack.rates.survey import Funnel, Line
from consentpack.rates.watching import Watched

Titles = Callable[[str], str]
"""Gives the name a person reads for a technique or outcome id."""
View = dict[str, Any]
"""What the template is filled with. Drawings are put in as they are; every name in them is escaped."""

_PLACES = {"operator": "Operators", "site": "Places"}
_ALL_LISTED = 40
"""Lines that are listed at the head of the page; with more, nobody would read the first."""
_FUNNEL_NOTE = (
    f"Operators and places: no ranking. A group of under {FEWEST} is not placed. Where a group stands goes "
    "by its exact chance: ● inside the limits, ▲ above and ▼ below them, filled beyond the 99.8% limits "
    "(dotted), hollow beyond the 95% ones (dashed). The limits are drawn between whole numbers of "
    "treatments, so a mark just past one may still be inside."
)


def as_html(sheet: Sheet, title: Titles, *, heading: str, note: str) -> str:
    """The page. `heading` and `note` are the clinic's, and are shown as they are typed."""
    style, script = _file("rate_page.css"), _file("rate_page.js")
    return _rendered(sheet, title, heading, note, style=style, script=script)


def as_page(sheet: Sheet, title: Titles, *, heading: str, note: str) -> tuple[str, str]:
    """The page without its script, and the Content-Security-Policy under which a server may show it."""
    style = _file("rate_page.css")
    return _rendered(sheet, title, heading, note, style=style, script=""), f"{_policy(style, '')}; sandbox"


def standing_first(sheet: Sheet, title: Titles) -> View:
    """What stands out, as the page begins with it."""
    return _Page(sheet, title).first()


def _rendered(sheet: Sheet, title: Titles, heading: str, note: str, *, style: str, script: str) -> str:
    import jinja2  # noqa: PLC0415

    environment = jinja2.Environment(
        autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=jinja2.StrictUndefined
    )
    page = _Page(sheet, title)
    shown = [view for view in map(page.technique, page.techniques) if view["blocks"] or view["groups"]]
    return (
        environment.from_string(_file("rate_page.html.j2")).render(
            heading=heading,
            note=note,
            policy=_policy(style, script),
            style=style,
            script=script,
            first=page.first(),
            techniques=shown,
            empty=[title(id) for id in page.techniques if _at(id) not in {view["at"] for view in shown}],
            funnel_note=_FUNNEL_NOTE,
        )
        + "\n"
    )


def _file(name: str) -> str:
    return (Path(__file__).parent / name).read_text(encoding="utf-8")


def _policy(style: str, script: str) -> str:
    """What the page may do: nothing but its own style and script, also where a name were to break out."""
    allowed = [f"{kind}-src '{_hash(text)}'" for kind, text in (("style", style), ("script", script)) if text]
    return "; ".join(("default-src 'none'", *allowed))


def _hash(text: str) -> str:
    return f"sha256-{base64.b64encode(sha256(text.encode()).digest()).decode()}"


def _at(technique: str, outcome: str = "", kind: str = "") -> str:
    """Where on the page something stands."""
    return "--".join(filter(None, (technique, outcome, kind)))


class _Page:
    """The views of one sheet."""

    def __init__(self, sheet: Sheet, title: Titles):
        self.sheet, self.title = sheet, title
        self.out = sheet.standing_out()
        self.techniques = list(dict.fromkeys(line.technique for line in sheet.lines))

    def _name(self, technique: str, outcome: str) -> str:
        return f"{self.title(technique)}: {self.title(outcome)}"

    # --- what stands out ----------------------------------------------------------------------

    def first(self) -> View:
        items = [*self._signals(), *self._groups(self.sheet.above()), *self._worse()]
        less = list(self._groups(self.sheet.below()))
        return {
            "listed": items[:_ALL_LISTED],
            "more": max(0, len(items) - _ALL_LISTED),
            "less": less[:_ALL_LISTED],
            "chance": list(self._chance()),
        }

    def _signals(self) -> Iterator[View]:
        for each, signal in self.sheet.signals():
            more = f" ({len(each.signals)} times in all)" if len(each.signals) > 1 else ""
            said = (
                f", over time: crossed its limit on {signal.day}{more}. {signal.events} seen in "
                f"{signal.treatments} treatments since {signal.since}, about {signal.expected:.1f} expected."
            )
            drawing = cusum_svg(each.chart, self._name(each.technique, each.outcome))
            yield self._item((each.technique, each.outcome, "time"), said, drawing)

    def _groups(self, found: Iterable[tuple[Funnel, Place]]) -> Iterator[View]:
        for funnel, place in found:
            who = "operator" if funnel.grouping == "operator" else "place"
            around = f"{funnel.target:.1%} in all"
            if place.expected is not None:
                around = f"{place.expected:.1f} expected of such patients"
            said = f", {who} {place.group}: {place.events} of {place.n}, {place.state} limits ({around})."
            drawing = funnel_plot.funnel_svg(funnel, self._by(funnel))
            yield self._item((funnel.technique, funnel.outcome, funnel.grouping), said, drawing)

    def _worse(self) -> Iterator[View]:
        for line in self.sheet.worse():
            assert line.interval is not None and line.published is not None
            own, study = line.counts, line.published
            said = (
                f": own {own.events} of {own.watched} is {line.verdict} than published, "
                f"{study.events} of {study.n}."
            )
            drawing = dots(line, ceiling_of(line))
            yield self._item((line.technique, line.outcome, "figure"), said, drawing)

    def _item(self, key: Key, said: str, drawing: str) -> View:
        return {"at": _at(*key), "name": self._name(*key[:2]), "said": said, "drawing": drawing}

    def _by(self, funnel: Funnel) -> str:
        return f"{self._name(funnel.technique, funnel.outcome)}, by {funnel.grouping}"

    def _chance(self) -> Iterator[str]:
        """How much was looked at, and what luck alone would bring."""
        sheet, luck, false = self.sheet, self.sheet.luck, self.sheet.false_signals
        yield f"{sum(line.interval is not None for line in sheet.lines)} figures were looked at."
        if luck.groups:
            yield (
                f"{luck.groups} operators and places, outcome by outcome: if all were alike, one or more "
                f"would be above the {100 * sheet.share:g}% limits by luck alone with a chance of up to "
                f"{luck.said}."
            )
        if false is None:
            yield "Nothing is watched over time: clinic.toml has no table [watch]."
        elif sheet.watched:
            yield (
                f"{len(sheet.watched)} harms over time: if nothing had changed, about {false.expected:.1f} "
                f"crossings of a limit; one or more with a chance of up to {false.said}. "
                f"{len(sheet.without)} have no baseline to watch them by."
            )

    # --- one technique ------------------------------------------------------------------------

    def technique(self, id: str) -> View:
        lines = [line for line in self.sheet.lines if line.technique == id]
        figures = [line for line in lines if line.interval]
        flags = sum(key[0] == id for key in self.out)
        thin = sum(not line.quotable for line in figures)
        return {
            "at": _at(id),
            "title": self.title(id),
            "summary": f"{len(figures)} figures" + (f", {thin} too thin to quote" if thin else ""),
            "flags": f"{flags} {'stands' if flags == 1 else 'stand'} out" if flags else "",
            "blocks": list(self._blocks(figures)),
            "groups": list(self._over_time(id)) + list(self._side_by_side(id)),
            "unseen": [self.title(line.outcome) for line in lines if not line.interval],
        }

    def _blocks(self, lines: list[Line]) -> Iterator[View]:
        """Harms, then gains, each by the scale that fits."""
        for kind, harm in (("Harms", True), ("Hoped for", False)):
            for ceiling in CEILINGS:
                mine = [
                    line
                    for line in lines
                    if (line.outcome in self.sheet.harms) == harm and ceiling_of(line) == ceiling
                ]
                if mine:
                    rows = [self._row(line, ceiling) for line in mine]
                    yield {
                        "title": f"{kind}: scale from 0 to {100 * ceiling:g} in every 100",
                        "ticks": [f"{100 * ceiling * step / 4:g}" for step in range(5)],
                        "rows": rows,
                        "flagged": any(row["flagged"] for row in rows),
                    }

    def _row(self, line: Line, ceiling: float) -> View:
        assert line.interval is not None
        counts, key = line.counts, (line.technique, line.outcome, "figure")
        return {
            "at": _at(*key),
            "name": self.title(line.outcome),
            "drawing": dots(line, ceiling),
            "figure": f"{counts.events} of {counts.watched}, {percents(line.interval)}",
            "more": list(self._more(line)),
            "flagged": key in self.out,
        }

    def _more(self, line: Line) -> Iterator[View]:
        if not line.quotable:
            lacking = needed(line.counts).said
            yield {"text": f"not quoted: {line.why_not}" + (f"; {lacking}" if lacking else ""), "flag": False}
        if study := line.published:
            said = f"published {study.events} of {study.n}, {percents(study.interval)}; own: {line.verdict}"
            yield {"text": said, "flag": (line.technique, line.outcome, "figure") in self.out}

    def _over_time(self, id: str) -> Iterator[View]:
        panels = [self._course(each) for each in self.sheet.watched if each.technique == id and each.since]
        if panels:
            yield _group("time", "Over time", panels)

    def _course(self, each: Watched) -> View:
        key: Key = (each.technique, each.outcome, "time")
        days = f"{each.chart.path[0][0]} to {each.chart.path[-1][0]}"
        adjusted = f", adjusted for {', '.join(each.adjusted_for)}" if each.adjusted_for else ""
        return {
            "at": _at(*key),
            "name": self.title(each.outcome),
            "drawing": cusum_svg(each.chart, self._name(each.technique, each.outcome)),
            "ticks": [],
            "said": f"Baseline {each.events} of {each.n}; {each.since} treatments since, {days}{adjusted}.",
            "rows": [],
            "columns": [],
            "flagged": key in self.out,
        }

    def _side_by_side(self, id: str) -> Iterator[View]:
        for grouping, words in _PLACES.items():
            mine = [f for f in self.sheet.funnels if f.technique == id and f.grouping == grouping]
            if mine:
                yield _group(grouping, words, [self._funnel(funnel) for funnel in mine])

    def _funnel(self, funnel: Funnel) -> View:
        key: Key = (funnel.technique, funnel.outcome, funnel.grouping)
        adjusted = f", adjusted for {', '.join(funnel.adjusted_for)}" if funnel.adjusted_for else ""
        most = max(place.n for place in funnel.places)
        last = ("expected",) if funnel.adjusted_for else ("95% limits", "99.8% limits")
        return {
            "at": _at(*key),
            "name": self.title(funnel.outcome),
            "drawing": funnel_plot.funnel_svg(funnel, self._by(funnel)),
            "ticks": [f"{100 * funnel_plot.ceiling_of(funnel) * part:g}" for part in (1, 0.5, 0)],
            "said": f"{funnel.target:.1%} in all{adjusted}; up to {most} treatments.{_outside(funnel)}",
            "columns": (funnel.grouping, "seen", *last, "stands"),
            "rows": [_cells(funnel, place) for place in funnel.places],
            "flagged": key in self.out,
        }


def _group(kind: str, title: str, panels: list[View]) -> View:
    flagged = any(panel["flagged"] for panel in panels)
    return {"kind": kind, "title": title, "panels": panels, "flagged": flagged}


def _outside(funnel: Funnel) -> str:
    """Who is outside the limits, in words: the mark alone names nobody on a telephone."""
    found = [p for p in funnel.places if p.state not in ("inside", "too few")]
    return "".join(f" {p.group} {p.state}: {p.events} of {p.n}." for p in found)


def _cells(funnel: Funnel, place: Place) -> tuple[str, ...]:
    first = place.group, f"{place.events} of {place.n}"
    if place.expected is not None:
        return *first, f"{place.expected:.1f}", place.state
    spans = (limits(funnel.target, place.n, share) for share in (ALERT, ALARM))
    return *first, *(f"{100 * low:.1f} to {100 * high:.1f}%" for low, high in spans), place.state
