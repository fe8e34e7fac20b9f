"""Mails to keepers: what they say (pure), and the server that takes them. The use case is `workflow.reminder`."""

from scheduler.mail.letter import Duty, Letter, News, changed_letter, round_letter

__all__ = ["Duty", "Letter", "News", "changed_letter", "round_letter"]
