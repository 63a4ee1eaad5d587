"""Documents a clinic wrote before the papers were told apart: each is told what it is called now."""

from __future__ import annotations

import pytest

from consentpack import pipeline
from consentpack.errors import ContentError


def written(folder, name: str, text: str) -> None:
    (folder / "content/documents").mkdir(parents=True, exist_ok=True)
    (folder / "content/documents" / name).write_text(text, encoding="utf-8")


FRONT = """+++
id = "{id}"
title = "A paper (invented)"
version = "1"
reviewed = 2026-11-25
review_by = 2028-11-25
audience = "patient"
sources = ["gmc-consent-2020"]
+++

"""


@pytest.mark.parametrize(
    ("id", "body", "wanted"),
    [
        ("consent", "::: risk-table\n", "Rename it to booklet.md"),
        ("aftercare", "::: emergency-signs\n", "Rename it to homecare.md"),
    ],
)
def test_an_older_paper_is_told_its_new_name(clinic_copy, id, body, wanted):
    written(clinic_copy, f"{id}.md", FRONT.format(id=id) + body)
    with pytest.raises(ContentError) as caught:
        pipeline.open_workplace(clinic_copy)
    (problem,) = caught.value.problems
    assert f"documents/{id}.md" in problem.where and wanted in problem.fix
