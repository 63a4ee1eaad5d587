"""The values that flow between the stages. All are frozen; none does any work beyond checking
itself."""

from consentpack.model.content import (
    Aftercare,
    Approval,
    ApprovalState,
    Benefit,
    CareSetting,
    DocumentPlan,
    DocumentSection,
    Factor,
    Module,
    Option,
    Outcome,
    PublishedRate,
    Risk,
    Technique,
    Term,
    Warning,
)
from consentpack.model.figures import LEVELS, Counts, Interval, Level, Rate, RateAnswer, Rejected
from consentpack.model.matches import Match, Matches
from consentpack.model.plan import Clinic, Done, Plan
from consentpack.model.results import Score, SectionScore, Sentence

__all__ = [
    "LEVELS",
    "Aftercare",
    "Approval",
    "ApprovalState",
    "Benefit",
    "CareSetting",
    "Clinic",
    "Counts",
    "DocumentPlan",
    "DocumentSection",
    "Done",
    "Factor",
    "Interval",
    "Level",
    "Match",
    "Matches",
    "Module",
    "Option",
    "Outcome",
    "Plan",
    "PublishedRate",
    "Rate",
    "RateAnswer",
    "Rejected",
    "Risk",
    "Score",
    "SectionScore",
    "Sentence",
    "Technique",
    "Term",
    "Warning",
]
