"""Recurrence rules of RFC 5545, section 3.3.10, as whole days: read, judged for portability, expanded."""

from scheduler.rules.rule import WEEKDAYS, Rule
from scheduler.rules.rule_text import MOST_INSTANCES, RuleError, parse

__all__ = ["MOST_INSTANCES", "WEEKDAYS", "Rule", "RuleError", "parse"]
