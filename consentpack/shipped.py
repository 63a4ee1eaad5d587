"""Where the shipped content, locales and examples are: beside the package in a checkout, inside it
in an installed wheel."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def _folder(name: str) -> Path:
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
