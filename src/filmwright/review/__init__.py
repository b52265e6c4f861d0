"""Whether it is wise: findings on a walked flow, ranked by what can be lost."""

from filmwright.review.case import Rule
from filmwright.review.finding import SEVERITIES, Change, Finding, Severity
from filmwright.review.judge import counts, review
from filmwright.review.rules import RULES

__all__ = ["RULES", "SEVERITIES", "Change", "Finding", "Rule", "Severity", "counts", "review"]
