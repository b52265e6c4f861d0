"""Whether it is wise: findings on a walked flow, ranked by what can be lost."""

from filmwright.review.case import Rule
from filmwright.review.changes import with_changes
from filmwright.review.finding import SEVERITIES, Change, Finding, Severity
from filmwright.review.heat import heat_of
from filmwright.review.judge import counts, review
from filmwright.review.lab_case import LabRule, Number
from filmwright.review.lab_check import check_lab
from filmwright.review.lab_rules import LAB_RULES
from filmwright.review.ledger import PLACES, Lost, ledger
from filmwright.review.questions import ELSEWHERE, QUESTIONS
from filmwright.review.rules import RULES

__all__ = [
    "ELSEWHERE",
    "LAB_RULES",
    "PLACES",
    "QUESTIONS",
    "RULES",
    "SEVERITIES",
    "Change",
    "Finding",
    "LabRule",
    "Lost",
    "Number",
    "Rule",
    "Severity",
    "check_lab",
    "counts",
    "heat_of",
    "ledger",
    "review",
    "with_changes",
]
