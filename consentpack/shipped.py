"""Where the shipped content, locales and examples are: beside the package in a checkout, inside it
in an installed wheel."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path

_STANDS_IN: ContextVar[Path | None] = ContextVar("stands_in", default=None)
"""What is read in place of what is shipped: how an older pack is made once more."""
_PACKAGE = Path(__file__).resolve().parent


@contextmanager
def standing_in(folder: Path) -> Iterator[None]:
    """Meanwhile the content and locales in a folder are read instead of those that are shipped."""
    token = _STANDS_IN.set(folder)
    try:
        yield
    finally:
        _STANDS_IN.reset(token)


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


def demo_clinic() -> Path:
    """The invented clinic that `consentpack demo` copies."""
    return _folder("examples") / "hazel-street"
