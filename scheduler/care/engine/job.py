"""What a job is: when it falls due, how long it takes, who may do it, and what to do."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field

from scheduler.care.asked import Asks
from scheduler.care.cautions import Caution
from scheduler.care.engine.figure import Figure
from scheduler.description.fields import Part
from scheduler.description.site import Enclosure
from scheduler.history import JobRef
from scheduler.quantities import Span
from scheduler.rules import Rule
from scheduler.sources import Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Every:
    """By interval since last done.

    `anchor` is the day that the first interval counts from, where it is known.

    The first occurrence may come early, to find a day among the other jobs. Where the interval is the life of
    a thing (`lasts`), it comes at most the window early. An interval of 3 or 4 days that may fall
    `by_weekdays` is planned on two weekdays 3 and 4 days apart, where its window allows that.
    """

    span: Span
    anchor: dt.date | None = None
    until: dt.date | None = None
    lasts: bool = False
    by_weekdays: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ByRule:
    """By calendar: the rule's instances from `start`, which is RFC 5545's DTSTART, to `until`, both
    included."""

    rule: Rule
    start: dt.date | None = None
    until: dt.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class On:
    """On single days, tied to an event or named by the keeper."""

    days: tuple[dt.date, ...]


Cadence = Every | ByRule | On

_MONDAY = dt.date(2024, 1, 1)
_BEAT_DAYS = 56


def _in_eight_weeks(cadence: ByRule) -> int:
    """Count the instances of eight weeks, which hold every beat of a rule that could be a frequent one."""
    first = cadence.start or _MONDAY
    return sum(1 for _ in cadence.rule.dates(first, first + dt.timedelta(days=_BEAT_DAYS - 1)))


@dataclass(frozen=True, slots=True)
class Amount:
    """What somebody has to know of a job who knows the rest: a value with its unit, in the site's units, and
    what it is of.

    Where it is no single value `value` is empty, and `of` says all there is: "one half of the media".
    """

    value: str
    of: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Notes:
    """What a keeper reads: ordered steps with amounts, cautions, the reason, and where the numbers come from.

    `amount` is *the* amount of the job, which stands in one of the steps too; None where it has none. `order`
    is what is done at once where a reading brought the job, verb first, and `because` what was read; both are
    empty for other jobs. `worked` are the figures that the amounts rest on, for those who ask how they came
    about.
    """

    steps: tuple[str, ...]
    amount: Amount | None = None
    order: str = ""
    because: str = ""
    cautions: tuple[Caution, ...] = ()
    reason: str = ""
    sources: tuple[Source, ...] = ()
    worked: tuple[Figure, ...] = ()

    def workings(self) -> list[str]:
        """Return how each amount came about, one line a figure."""
        return [f"{figure.label}: {figure.how()}." for figure in self.worked]

    def text(self, *, explain: bool = False) -> str:
        """Return the notes as plain text; with `explain`, with how each amount came about."""
        blocks = [self.brief()]
        if self.cautions:
            blocks.append("\n".join(f"Take care: {caution}" for caution in self.cautions))
        if self.reason:
            blocks.append(f"Why: {self.reason}")
        if explain and self.worked:
            blocks.append("How it came about:\n" + "\n".join(f"- {line}" for line in self.workings()))
        if self.sources:
            blocks.append("From: " + "; ".join(dict.fromkeys(str(source) for source in self.sources)) + ".")
        return "\n\n".join(blocks)

    def brief(self) -> str:
        """Return the steps alone."""
        if len(self.steps) == 1:
            return self.steps[0]
        return "\n".join(f"{number}. {step}" for number, step in enumerate(self.steps, start=1))


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Job:
    """A standing duty for one enclosure.

    `key` and `variant` are its identity inside the enclosure: the variant tells apart the jobs of one key
    that differ by animal, lamp or life stage. Key, rank (the place in a round) and whether it is `routine`
    are filled in by the register. `short` is the title for where there is little room: the work first, in at
    most 17 characters (`MOST_SHORT`), of which the first five tell the work apart; an extra job without one
    has its title there. `eve_of` names the job on whose eve this one likes to fall. `notes` is written out on
    demand: a plan of thousands of jobs does not hold their texts.

    `recorded_as` is the variant under which the log knows that it was done, where that is not its own: an
    extra water change is done by any water change. A job is `fixed` where its days follow from what happened:
    the keeper's cadence for its key does not move it. `met_on` are the days on which it was done where its
    own rule tells, by hour and amount and not by the day alone; while such a job is open, the one under whose
    name it is recorded does not stand beside it. `share` is that of the water, where it is another one than
    at a regular change. It `needs_two` where a load is above what one person should lift. It is `of_young`
    where it watches the growth of animals that are not grown. `asks` are the values that are read for it.
    `read_first` says that its note holds something that what was measured brought, as a stop of food.
    """

    enclosure: Enclosure
    key: str = ""
    variant: str = ""
    title: str
    short: str
    cadence: Cadence
    window: int = 0
    minutes: int
    part: Part = "morning"
    skills: tuple[str, ...] = ()
    heavy: bool = False
    eve_of: str = ""
    weekdays: tuple[int, ...] | None = None
    rank: int = 0
    recorded_as: str | None = None
    fixed: bool = False
    met_on: tuple[dt.date, ...] | None = None
    share: float | None = None
    needs_two: bool = False
    of_young: bool = False
    asks: Asks | None = None
    read_first: bool = False
    routine: bool = False
    notes: Callable[[], Notes] = field(compare=False)

    def __repr__(self) -> str:
        """Return its identity on one line: its fields hold the whole enclosure."""
        return f"<Job {self.enclosure.id}/{self.word}>"

    @property
    def ref(self) -> JobRef:
        """Return the identity of the job."""
        return JobRef(self.enclosure.id, self.key, self.variant)

    @property
    def log_name(self) -> JobRef:
        """Return what the log knows the job by: another variant where doing that is doing this one too."""
        variant = self.variant if self.recorded_as is None else self.recorded_as
        return JobRef(self.enclosure.id, self.key, variant)

    @property
    def is_frequent(self) -> bool:
        """Tell whether it comes more often than weekly."""
        match self.cadence:
            case Every(span=span):
                return span.most_days < 7
            case ByRule():
                return _in_eight_weeks(self.cadence) > _BEAT_DAYS // 7
        return False

    @property
    def is_daily(self) -> bool:
        """Tell whether it comes every day."""
        match self.cadence:
            case Every(span=span):
                return span.most_days == 1
            case ByRule():
                return _in_eight_weeks(self.cadence) == _BEAT_DAYS
        return False

    @property
    def is_plain(self) -> bool:
        """Tell whether it may be ticked off together with others of its tank: a frequent one that nobody has
        to stop and think for.

        What comes seldom, asks for values, takes two people, or is there because of a reading is ticked by
        itself.
        """
        by_itself = self.asks is not None or self.needs_two or self.fixed or self.read_first
        return not by_itself and self.is_frequent

    @property
    def word(self) -> str:
        """Return what names the job inside its enclosure: KEY, or KEY/VARIANT."""
        return f"{self.key}/{self.variant}" if self.variant else self.key

    def registered(self, key: str, rank: int, *, routine: bool = False) -> Job:
        """Fill in the key and the rank of a job that its rule has just made, and return it.

        One of a `routine` key is routine itself, unless its days follow from what happened.

        It changes the job itself, before anybody else has seen it: a copy of each would be a third of a
        plan's time.
        """
        object.__setattr__(self, "key", key)
        object.__setattr__(self, "rank", rank)
        object.__setattr__(self, "routine", routine and not self.fixed)
        return self
