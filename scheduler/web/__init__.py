"""Feeds and the round page over HTTP.

Decisions
---------

On pages the other mark is asked about
    Where the locale's decimal mark is the comma "1.250" may be two weights, elsewhere "1,250"; both are
    refused with both ways to write it. Before fewer or more than three digits either mark is a decimal mark
    everywhere.

A worker has two minutes to begin
    A worker has two minutes to begin (`WORKER_SECONDS`): uvicorn ends one that does not answer within five
    seconds, and on a slow machine none ever came to serve. A process that dies is replaced at once, as
    before.

Forms without cookies
    The address is the secret, so there is nothing that a browser could add to another site's post. Still a
    form carries a seal (HMAC of page, day and the number of the log's last entry), and what
    `Sec-Fetch-Site` and `Origin` say is heeded. The numbers, of the last entry and of the last rota, make
    replays harmless: a job or a reading that was recorded or taken back after it is not recorded again
    (`record_job`, `record_reading`), and what was somebody else's since is not handed over again. Pages
    send no referrer, so browsers say `Origin: null` of their forms too.

The round page is a sheet to work from
    One sheet a tank, in walking order; a row has *the* amount of its job (`Notes.amount`, of the care rule,
    which also says it in a step), what opens it, and Done at the thumb. What a reading asks for (`urgency`
    1) stands first for everybody, by its `Notes.order`: what is done, verb first, the reason folded, so
    that its Done is on the first screen at any size of text. The targets are 44 px, the contrast 7:1, and
    what has to be scrolled is under test on the samples (`test_browser_measures.py`).

After a form the address is the page's own, with a place in it
    After a form the address is the page's own, with a place in it, and nothing else: a query would make it
    another page, which browsers keep as it was left and show again on the way back. So what was recorded
    last is told without being told which: it is the newest entry of who looks, last at its tank, and the
    first row that is open stands right below. The fragment gives it the focus (`tabindex="-1"`); its look
    comes with `:target`. After taking back it is a line that is there, and seen, only as the target.

No script on the page, but where it was asked for
    A page without works on any telephone, `default-src 'none'` can stand in its policy, and what nobody
    runs cannot break. What it cannot do is work in a greenhouse without a network, so a link that was made
    with `feeds --offline` has one script (`web/static/offline.js`) and one worker (`sw.js`, below the
    page's own address and with the page as its scope, so that it ends with the link and reaches no other).
    Nothing depends on them: forms are those of every page, and where nothing can be kept they are sent as
    without. The policy gains four sources, by exact text, and other links keep theirs byte for byte
    (`guard`, tests compare). It is offered over https and on the loopback alone, since browsers run workers
    nowhere else. After a form it answers 303, after a reading to the page of what follows, which is
    computed from the log with and without that reading, so that a reload shows it again and sends nothing.

One tap for a tank is for frequent work alone
    One tap for a tank is for frequent work alone (`Job.is_plain`). What comes weekly or less often, has
    values, takes two people, or is there or changed because of a reading has a tick of its own: it wants a
    thought. The form names the jobs that were shown, so that nothing is recorded that came into the round
    meanwhile.

What waits on a phone has its own day, and no number in the log A form in the queue (IndexedDB, one database a
link) has a UUID, by which the phone tells one from the other, and is the form that the page had: its day is
that of the site when the page was made, never the phone's clock, and its seal holds for that day
(`web/offline_queue`, `record/delayed`). The log tells by itself that it is sent twice: a job counts once for
a day, a reading once by its value, and what was recorded or taken back after the number that the page knew is
not recorded again. So there is no table of UUIDs to keep and to clear, and a lost answer, two tabs and a
queue that somebody restores are one case. The price: where somebody else ticked and took back the same job of
the same day, it is refused, with the reason. It has no hour, since the hour of sending is not when it was
done. A form that is sent at once says so, and is answered as without script: from a page of yesterday it
means today, and is refused as ever. Work that others did on *another* day is recorded beside it: both were
done. A link that is revoked answers 404, and clears cache, queue and worker; one whose keeper is not in the
description answers 404 with Retry-After, and what waits stays. There is no Background Sync, which one large
family of browsers lacks: the queue is sent when the page opens and when the network comes back.

Failures say what is known
    A form that failed is answered by a page with what was typed, to be sent again: *not recorded*, where
    the log refused before it was asked to keep anything, or *it is not known* (`UncertainError`, or nobody
    waits any longer). Sent again it counts once. Programs are answered by text.
"""
