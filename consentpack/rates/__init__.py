"""Which figure may be quoted for each outcome of a plan, and how sure it is."""

from consentpack.rates.beside import compare_newer
from consentpack.rates.compare import Comparing
from consentpack.rates.counting import AuditSource
from consentpack.rates.ladder import answer_all

__all__ = ["AuditSource", "Comparing", "answer_all", "compare_newer"]
