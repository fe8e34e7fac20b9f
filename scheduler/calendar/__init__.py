"""Series to iCalendar (RFC 5545, RFC 7986): one feed for the site and one for each enclosure.

Decisions
---------

Rules
    The vocabulary of exported rules is what twelve readers were found to agree on; everything else becomes
    single dates up to `--weeks`, and `check` says so. Lists of month days are such a case. COUNT becomes
    UNTIL, since a view that begins later would otherwise need another count. Portable rules are expanded by
    arithmetic, the rest by dateutil; the tests compare both. dateutil follows a rule that never happens to
    the year 9999, so a coarse look at each day comes first, and a description with such a rule is refused.

Hours
    Starts from 00:00 to 03:59 are refused where clocks change, and so is any hour that a change of that
    zone skips or repeats (some change at 22:00 or midnight).

UIDs of what happens
    A rule keeps its own. What is open is named by the day on which it fell due, so that it never comes back
    under a name that had a higher sequence number; what was done by its day, of the record alone, since its
    series may end while it is shown; the dates of an irregular interval by their number, so that the next
    time moves instead of vanishing. Stamps are strictly later with each revision, also on the same day and
    with the clock set back. The feed that is replaced is the record of what it holds; of what left it the
    last revision is in a book (`calendar/revisions.py`): of a served feed in the log, of files there too
    where a log can be written, else in a hidden file beside them. Whatever comes back goes on from there.
    The book is kept before the files are replaced: who is killed in between knows too much.

Rules end, they do not vanish
    Rules end, they do not vanish (`calendar/endings.py`): one widespread reader shows a recurring entry
    that left a feed until it is restarted, and heeds an UNTIL. So a rule stays under its UID for 90 days
    with UNTIL on its last day before today; where nothing lies behind, its start is taken out by EXDATE.
    Single entries just go. `--cancel` is for programs that take files in: it strikes out what is still to
    come, what was open, and what was taken back, never what has a past.

A round's UID
    A round's UID is of its keeper, its week, and its place in the week counted from the end: it keeps its
    name when it moves to another day, and when the first rounds of the week are over. The day on which it
    is would not do, nor counting from the start.

Our own line writer
    The export is what the project exists for, and what repeats between the occurrences of a job is encoded
    once. icalendar is the referee: it reads the head of the first feed at each export, and all of every
    feed in the tests. `verify` looks at every byte of every feed before the old file goes.

VTIMEZONE
    VTIMEZONE is read off the zone's own transitions over 28 years, not off the file's footer: no private
    format is parsed, and the rule is held against all of them. Zones without a yearly rule list their
    onsets, one RDATE a line, for 20 years: a long VTIMEZONE makes one web calendar fail. The yearly rules
    are written from 1970 on: today's rules, not the zone's history. vobject tells a zone from UTC by the
    years 2000 to 2020, and took Lisbon's summer for UTC. A feed without entries carries a VTIMEZONE in any
    case, since a calendar has to hold a component.

Durations, not ends
    A DURATION keeps its length when the clock changes before the end, and no end can fall into a gap.
    All-day entries have the exclusive DTEND that RFC 5545 wants.

Stamps
    DTSTAMP is the start of the day of the change at the site, so that the same input gives the same bytes
    and no stamp lies in the future (midnight UTC does, for half a day, wherever clocks are ahead of it);
    the feed that is being replaced is the record of what was, and an entry that did not change keeps its
    stamp and sequence number. A rule also keeps the start that it had there, for up to 90 days, as long as
    it is the same series: a view begins today, and without this every daily export would change every
    entry. With `--from` the view is given exactly. Where a record is kept, intervals have no past to keep:
    they begin with the next time.

Notes of entries leave out what explains, and never what is done
    Why, sources and sums are shortened; steps, amounts and cautions are there whatever the length
    (`calendar/notes.py`; the limits decide only whether a reason fits). What keeps the samples under them
    is saying things once: a step that a tank above has word for word is there by its number (`2 to 7 as at
    Alder`), so that its place among the others is kept; the step with the job's own amount is written out
    in any case. A caution's short form is not cut from the whole: it is a field of `Caution`, so that there
    is none without one. Where somebody only lends a hand the steps are the other's, the cautions both's.

Entries lead to a page where its address was given, and nowhere else
    The log knows a page by a hash, and a feed is composed once for all who have it and kept as it was
    served; an address in it would be a secret in clear in the log, and in a site's feed everybody's. The
    request tells the server the calendar's secret alone, from which the page's does not follow, on purpose
    (see *Two secrets for a keeper*). So `export --link` takes the address from the person, and served feeds
    have none: there is no `--link` of `links`. What would make one possible without a secret in clear: a
    kind of link whose page follows from its calendar, for those who want just that, with the address filled
    in while the feed is answered. It would turn every leaked calendar into a way to record. An exported
    address is checked against the log where that knows it: nobody is led to another keeper's page.
    `#tank-ID` is there on every day: the round lists the tanks without work by that name.

One agenda says what stands in which entry
    One agenda says what stands in which entry (`calendar/agenda.py`), and every feed and the `uid` of
    `jobs` ask it. A month's view has four lines a day and some ten characters in each: what is done day
    after day is one entry for each part of the day, and everything else one of its own, with the work in
    front. Tried beside it: folding in what is weekly (entries vanish when an interval changes), grouping by
    rule or by kind over tanks (up to 2.1 vanished entries a day against 0.2).

A routine entry is a rule for each weekday
    A routine entry is a rule for each weekday, by weekday and number, not by the set of its jobs: other
    feeding days, another tank, a tank that has cycled change entries, and none comes or goes. A day of
    which some is done is taken out of the rule, and what is left of it has an entry of one fixed name that
    goes from such day to such day. What was done is told in the notes of the weekday: entries of it would
    come and go every day. So a day of the past shows what was not recorded.

As far as rounds are planned, they are the calendar
    A fifth of all round jobs stand on another day than the one on which they fall due, so a feed of what is
    due and a feed of who comes contradict each other on one job in five; now the site's and the enclosures'
    feeds have an entry a keeper and day to the end of the rota, an entry for what nobody takes, one that
    says where the rounds end, and the plan's own rules from the day after. It is so with one keeper too,
    whose rounds may lie on other days than the plan's. All-day by default: six rounds at one hour are six
    columns that nobody can read. With more than six enclosures only routine and what is fortnightly or
    rarer follow after the end; the enclosures' own feeds have all of it.

Entries begin at fixed slots
    Entries begin at fixed slots, by kind of work and place on the walk, never summed up from minutes: five
    minutes more for one job would else move every rule of the site. The walk takes at most three hours;
    with more than 13 enclosures it begins anew.

The secret address of a served feed does not stand in it
    The secret address of a served feed does not stand in it: SOURCE (RFC 7986) is written where
    `--base-url` gives an address, not by the server. A calendar that is handed on would hand on the address
    with it, and who has a feed knows where it came from.

The site's feed has routine and rounds without their steps, other work without its reason
    The site's feed has routine and rounds without their steps, other work without its reason, when the full
    notes would pass 700 kB: big web calendars lose larger feeds. The keepers' and the enclosures' own feeds
    always carry everything.
"""

from scheduler.calendar.agenda import Agenda
from scheduler.calendar.component import Options, Writer
from scheduler.calendar.feed import Feed
from scheduler.calendar.identity import uid_of
from scheduler.calendar.verify import FeedError, referee, verify
from scheduler.calendar.zones import UTC_NAMES

__all__ = ["UTC_NAMES", "Agenda", "Feed", "FeedError", "Options", "Writer", "referee", "uid_of", "verify"]
