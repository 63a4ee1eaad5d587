"""Consent and aftercare packs whose figures come from the clinic's own audit."""

__version__ = "0.1.0"
