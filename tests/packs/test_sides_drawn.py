"""Sides that are reckoned beside sides that LibreOffice draws, for documents in every language and two sizes.

The error that docs/why/length.md states is held here: never fewer than are drawn, two more at most in a
document of up to `SHORT` sides; in a longer one that and `SHARE` of its sides, and two fewer at most.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from consentpack import pipeline, shipped
from consentpack.catalogues import available
from consentpack.export.pdf import export_pdf
from consentpack.length import pages_in, sides_of

pytestmark = pytest.mark.office
SHORT = 12
SHARE = 0.07
DAY = date(2026, 11, 28)


def word_files(place: pipeline.Workplace) -> dict[str, bytes]:
    """Each language with one of the plans in turn, in both sizes; the clinic's record once."""
    plans, found = pipeline.plan_files(place), {}
    for number, language in enumerate(["en-GB", *available([shipped.locales()])]):
        plan = plans[number % len(plans)]
        pack = pipeline.make_pack(place, plan, language=language, large_print=True, today=DAY)
        files = {name: data for name, data in pack.files.items() if name.endswith(".docx")}
        wanted = {name: data for name, data in files.items() if not number or not name.startswith("record")}
        found |= {f"{language}_{plan.stem}_{name}": data for name, data in wanted.items()}
    return found


def as_stated(reckoned: int, drawn: int) -> bool:
    """Whether what was reckoned is within the stated error of what was drawn."""
    long = drawn > SHORT
    return drawn - 2 * long <= reckoned <= drawn + 2 + long * round(SHARE * drawn)


def test_sides_are_reckoned_within_the_stated_error_and_never_too_few(office, place):
    """Draws some sixty documents: half a minute and more."""
    files = word_files(place)
    drawn = export_pdf(files)
    wrong = []
    for name, data in files.items():
        real, reckoned = pages_in(drawn[f"{Path(name).stem}.pdf"]), sides_of(data).sides
        if not as_stated(reckoned, real):
            wrong.append(f"{name}: {reckoned} reckoned, {real} drawn")
    assert len(files) > 50 and wrong == []


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_paper_and_letterhead_of_the_clinic_are_reckoned_too(office, clinic_copy, paper):
    """Another paper, and no logo: what a clinic changes is read from the file, and needs no second table."""
    settings = clinic_copy / "clinic.toml"
    text = settings.read_text(encoding="utf-8").replace('logo = "logo.png"\n', "")
    text = "\n".join(line for line in text.splitlines() if not line.startswith("logo_alt"))
    settings.write_text(text.replace("[brand]", f'[brand]\npaper = "{paper}"'), encoding="utf-8")
    place = pipeline.open_workplace(clinic_copy)
    pack = pipeline.make_pack(place, clinic_copy / "plans/p-101.toml", today=DAY)
    files = {name: data for name, data in pack.files.items() if name.endswith(".docx")}
    drawn = {name: pages_in(data) for name, data in export_pdf(files).items()}
    for name, data in files.items():
        real = drawn[f"{Path(name).stem}.pdf"]
        assert as_stated(sides_of(data).sides, real), name
