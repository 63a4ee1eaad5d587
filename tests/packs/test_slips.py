"""Slips: each stands alone, and only those that may be used are there."""

from __future__ import annotations

import pytest

from consentpack import pipeline
from consentpack.export.text import export_text
from consentpack.tree import Facts, Fields

SLIPS = ("interpreter", "witness", "parent", "withdrawal")


def slips(pack):
    """Which slip -> its section."""
    document = next(d for d in pack.documents if d.kind == "slips")
    return {next(p for p in s.parts if p in SLIPS): s for s in document.sections}


@pytest.fixture(scope="module")
def young(place, tmp_path_factory):
    """A pack for somebody under age."""
    path = tmp_path_factory.mktemp("plans") / "p-101.toml"
    plan = (place.folder / "plans/p-101.toml").read_text(encoding="utf-8")
    path.write_text(plan.replace("reason =", 'factors = ["under-18"]\nreason =', 1), encoding="utf-8")
    return pipeline.make_pack(place, path)


def test_a_parent_signs_only_for_a_patient_under_age(packs, young):
    assert list(slips(packs["p-101"])) == ["interpreter", "witness", "withdrawal"]
    assert list(slips(young)) == ["interpreter", "witness", "parent", "withdrawal"]


def test_each_slip_begins_a_side_and_says_whose_it_is_and_of_which_treatment(young):
    for number, section in enumerate(slips(young).values()):
        assert section.new_side == bool(number)  # the first stands below the title
        pairs = [pair for node in section.nodes if isinstance(node, Facts) for pair in node.pairs]
        assert ("Our reference", young.plan.reference) in pairs
        # the head of the page alone is passed over by screen readers
        assert any(
            label == "In opening hours" and value.startswith("020 7946 0101") for label, value in pairs
        )
        assert any(label == "What we plan" and value for label, value in pairs)
        lines = [line.tag for node in section.nodes if isinstance(node, Fields) for line in node.lines]
        assert {"name", "born"} <= set(lines)


def test_each_slip_is_signed_by_the_one_it_is_for(young):
    for slip, section in slips(young).items():
        (signed,) = (n for n in section.nodes if isinstance(n, Fields) and n.tag == slip)
        assert signed.statement and {"signature", "date", "time"} <= {line.kind for line in signed.lines}


def test_the_record_of_a_patient_under_age_names_the_parents_slip(young):
    assert "Slips made: interpreter, witness, parent or guardian, withdrawal." in export_text(
        next(d for d in young.documents if d.kind == "record")
    )
