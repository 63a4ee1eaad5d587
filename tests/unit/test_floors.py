"""The floors of the house: who may import whom, and where each third-party package lives.

Read from the source with `ast`, so imports inside functions and those for types alone count too.
The two tables at the top are the rule; they are those of DEVELOPERS.md.
"""

from __future__ import annotations

import ast
import sys
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

import consentpack

FLOORS: tuple[tuple[str, ...], ...] = (
    ("errors", "limits", "normal", "days", "shipped", "tree", "model"),
    (
        "strict",
        "markdown",
        "fill",
        "catalogues",
        "files",
        "locks",
        "recovery",
        "direction",
        "signs",
        "conditions",
    ),
    ("clinic", "brand", "library", "register", "wording", "readers"),
    (
        "plans",
        "relevance",
        "suitability",
        "match",
        "rates",
        "assemble",
        "readability",
        "length",
        "advice",
        "accessibility",
        "check",
        "approvals",
        "consent_rules",
        "talk_back",
        "translate",
        "reader_test",
    ),
    ("export", "manifest", "ledger"),
    ("pipeline",),
    ("desk",),
    ("cli", "__main__"),
)
"""From the ground up. A room imports from lower floors, and on its own floor only what SAME_FLOOR names."""

SAME_FLOOR: dict[str, set[str]] = {
    "shipped": {"errors"},
    "tree": {"errors", "shipped"},
    "model": {"errors", "shipped", "tree"},
    "catalogues": {"direction", "signs"},
    "locks": {"files"},
    "recovery": {"files"},
    "clinic": {"brand"},
    "suitability": {"relevance"},
    "match": {"relevance"},
    "rates": {"match"},
    "assemble": {"match", "rates", "consent_rules", "approvals", "suitability", "length", "talk_back"},
    "length": {"readability"},
    "advice": {"readability"},
    "check": {"readability", "relevance"},
    "translate": {"assemble"},
    "reader_test": {"readability", "rates"},
    "__main__": {"cli"},
}
"""Floor 0 and floor 3 have an order of their own; everywhere else neighbours do not know each other."""

THIRD_PARTY: dict[str, set[str]] = {
    "markdown_it": {"markdown"},
    "jinja2": {"fill", "export"},
    "rapidfuzz": {"translate"},
    "pyphen": {"readability"},
    "babel": {"catalogues", "wording", "direction", "translate", "register"},
    "sqlalchemy": {"register", "ledger"},
    "cryptography": {"ledger"},
    "textstat": {"readability"},
    "docx": {"export", "readers"},
    "PIL": {"export"},
    "segno": {"export"},
    "pypdfium2": {"export"},
    "lxml": {"accessibility"},
    "lemminflect": {"advice"},
    "scipy": {"rates", "reader_test"},
    "numpy": {"rates", "register"},
    "openpyxl": {"register", "reader_test"},
    "tomlkit": {"clinic", "pipeline"},
    "filelock": {"locks"},
    "click": {"cli"},
    "flask": {"desk"},
    "werkzeug": {"desk"},
    "waitress": {"desk"},
}
"""Package -> the rooms that may import it. A package that is not here may be imported nowhere."""

CLI_TALKS_TO = {
    "pipeline", "advice", "errors", "model", "readability", "length", "wording", "clinic",
    "check", "accessibility", "reader_test",
}  # fmt: skip
"""The command line is a skin: what its functions may import, beside its own modules. The desk is one too."""

PACKAGE = Path(consentpack.__file__).parent
FLOOR_OF = {room: number for number, floor in enumerate(FLOORS) for room in floor}


@dataclass(frozen=True)
class Import:
    """One imported module, as the dotted name after `consentpack.`, or a third-party package."""

    by: str
    """The importing module, such as 'rates.ladder'."""
    name: str
    line: int
    own: bool
    """Whether it is a module of this package."""
    types_only: bool

    def __str__(self) -> str:
        return f"{self.by}, line {self.line}: imports {self.name}"


def room(module: str) -> str:
    """The room a module belongs to: 'rates.ladder' -> 'rates'."""
    return module.split(".")[0]


def module_name(path: Path) -> str:
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(part for part in parts if part != "__init__")


FILES = {module_name(path): path for path in sorted(PACKAGE.rglob("*.py"))}


def imported_names(node: ast.AST) -> list[str]:
    """The dotted names one import statement brings in; `from consentpack import x` is x."""
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    if isinstance(node, ast.ImportFrom):
        assert not node.level, "relative imports would hide the floor"
        base = node.module or ""
        below = (f"{base}.{alias.name}" for alias in node.names)
        return [name if name.removeprefix("consentpack.") in FILES else base for name in below]
    return []


def imports_of(module: str, tree: ast.Module) -> list[Import]:
    """Every import of a module, inside functions too."""
    type_blocks = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING")
    ]
    for_types = {id(inner) for block in type_blocks for part in block.body for inner in ast.walk(part)}
    found = []
    for node in ast.walk(tree):
        for name in imported_names(node):
            own, line = name.split(".")[0] == "consentpack", getattr(node, "lineno", 0)
            short = name.removeprefix("consentpack").removeprefix(".") if own else name.split(".")[0]
            if own or short not in sys.stdlib_module_names:
                found.append(Import(module, short, line, own, id(node) in for_types))
    return found


IMPORTS = [
    each
    for module, path in FILES.items()
    for each in imports_of(module, ast.parse(path.read_text(encoding="utf-8")))
]
OWN = [each for each in IMPORTS if each.own and each.name]  # '' is __init__ with the version: no imports


def may_import(by: str, name: str) -> bool:
    """The rule of the floors for two rooms."""
    return by == name or FLOOR_OF[name] < FLOOR_OF[by] or name in SAME_FLOOR.get(by, set())


def test_every_room_is_on_a_floor_and_every_room_of_the_floors_is_there():
    assert {room(module) for module in FILES if module} == set(FLOOR_OF)


def test_a_module_imports_only_from_lower_floors():
    assert [str(each) for each in OWN if not may_import(room(each.by), room(each.name))] == []


@pytest.mark.parametrize("package", sorted({each.name for each in IMPORTS if not each.own}))
def test_a_third_party_package_is_imported_only_where_it_is_named(package):
    found = [each for each in IMPORTS if each.name == package and not each.own]
    assert [str(each) for each in found if room(each.by) not in THIRD_PARTY.get(package, set())] == []


def test_every_named_third_party_package_is_used_where_it_is_named():
    """So that the table tells where to look."""
    used = {(each.name, room(each.by)) for each in IMPORTS if not each.own}
    assert {(package, room) for package, rooms in THIRD_PARTY.items() for room in rooms} <= used


def test_no_modules_import_each_other_in_a_circle():
    graph: dict[str, set[str]] = {module: set() for module in FILES}
    for each in OWN:
        if not each.types_only:
            graph[each.by].add(each.name)
    try:
        tuple(TopologicalSorter(graph).static_order())
    except CycleError as error:
        pytest.fail(f"a circle of imports: {' -> '.join(error.args[1])}")


def test_the_command_line_is_a_skin():
    """Types alone may come from anywhere below."""
    calls = [each for each in OWN if room(each.by) == "cli" and room(each.name) not in ("cli", "desk")]
    assert [str(each) for each in calls if not each.types_only and each.name not in CLI_TALKS_TO] == []


def test_the_desk_is_a_skin():
    """What it can do, commands can: it knows the pipeline and no room behind it."""
    calls = [each for each in OWN if room(each.by) == "desk" and room(each.name) != "desk"]
    assert [str(each) for each in calls if not each.types_only and each.name not in CLI_TALKS_TO] == []


def test_the_version_is_imported_from_a_file_that_imports_nothing():
    """`consentpack/__init__.py` is below every floor."""
    assert [each for each in IMPORTS if each.by == ""] == []


@pytest.mark.parametrize(
    ("by", "name", "allowed"),
    [
        ("pipeline", "match", True),
        ("rates", "match", True),
        ("match", "rates", False),
        ("check", "readability", True),
        ("readability", "check", False),
        ("plans", "match", False),
        ("errors", "strict", False),
        ("tree", "model", False),
        ("library", "register", False),
        ("cli", "pipeline", True),
        ("pipeline", "cli", False),
    ],
)
def test_the_rule_itself_allows_and_forbids_what_it_should(by, name, allowed):
    assert may_import(by, name) is allowed


def test_imports_inside_functions_and_for_types_are_seen():
    text = (
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from consentpack import pipeline\n"
        "def f():\n    import scipy.special\n    from consentpack.rates.ladder import answer_all\n"
    )
    found = [(each.name, each.line, each.types_only) for each in imports_of("match", ast.parse(text))]
    assert sorted(found) == [("pipeline", 3, True), ("rates.ladder", 6, False), ("scipy", 5, False)]
