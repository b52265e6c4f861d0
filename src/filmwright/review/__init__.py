"""Whether it is wise: findings on a walked flow, ranked by what can be lost."""

from filmwright.review.case import Rule
from filmwright.review.changes import with_changes
from filmwright.review.finding import SEVERITIES, Change, Finding, Severity
from filmwright.review.heat import heat_of
from filmwright.review.judge import counts, review
from filmwright.review.ledger import PLACES, Lost, ledger
from filmwright.review.questions import ELSEWHERE, QUESTIONS
from filmwright.review.rules import RULES

__all__ = [
    "ELSEWHERE",
    "PLACES",
    "QUESTIONS",
    "RULES",
    "SEVERITIES",
    "Change",
    "Finding",
    "Lost",
    "Rule",
    "Severity",
    "counts",
    "heat_of",
    "ledger",
    "review",
    "with_changes",
]
