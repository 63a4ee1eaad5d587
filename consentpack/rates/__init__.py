"""Which figure may be quoted for each outcome of a plan, and how sure it is."""

from consentpack.rates.ladder import AuditSource, answer_all

__all__ = ["AuditSource", "answer_all"]
