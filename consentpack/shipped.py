"""Where the shipped content, locales and examples are: beside the package in a checkout, inside it
in an installed wheel."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from hashlib import sha256
from pathlib import Path

_STANDS_IN: ContextVar[Path | None] = ContextVar("stands_in", default=None)
"""What is read in place of what is shipped: how an older pack is made once more."""
_OF_THEN: ContextVar[bool] = ContextVar("of_then", default=False)
_PACKAGE = Path(__file__).resolve().parent


@contextmanager
def standing_in(folder: Path, *, of_then: bool = False) -> Iterator[None]:
    """Meanwhile the content and locales in a folder are read instead of those that are shipped; `of_then`
    where it is what a program had at another time, which has no table that came later."""
    token, then = _STANDS_IN.set(folder), _OF_THEN.set(of_then)
    try:
        yield
    finally:
        _STANDS_IN.reset(token)
        _OF_THEN.reset(then)


def of_then() -> bool:
    """Whether what a program had at another time is read: nothing is missed there that came later."""
    return _OF_THEN.get()


@cache
def code() -> str:
    """The digest of this program's own code: a version number does not tell one checkout from the next."""
    found = sha256()
    for path in sorted(_PACKAGE.rglob("*.py")):
        found.update(
            f"{path.relative_to(_PACKAGE).as_posix()}\0{sha256(path.read_bytes()).hexdigest()}\n".encode()
        )
    return found.hexdigest()


def _folder(name: str) -> Path:
    if other := _STANDS_IN.get():
        return other / name
    in_wheel = _PACKAGE / "_shipped" / name
    return in_wheel if in_wheel.is_dir() else _PACKAGE.parent / name


def content() -> Path:
    """The shipped library of modules and documents."""
    return _folder("content")


def locales() -> Path:
    """The shipped translation catalogues."""
    return _folder("locales")


def fields() -> tuple[str, ...]:
    """The names of the fields of medicine that are shipped beside the usual one."""
    return tuple(sorted(path.parent.name for path in (content() / "fields").glob("*/field.toml")))


def locales_for(field: str) -> tuple[Path, ...]:
    """The shipped catalogues a field needs, the nearest first: its own before those of all."""
    return (*((content() / "fields" / field / "locales",) if field else ()), locales())


def demo_clinic(field: str = "") -> Path:
    """The invented clinic of a field that `consentpack demo` copies; of the usual one without a name."""
    return _folder("examples") / (field or "hazel-street")
