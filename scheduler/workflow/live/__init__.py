"""Sites as they are served: looked at again whenever somebody asks, and alike in every process.

Decisions
---------

A server has no state but the log
    What it serves lies in the cache (`log/feed_cache.py`): the bytes, their tag, the time of their last
    change. A process that finds the cache of another state than now (`LiveSite.state`: the description's
    text, the day, the last entry, the last rota) composes the feeds, going on from the bytes in the cache
    as an export does from the files in its folder, and puts them there if nobody was faster. So stamps and
    sequence numbers go on, and all processes give the same bytes and tags. Last-Modified only grows, and
    never lies in the future of the answer that carries it.

A link is held against what stands now, on each request
    Whoever asks waits for a look at description and log that began after they came (`web/coalescing.py`): one
    indexed query, shared by all who came meanwhile, so that a thousand requests a second cost some hundred
    looks. A fifth of a second without a look, which was believed before, becomes for ever where others
    poll, and a revoked page went on recording. It follows that a log that cannot be reached is answered
    with 503, for feeds too: nobody could tell whether the link still holds, and a calendar program keeps
    what it has. The earlier feed goes on only where the log answers and the new one takes too long, or
    cannot be made. What is unknown is looked up in all sites at most every two seconds. A log that cannot
    be reached is asked once a second. One that is there and does not answer, or a disk that does not, holds
    one thread of each process: the others wait five seconds for that one, then say 503, and no request
    waits longer than twenty (`web/deadline.py`).

The last good description is in the log
    The last good description is in the log (`log/last_good.py`), by a keyed hash of the path of its file: a
    process that reads one without a mistake keeps it there, and one that finds a mistake goes on with what
    is there, whichever process read it, also one that begins while the mistake is in the file. So all give
    the same bytes. It is asked for only where there is a mistake. Of a file that is gone nothing goes on at
    a start. Servers under different paths each have one of their own.

After a tick one enclosure is planned anew
    After a tick one enclosure is planned anew (`plan.replan`), not two dozen: the jobs of an enclosure rest
    on the site as described, on their places without the record (`Basis`), and on its own entries. What
    they share with others is what is used up of one bottle or tub, so enclosures with a product of the same
    name go together (`care.sharing`). A new rule that looks at other enclosures has to say so there; a
    property test holds the plan against the one that planning everything gives. The page shows the rota
    that holds, made on that plan, so that it says what a feed, an export and `rota` say; where all is as it
    was published nothing is solved and nothing judged (`assign(judged=False)`).

What is served is published
    An unpublished rota would be another one after every tick, and jobs would change hands while people do
    them. So the server publishes what it shows, by the rule above.
"""
