"""Our own documents, and the demo clinic's old form, by the rules for accessible Word files."""

from __future__ import annotations

import importlib.util
import json
import zipfile
from collections import Counter
from pathlib import Path

import pytest

from consentpack.accessibility import RULES, check_file
from consentpack.errors import AccessibilityError, ReadError

FORM = Path(__file__).parents[2] / "examples" / "hazel-street" / "old-form.docx"
PLANS = ("p-101", "p-102", "p-103", "p-104")
KINDS = ("form", "booklet", "more", "aftercare", "homecare", "diary", "slips", "record", "talk-back")


@pytest.fixture
def written(packs, tmp_path):
    """Write one document of a pack, with bytes of a part changed."""

    def write(plan: str, kind: str, part: str = "", old: bytes = b"", new: bytes = b"") -> Path:
        whole, path = tmp_path / "whole.docx", tmp_path / f"{kind}.docx"
        whole.write_bytes(packs[plan].files[f"{kind}.docx"])
        with zipfile.ZipFile(whole) as source, zipfile.ZipFile(path, "w") as target:
            for name in source.namelist():
                data = source.read(name)
                assert name != part or old in data
                target.writestr(name, data.replace(old, new) if name == part else data)
        return path

    return write


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("plan", PLANS)
def test_nothing_is_found_in_our_own_documents(plan, kind, written):
    assert check_file(written(plan, kind)) == ()


@pytest.mark.parametrize(
    ("part", "old", "new", "rule"),
    [
        ("styles", b'w:fill="8B1A1A"', b'w:fill="F4B183"', "contrast"),
        ("styles", b'<w:sz w:val="24"/>', b'<w:sz w:val="22"/>', "text-size"),
        ("styles", b'<w:outlineLvl w:val="2"/>', b"", "made-up-heading"),
        ("document", b"<w:tblHeader/>", b"", "header-row"),
        ("document", b"<w:cantSplit/>", b"", "rows-split"),
    ],
)
def test_what_our_styles_and_tables_do_right_would_be_missed(part, old, new, rule, written):
    """White on a dark red heading, for one, comes from a table's style alone."""
    found = check_file(written("p-101", "homecare", f"word/{part}.xml", old, new))
    assert {f.rule for f in found} == {rule}


def test_the_old_form_is_told_its_real_faults():
    """As many of each as its script puts in."""
    found = Counter(finding.rule for finding in check_file(FORM))
    kinds = Counter(kind for kind, _ in script().FORM)
    typed = next(words for kind, words in script().FORM if kind == "typed")
    assert set(found) == {
        "text-size", "capitals", "underline", "justified", "has-headings", "made-up-heading", "typed-list",
        "typed-space", "drawn-line", "header-row", "rows-split", "plain-letters",
    }  # fmt: skip
    assert found["made-up-heading"] == kinds["heading"] + kinds["title"]
    assert found["underline"] == kinds["heading"]
    assert found["justified"] == kinds["text"]
    assert found["typed-list"] == len(typed)
    assert found["header-row"] == kinds["table"]


def script():
    """The script that makes the form, as a module."""
    spec = importlib.util.spec_from_file_location("make_old_form", FORM.parents[1] / "make_old_form.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


# --- the command ----------------------------------------------------------------------------------


def test_the_command_names_place_fault_and_source_and_exits_with_20(run, tmp_path):
    done = run(tmp_path, "accessible", str(FORM))
    assert done.exit_code == AccessibilityError.exit_code == 20
    assert "paragraph 1 “CONSENT FOR SUBCISION OF ATROPHIC CICATRICES”: it is in capitals." in done.stdout
    assert "source: UKAAF G003 (2019)" in done.stdout
    assert "more; --all shows them" in done.stdout


def test_all_shows_every_place(run, tmp_path):
    shown = run(tmp_path, "accessible", str(FORM), "--all").stdout
    assert "more; --all" not in shown
    assert all(f.where in shown and f.what in shown for f in check_file(FORM))


def test_a_file_without_findings_exits_with_0(run, written, tmp_path):
    done = run(tmp_path, "accessible", str(written("p-101", "booklet")))
    assert done.exit_code == 0
    assert done.stdout.strip().endswith(f"nothing found by {len(RULES)} rules.")


def test_one_file_with_findings_among_several_decides(run, written, tmp_path):
    done = run(tmp_path, "accessible", str(written("p-101", "booklet")), str(FORM))
    assert done.exit_code == 20 and "nothing found" in done.stdout


def test_large_print_is_asked_for_by_its_option(run, written, tmp_path):
    done = run(tmp_path, "accessible", "--large-print", str(written("p-101", "booklet")), "--json")
    (answer,) = json.loads(done.stdout)
    assert {f["rule"] for f in answer["findings"]} == {"text-size"}


def test_json_holds_every_finding_with_its_five_parts(run, tmp_path):
    (answer,) = json.loads(run(tmp_path, "accessible", str(FORM), "--json").stdout)
    assert answer["file"] == str(FORM)
    assert len(answer["findings"]) == len(check_file(FORM))
    assert all(set(f) == {"rule", "where", "what", "fix", "source"} for f in answer["findings"])


def test_a_file_that_cannot_be_read_exits_with_the_code_of_that(run, tmp_path):
    done = run(tmp_path, "accessible", "gone.docx")
    assert done.exit_code == ReadError.exit_code
    assert done.stderr.startswith("gone.docx: the file cannot be read")
