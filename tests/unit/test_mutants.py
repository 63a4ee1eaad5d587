"""The script that makes small changes: which it makes, and that what it lists is still there."""

from __future__ import annotations

import ast
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]
sys.path.append(str(TESTS / "mutants"))

import mutate  # noqa: E402
from changes import changes  # noqa: E402


def made(source: str) -> list[str]:
    return [change.made(source) for change in changes(source)]


@pytest.mark.parametrize(
    ("source", "one"),
    [
        ("x = a < b", "x = a <= b"),
        ("x = a <= b <= c", "x = a <= b < c"),
        ("x = a and b", "x = a or b"),
        ("x = a and b", "x = b"),
        ("x = a or b or c", "x = a or c"),
        ("x = not a", "x = a"),
        ("x = 3", "x = 4"),
        ("x = 3", "x = 2"),
        ("x = a + b", "x = a - b"),
        ("x = s & t", "x = s"),
        ("x = min(a, b)", "x = b"),
        ("x = round(a, 9)", "x = a"),
        ("x = f(a, b)", "x = f(b, a)"),
        ("x = a if c else b", "x = b"),
        ("x = [i for i in a if i]", "x = [i for i in a]"),
        ("x = a[1:]", "x = a"),
        ("f(a)", "pass"),
        ("if a:\n    b()", "if False:\n    b()"),
        ("def f() -> str:\n    return a", "def f() -> str:\n    return ''"),
    ],
)
def test_this_change_is_made(source, one):
    assert one in made(source)


def test_what_only_a_reader_sees_is_left_alone():
    assert changes('"""Words."""\nimport a\n\ndef f(x: int | None):\n    raise A(1 + 1)') == []


def test_a_change_says_where_it_is_and_touches_nothing_else():
    source = "class A:\n    def f(self):\n        return g(1) < 2\n"
    found = {str(change) for change in changes(source)}
    assert "A.f (3): g(1) < 2 -> g(1) <= 2" in found
    for text in made(source):
        assert text != ast.unparse(ast.parse(source))


def test_every_module_that_is_listed_is_there_with_its_tests():
    assert mutate.modules(()) == list(mutate.TESTS)
    for files in mutate.TESTS.values():
        assert all((TESTS / each).is_file() for each in files), files


@pytest.mark.parametrize("one", mutate.equivalents(), ids=lambda one: f"{one.module} {one.was}")
def test_a_change_that_is_listed_as_no_difference_can_still_be_made_and_has_its_reason(one):
    source = (mutate.ROOT / "consentpack" / one.module).read_text(encoding="utf-8")
    assert one.why and any(one.fits(one.module, change, source) for change in changes(source))


def test_of_a_change_on_two_lines_only_the_line_that_is_named_makes_no_difference():
    source = "def f():\n    a = 1\n    return g(1)\n"
    one = mutate.Equivalent("m.py", "f", "1", "2", "invented", line="return g")
    first, second = (change for change in changes(source) if change.now == "2")
    assert (one.fits("m.py", first, source), one.fits("m.py", second, source)) == (False, True)
    assert not one.fits("n.py", second, source)


def test_a_run_notices_what_a_test_notices_and_says_what_no_test_does():
    jobs = [mutate.Job("fill.py", passed=True), mutate.Job("fill.py"), mutate.Job("fill.py", known=True)]
    text, share = mutate.table({"fill.py": 50}, jobs)
    assert "| `fill.py` | 50 | 3 | 1 | 1 | 1 | 50 |" in text
    assert share == 0.5
