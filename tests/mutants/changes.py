"""Small changes that can be made to a Python source, each of a kind that people make by mistake."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

_OPPOSITE: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
    ast.And: ast.Or, ast.Or: ast.And, ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}  # fmt: skip
_OTHER_END = {"min": "max", "max": "min", "any": "all", "all": "any", "floor": "ceil", "ceil": "floor"}
_MAY_BE_TAKEN_OFF = ("min", "max", "round", "sorted", "abs", "bool", "frozenset", "set")
_EMPTY = {
    "str": "''",
    "int": "0",
    "float": "0.0",
    "tuple": "()",
    "list": "[]",
    "dict": "{}",
    "Iterator": "()",
}


@dataclass(frozen=True)
class Change:
    """One change: in which function, on which line, what stood there and what is put there."""

    place: str
    """Names of the class and function around it; '' for the module itself."""
    line: int
    was: str
    now: str
    _path: tuple[tuple[str, int | None], ...]
    _new: ast.AST | None
    """None takes a member of a list away."""

    def __str__(self) -> str:
        return f"{self.place or 'module'} ({self.line}): {self.was} -> {self.now}"

    def made(self, source: str) -> str:
        """The source with this change."""
        tree: Any = ast.parse(source)
        node = tree
        for field, index in self._path[:-1]:
            node = getattr(node, field) if index is None else getattr(node, field)[index]
        field, index = self._path[-1]
        if index is None:
            setattr(node, field, self._new)
        elif self._new is None:
            del getattr(node, field)[index]
        else:
            getattr(node, field)[index] = self._new
        return ast.unparse(ast.fix_missing_locations(tree))


def changes(source: str) -> list[Change]:
    """Every change that can be made, in the order of the source, no two alike in one function."""
    found: dict[tuple[str, str, str, int], Change] = {}
    for node, path, place in _walk(ast.parse(source), (), ""):
        for new in _changed(node):
            was, now = _said(node), _said(new)
            line = getattr(node, "lineno", 0)
            if was != now:
                found.setdefault((place, was, now, line), Change(place, line, was, now, path, new))
        for field, index, gone in _clauses(node):
            change = Change(
                place, gone.lineno, f"if {_said(gone)}", "(nothing)", (*path, (field, index)), None
            )
            found.setdefault((place, change.was, change.now, gone.lineno), change)
    return list(found.values())


_NOT_LOOKED_AT = ("annotation", "returns", "decorator_list", "bases")


def _walk(node: ast.AST, path: tuple[Any, ...], place: str) -> Iterator[tuple[ast.AST, tuple[Any, ...], str]]:
    """Nodes with the way to them; annotations, imports and what is for the reader alone are left out."""
    if isinstance(node, (ast.Import, ast.ImportFrom, ast.Assert)) or _for_readers(node):
        return
    if path:
        yield node, path, place
    if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
        place = f"{place}.{node.name}" if place else node.name
    for field, value in ast.iter_fields(node):
        if field in _NOT_LOOKED_AT:
            continue
        for index, child in enumerate(value) if isinstance(value, list) else ((None, value),):
            if isinstance(child, ast.AST):
                yield from _walk(child, (*path, (field, index)), place)


def _for_readers(node: ast.AST) -> bool:
    """A docstring, or words of an error."""
    if isinstance(node, ast.Expr):
        return isinstance(node.value, ast.Constant)
    return isinstance(node, ast.Raise)


def _changed(node: ast.AST) -> Iterator[ast.AST]:
    """What may stand in a node's place."""
    kind = type(node).__name__
    if kind in _KINDS:
        yield from _KINDS[kind](node)


def _compare(node: Any) -> Iterator[ast.AST]:
    for at, operator in enumerate(node.ops):
        if type(operator) in _OPPOSITE:
            ops = [*node.ops[:at], _OPPOSITE[type(operator)](), *node.ops[at + 1 :]]
            yield ast.Compare(node.left, ops, node.comparators)


def _bool_op(node: Any) -> Iterator[ast.AST]:
    yield ast.BoolOp(_OPPOSITE[type(node.op)](), node.values)  # type: ignore[arg-type]
    for at in range(len(node.values)):
        rest = [*node.values[:at], *node.values[at + 1 :]]
        yield rest[0] if len(rest) == 1 else ast.BoolOp(node.op, rest)


def _unary(node: Any) -> Iterator[ast.AST]:
    if isinstance(node.op, (ast.Not, ast.USub)):
        yield node.operand


def _binary(node: Any) -> Iterator[ast.AST]:
    if isinstance(node.op, (ast.BitAnd, ast.BitOr)):
        yield from (node.left, node.right)
    elif type(node.op) in _OPPOSITE and not _of_words(node):
        yield ast.BinOp(node.left, _OPPOSITE[type(node.op)](), node.right)  # type: ignore[arg-type]


def _of_words(node: Any) -> bool:
    """Words put together cannot be taken apart: that change is an error, and teaches nothing."""
    return any(isinstance(each, (ast.JoinedStr, ast.List, ast.Tuple)) for each in (node.left, node.right))


def _constant(node: Any) -> Iterator[ast.AST]:
    if isinstance(node.value, bool):
        yield ast.Constant(not node.value)
    elif isinstance(node.value, int):
        yield from (ast.Constant(node.value + 1), ast.Constant(node.value - 1))
    elif isinstance(node.value, float):
        yield from (ast.Constant(node.value * 1.1), ast.Constant(node.value * 0.9))


def _call(node: Any) -> Iterator[ast.AST]:
    name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
    if name in _OTHER_END:
        other: Any = ast.Name(_OTHER_END[name])
        if isinstance(node.func, ast.Attribute):
            other = ast.Attribute(node.func.value, _OTHER_END[name])
        yield ast.Call(other, node.args, node.keywords)
    elif name in _MAY_BE_TAKEN_OFF and node.args:
        yield node.args[0]
    if name in ("min", "max") and len(node.args) > 1:
        yield from node.args
    if name not in ("isinstance", "getattr", "setattr", "min", "max", "N_"):
        yield from _swapped(node)


def _swapped(node: Any) -> Iterator[ast.AST]:
    for at, (first, second) in enumerate(zip(node.args, node.args[1:], strict=False)):
        if isinstance(first, (ast.Name, ast.Attribute)) and isinstance(second, (ast.Name, ast.Attribute)):
            args = [*node.args[:at], second, first, *node.args[at + 2 :]]
            yield ast.Call(node.func, args, node.keywords)


def _either(node: Any) -> Iterator[ast.AST]:
    yield from (node.body, node.orelse)


def _if(node: Any) -> Iterator[ast.AST]:
    yield ast.If(ast.Constant(False), node.body, node.orelse)


def _skipped(node: Any) -> Iterator[ast.AST]:
    yield ast.Pass()


def _subscript(node: Any) -> Iterator[ast.AST]:
    if isinstance(node.slice, ast.Slice):
        yield node.value


def _function(node: Any) -> Iterator[ast.AST]:
    """A function that gives nothing back."""
    said = node.returns
    name = getattr(said.value if isinstance(said, ast.Subscript) else said, "id", "")
    if name in _EMPTY:
        body = [ast.Return(ast.parse(_EMPTY[name], mode="eval").body)]
        yield ast.FunctionDef(node.name, node.args, body, node.decorator_list, node.returns)


_KINDS: dict[str, Any] = {
    "Compare": _compare, "BoolOp": _bool_op, "UnaryOp": _unary, "BinOp": _binary, "Constant": _constant,
    "Call": _call, "IfExp": _either, "If": _if, "Expr": _skipped, "AugAssign": _skipped,
    "Continue": _skipped, "Subscript": _subscript, "FunctionDef": _function,
}  # fmt: skip


def _clauses(node: ast.AST) -> Iterator[tuple[str, int, Any]]:
    """Conditions inside a comprehension."""
    if isinstance(node, ast.comprehension):
        yield from (("ifs", at, each) for at, each in enumerate(node.ifs))


def _said(node: ast.AST) -> str:
    """A node in one line: the test of an `if`, the head of a function."""
    if isinstance(node, ast.If):
        return f"if {ast.unparse(node.test)}:"
    if isinstance(node, ast.FunctionDef):
        only = len(node.body) == 1 and isinstance(node.body[0], ast.Return)
        return f"def {node.name}: {ast.unparse(node.body[0])}" if only else f"def {node.name}"
    return " ".join(ast.unparse(ast.fix_missing_locations(node)).split())
