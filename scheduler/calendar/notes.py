"""What the notes of entries say: the work first, then its steps, and short what only explains them.

Shortened are the reason, the sources and the sums; a step, an amount or a caution never is (a caution has a
short form of its own). Plain text: numbers, boxes and hyphens that every calendar shows as they are.
"""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from scheduler.care import Job, cautions
from scheduler.care.cautions import HANDS, UNPLUG, Caution
from scheduler.care.engine.job import Notes
from scheduler.care.leading import leading
from scheduler.locales import PLAIN, Formats
from scheduler.quantities import show_minutes
from scheduler.rota.rounds import walking_order
from scheduler.sources import KEEPER

JOB_LIMIT = 2000
"""How many characters the note of one job has at most.

House value: what a telephone shows in a few screens.
"""


ROUTINE_LIMIT = 4000
"""How many the note of a household's routine has. House value."""

ROUND_LIMIT = 10_000
"""How many the note of a round has, and of the routine of a site of many enclosures. House value."""

QUARANTINE = "Quarantine, last: tools of its own; wash your hands before and after."

ELSEWHERE = "pondround jobs --explain"
"""Where the rest of a note is, for those who have no page."""

_FIXED = {UNPLUG: 1, HANDS: 2}
"""These two come last and always in the same words, so that they are known at a glance."""

_SENTENCE_END = re.compile(r"(?<=[.!?]) +(?=[A-Z])")


@dataclass(frozen=True, slots=True)
class Work:
    """One job in an entry.

    `late_since` is the day on which it fell due, where it is late; `with_name` who comes as a second person.
    Where the entry is that second person's, `lent_to` is whose work it is: that one has the steps. `formats`
    are those of the site.
    """

    job: Job
    late_since: dt.date | None = None
    with_name: str = ""
    lent_to: str = ""
    quarantine: bool = False
    formats: Formats = PLAIN

    @property
    def title(self) -> str:
        """Return what the job is called at the beginning of a line."""
        return _sentence(self.job.title)

    @property
    def line(self) -> str:
        """Return the job in one line: `Water change, 45 min, with Ines, late since 3 December 2026`."""
        lead = f"Lend a hand to {self.lent_to}: " if self.lent_to else ""
        helper = f", with {self.with_name}" if self.with_name else ""
        late = f", late since {self.formats.date(self.late_since)}" if self.late_since is not None else ""
        return f"{lead}{self.title}, {self.job.minutes} min{helper}{late}"


def job_note(
    job: Job,
    *,
    link: str = "",
    late_since: dt.date | None = None,
    with_name: str = "",
    formats: Formats = PLAIN,
    brief: bool = False,
) -> str:
    """Return the note of an entry that is one job: the work, its steps, its cautions in short, and one
    sentence of why.

    `link` is the address of a page that has the whole note. Above JOB_LIMIT the sentence of why falls away;
    steps, amounts and cautions stand there whatever their length. A `brief` one has nothing else.
    """
    notes = job.notes()
    line = Work(job, late_since, with_name, formats=formats).line
    first = "\n".join(filter(None, [line, notes.brief()]))
    if brief:
        return _join([first, _care(notes.cautions)])
    rest = [_care(notes.cautions), _why(notes), _elsewhere([notes], link)]
    whole = _join([first, *rest])
    return whole if len(whole) <= JOB_LIMIT else _join([first, rest[0], rest[2]])


def group_note(
    parts: Iterable[Work],
    *,
    limit: int,
    link: str | None = "",
    done: Sequence[str] = (),
    heading: str = "",
    beside: Iterable[Caution] = (),
) -> str:
    """Return the note of an entry that is several jobs: a routine, or a round.

    First the `heading` (by itself: what is done, and how long it takes), then enclosure by enclosure in
    walking order, quarantine last, each job with a box and its steps. A step that a job above has word for
    word is there by its number alone, `1, 3 as at Den`, unless the job's own amount is in it. Then the
    cautions, each once, with those `beside` the jobs' own; what was `done` lately, line by line as given, the
    latest first; and where the rest is. The reason of a job that is the only one of its kind stands under it
    where that fits into `limit` characters; what many share is left out. Steps, amounts and cautions are not
    cut also where they alone are above the limit.
    """
    works = _in_order(parts)
    notes = [work.job.notes() for work in works]
    kinds = Counter(work.job.key for work in works)
    alone = {key for key, number in kinds.items() if number == 1}
    rest = [
        _care([*(caution for one in notes for caution in one.cautions), *beside]),
        "\n".join(done),
        _elsewhere(notes, link),
    ]
    whole = ""
    for reasoned in (alone, set[str]()):
        blocks = [*_enclosures([*zip(works, notes, strict=True)], reasoned)]
        # The work and the first tank are one block: a note's window shows four lines.
        first = "\n".join([heading or _heading(works), *blocks[:1]])
        whole = _join([first, *blocks[1:], *rest])
        if len(whole) <= limit:
            break
    return whole


def _in_order(parts: Iterable[Work]) -> list[Work]:
    """Return the works in walking order; an enclosure of which one job is in quarantine is so with all of
    them."""
    found = list(parts)
    apart = {work.job.enclosure.id for work in found if work.quarantine}
    made = [replace(work, quarantine=work.job.enclosure.id in apart) for work in found]
    return sorted(made, key=lambda work: walking_order(work.job, quarantine=work.quarantine))


def _heading(works: Sequence[Work]) -> str:
    """Return what is done and how long it takes, what leads in titles first: `Heater check, Top up x 2, 25
    min`."""
    ordered = sorted(works, key=lambda work: leading(work.job, late=work.late_since is not None))
    kinds = Counter(work.job.short for work in ordered)
    said = ", ".join(f"{short} x {number}" if number > 1 else short for short, number in kinds.items())
    return f"{said}, {show_minutes(sum(work.job.minutes for work in works))}"


def _enclosures(some: Sequence[tuple[Work, Notes]], reasoned: Collection[str]) -> Iterator[str]:
    """Yield a block for each enclosure, with its name; before the first one in quarantine its heading."""
    told: dict[str, _Told] = {}
    apart = False
    for _, group in groupby(some, key=lambda one: (one[0].job.enclosure.id, one[0].job.part)):
        held = list(group)
        enclosure = held[0][0].job.enclosure
        lines = [QUARANTINE] if held[0][0].quarantine and not apart else []
        apart = apart or held[0][0].quarantine
        lines.append(enclosure.name + (f" ({enclosure.room})" if enclosure.room else ""))
        for work, notes in held:
            lines.append(f"[ ] {work.line}")
            if not work.lent_to:
                lines += _steps(work, notes, told)
                lines += [_why(notes)] if work.job.key in reasoned and notes.reason else []
        yield "\n".join(lines)


@dataclass(frozen=True, slots=True)
class _Told:
    """Where a step stands already."""

    work: Work
    number: int


def _steps(work: Work, notes: Notes, told: dict[str, _Told]) -> Iterator[str]:
    """Yield the steps of a job; those that stand above already together in one line, in the place of the
    first of them.

    The step with the amount of the job stays, also where it is the same as another's.
    """
    amount = notes.amount.value if notes.amount is not None else ""
    numbered = [*enumerate(notes.steps, start=1)]
    before = {n: told[step] for n, step in numbered if step in told and not (amount and amount in step)}
    for number, step in numbered:
        told.setdefault(step, _Told(work, number))
        if number not in before:
            yield f"{number}. {step}" if numbered[1:] else f"- {step}"
        elif number == min(before):
            yield _above(work, before, whole=len(before) == len(numbered))


def _above(work: Work, before: Mapping[int, _Told], *, whole: bool) -> str:
    """Return where steps stand, by their numbers: `1, 3 to 5 as at Den`, `2 as 1 of Filter check above`."""
    by_place: dict[tuple[str, str, bool], list[tuple[int, int]]] = {}
    for number, found in before.items():
        here = found.work.job.enclosure.id == work.job.enclosure.id
        where = "above" if here else f"at {found.work.job.enclosure.name}"
        of = "" if found.work.job.key == work.job.key and not here else f" of {found.work.title}"
        same = number == found.number and not of
        by_place.setdefault((where, of, same), []).append((number, found.number))
    said = []
    for (where, of, same), pairs in by_place.items():
        mine, theirs = (_numbers([pair[n] for pair in pairs]) for n in (0, 1))
        all_of_it = whole and len(by_place) == 1 and same
        own = "" if all_of_it else f"{mine} "
        said.append(f"{own}as {'' if same else f'{theirs}{of} '}{where}")
    return _sentence("; ".join(said)) + "."


def _numbers(some: Sequence[int]) -> str:
    """Return numbers in order, runs of three and more as such: `1, 3 to 5`."""
    runs: list[list[int]] = []
    for number in some:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)


def _care(some: Iterable[Caution]) -> str:
    """Return the cautions in short, each once: the worst first, current and hands, which every keeper knows,
    last."""
    found = sorted(cautions.worst_first(some), key=lambda caution: _FIXED.get(caution, 0))
    return "\n".join(["Take care:", *(f"- {caution.short}" for caution in found)]) if found else ""


def _why(notes: Notes) -> str:
    """Return the first sentence of the reason, which holds without what follows; the rest is elsewhere."""
    return f"Why: {_SENTENCE_END.split(notes.reason, maxsplit=1)[0]}" if notes.reason else ""


def _elsewhere(some: Iterable[Notes], link: str | None) -> str:
    """Return where the whole of it is; nothing where a keeper's own words are the whole of it."""
    if link is None or not any(
        notes.cautions or notes.reason or set(notes.sources) - {KEEPER} for notes in some
    ):
        return ""
    return f"All of it: {link or ELSEWHERE}"


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _join(blocks: Iterable[str]) -> str:
    return "\n\n".join(filter(None, blocks))
