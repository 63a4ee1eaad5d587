"""Random plans, drawn by LibreOffice: whether their papers keep their sides, and lack no serious harm.

    python tests/benchmarks/any_drawn.py [--count 500] [--seed 15] [--batch 20] [--out FILE]

Draws COUNT different plans of the demo's library, in all languages in turn, half of them with the figures
of the demo's audit and half with none, which is when most is said. Form, aftercare sheet and record
before its annex are made as a pack makes them, the first two in large print too. LibreOffice draws BATCH
plans at a start. Of each paper it is asked that it keeps its limit of sides as drawn, that the reckoned sides
are within the error that docs/why/length.md states, that the drawn page has every word of the document, and
that every serious harm that was matched has its row in the form. Ends with 1 where anything fails; a line of
JSON for each paper goes to FILE.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, seed, settings

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS), str(TESTS / "packs")]

from any_plan import TODAY, assert_every_serious_harm  # noqa: E402
from test_any_plan import OURS  # noqa: E402
from test_sides_drawn import as_stated  # noqa: E402

from consentpack import pipeline, shipped  # noqa: E402
from consentpack.catalogues import available  # noqa: E402
from consentpack.export._drawn import lost, pages_of  # noqa: E402
from consentpack.export.pdf import export_pdf  # noqa: E402
from consentpack.model import Plan  # noqa: E402
from consentpack.pipeline.deciding import decide  # noqa: E402
from consentpack.pipeline.drafting import draft  # noqa: E402
from consentpack.pipeline.judging import Judged, judge  # noqa: E402
from consentpack.pipeline.place import Workplace  # noqa: E402
from consentpack.pipeline.prepare import Prepared, Wanted, catalogue_for  # noqa: E402
from consentpack.suitability import with_implied  # noqa: E402
from consentpack.tree import Document  # noqa: E402

LARGE, SETTINGS = "large-print", "clinic.toml"
DRAWN = (("form", "docx"), ("aftercare", "docx"), ("record", "docx"), ("form", LARGE), ("aftercare", LARGE))
"""Kinds and formats that have a limit of sides."""


@dataclass(frozen=True)
class Paper:
    """One paper of a plan, as it was reckoned and drawn."""

    plan: int
    language: str
    audit: bool
    kind: str
    format: str
    words: int
    reckoned: int
    drawn: int
    limit: int
    lost: tuple[str, ...]

    @property
    def over(self) -> bool:
        return bool(self.limit) and self.drawn > self.limit

    @property
    def fails(self) -> bool:
        return self.over or bool(self.lost) or not as_stated(self.reckoned, self.drawn)


def any_plans(count: int, number: int) -> list[Plan]:
    """So many different plans, the same ones for the same number."""
    found: dict[str, Plan] = {}

    @seed(number)
    @settings(
        max_examples=4 * count,
        phases=[Phase.generate],
        database=None,
        deadline=None,
        derandomize=False,
        suppress_health_check=list(HealthCheck),
    )
    @given(OURS.plans())
    def draw(plan: Plan) -> None:
        if len(found) < count:
            found.setdefault(str(plan), plan)

    draw()
    return list(found.values())


def clinics(folder: Path) -> tuple[Workplace, Workplace]:
    """The demo's clinic without its audit, and with it."""
    without = pipeline.copy_demo(folder / "without")
    text, changed = re.subn(
        r"(?m)^register = .*$", 'register = "none"', (without / SETTINGS).read_text(encoding="utf-8")
    )
    assert changed == 1
    (without / SETTINGS).write_text(text, encoding="utf-8")
    plain = pipeline.open_workplace(without)
    audited = pipeline.open_workplace(pipeline.copy_demo(folder / "with"))
    pipeline.import_audit(audited, audited.folder / "audit.csv", now=datetime(2026, 11, 25, 9), by="bench")
    return plain, audited


def judged(place: Workplace, plan: Plan, language: str) -> Judged:
    """The papers of a plan as a pack has them, before any file."""
    plan = with_implied(replace(plan, language=language), place.library)
    patients, own = (catalogue_for(place, tag, where="any plan") for tag in (language, place.clinic.language))
    wanted = Wanted(TODAY, formats=frozenset({LARGE}))
    prepared = Prepared(place, wanted, plan, patients, own, (), {})
    decided = decide(prepared)
    return judge(prepared, decided, draft(prepared, decided))


def harms_missing(made: Judged) -> str:
    """What is wrong with the form's table of serious harms; empty where each has its row."""
    form = next(document for document in made.documents if document.kind == "form")
    try:
        assert_every_serious_harm(form, made.decided.seen.planned, made.matches)
    except AssertionError as error:
        return f"a serious harm has no row: {error}"
    return ""


def papers_of(made: Judged) -> Iterator[tuple[str, str, Document, bytes]]:
    for kind, form in DRAWN:
        if (form, kind) in made.measures.files:
            file = made.measures.files[form, kind]
            yield kind, form, file.document, file.content


def drawn_together(some: dict[int, tuple[Judged, bool]]) -> Iterator[Paper]:
    """Draw the papers of some plans at one start."""
    papers = {
        f"{number}_{kind}_{form}": (number, kind, form, document, content)
        for number, (made, _) in some.items()
        for kind, form, document, content in papers_of(made)
    }
    pdfs = export_pdf({f"{name}.docx": each[-1] for name, each in papers.items()}, seconds=3600)
    for name, (number, kind, form, document, _) in papers.items():
        made, audit = some[number]
        length, pages = made.measures.of(kind), pages_of(pdfs[f"{name}.pdf"])
        large = form == LARGE
        yield Paper(
            number,
            made.plan.language,
            audit,
            kind,
            form,
            length.words,
            (length.large_print_sides if large else length.sides) or 0,
            len(pages),
            (length.limits.large_print_sides if large else length.limits.sides) or 0,
            tuple(piece.text for piece in lost(document, pages)),
        )


def told(papers: list[Paper]) -> str:
    """How far reckoned sides are from drawn ones, by paper."""
    lines = [
        "| paper | drawn | over | most sides | limit | reckoned − drawn: papers |",
        "|---|--:|--:|--:|--:|---|",
    ]
    for kind, form in DRAWN:
        some = [each for each in papers if (each.kind, each.format) == (kind, form)]
        if not some:
            continue
        apart = sorted(Counter(each.reckoned - each.drawn for each in some).items())
        sides, limits = max(each.drawn for each in some), sorted({each.limit for each in some})
        lines.append(
            f"| {kind}, {form} | {len(some)} | {sum(each.over for each in some)} | {sides} | "
            f"{' or '.join(map(str, limits))} | {', '.join(f'{much:+}: {times}' for much, times in apart)} |"
        )
    return "\n".join(lines)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    options.add_argument("--count", type=int, default=500, help="how many plans")
    options.add_argument("--seed", type=int, default=15, help="which ones")
    options.add_argument("--batch", type=int, default=20, help="plans that one start of LibreOffice draws")
    options.add_argument("--out", type=Path, default=None, help="a file for a line of JSON for each paper")
    asked = options.parse_args()
    plans, languages = any_plans(asked.count, asked.seed), ["en-GB", *available([shipped.locales()])]
    papers, wrong, began = [], [], time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        places = clinics(Path(folder))
        for first in range(0, len(plans), asked.batch):
            some = {}
            for number in range(first, min(first + asked.batch, len(plans))):
                # an even number of languages would give each of them one of the two clinics alone
                audit = number // len(languages) % 2 == 1
                made = judged(places[audit], plans[number], languages[number % len(languages)])
                some[number] = (made, audit)
                if fault := harms_missing(made):
                    wrong.append(f"plan {number}: {fault}")
            found = list(drawn_together(some))
            papers += found
            wrong += [f"{plans[each.plan].planned}: {each}" for each in found if each.fails]
            if asked.out:
                kept = "".join(json.dumps(asdict(each)) + "\n" for each in papers)
                asked.out.write_text(kept, encoding="utf-8")
            print(
                f"… {len(some) + first} plans, {time.monotonic() - began:.0f} s", file=sys.stderr, flush=True
            )
    print(told(papers), *wrong, sep="\n")
    print(f"{len(plans)} plans, {len(papers)} papers drawn, {len(wrong)} findings")
    sys.exit(bool(wrong))


if __name__ == "__main__":
    main()
