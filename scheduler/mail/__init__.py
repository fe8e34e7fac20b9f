"""Mails to keepers: what they say (pure), and the server that takes them.

The use case is `workflow.mail.reminders`.

Decisions
---------

No address in a message about a mistake
    No address in a message about a mistake: messages reach JSON, logs of servers and pages (the first
    mistake is shown there). So an `email` that is wrong is described, not repeated. The log holds a
    fingerprint of it, by which a refusal ends with another address. Mails hold no link to a page: only
    hashes of secrets are kept, and a secret in an environment or a file for this would be one more in
    clear.
"""

from scheduler.mail.letter import Duty, Letter, News, changed_letter, round_letter

__all__ = ["Duty", "Letter", "News", "changed_letter", "round_letter"]
