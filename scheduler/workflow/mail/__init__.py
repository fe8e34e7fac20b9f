"""Mails to keepers: what is due, what is news in it, and the thread that sends it.

Decisions
---------

A mail is noted whole before it is sent
    A mail is noted whole before it is sent (`log/reminders.py`). Sent first and noted after, a round that
    changed in between would make another mail, under another Message-ID, of what is already in the mailbox;
    noted first without its text, a kill would lose it. So the row holds the mail until it is known what
    became of it: `sent` keeps what it told of the round, a refusal keeps that, what was certainly not taken
    is forgotten and made anew. What is `begun` and of unknown fate is sent again byte for byte. There is
    one place where that repeats a mail: the server took it, and the process, or the connection, ended
    before that was noted. SMTP has no way around it (RFC 1047).

One sends
    A mail is begun in a transaction that holds only where the last mail about that round is the one that
    its maker saw, so of two processes that make the same mail one begins it. That claim runs for three
    minutes, longer than one conversation may last (`MAIL_SECONDS`), and then anybody takes it up. A claim
    that lies further ahead than that is of a clock that was wrong, and holds nobody up. The Message-ID is a
    digest of site, keeper, day, kind, content and the Message-ID before it: given away, taken back and
    given away again are three mails.

What is news
    What is news is a difference of occurrences between the last mail about a day (else the rota that held
    when the day began) and what the page shows. What left a round is looked for: in somebody's round, on
    another day, with nobody; what is nowhere and was done is no news, whoever did it, since the round did
    not change by swap, illness or alarm. What was done stays among what was told, so that taken back it is
    no news either. What is left of a keeper's own earlier rounds is known to nobody better. A meal that was
    told stays the same occurrence when an alarm stops the food, so `Told` remembers `read_first` beside it.
    The mail of the morning goes until the evening's work begins; before it the day's changes wait for it,
    as it says them all.
"""
