"""What is news to a keeper of the round of a day: what came or went since it was told, or was there to be
seen.

What the keeper did is no news, nor what anybody else has done of the round, nor what is left of the keeper's
own.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from scheduler.care import Job
from scheduler.description.site import Keeper
from scheduler.history import OccurrenceRef
from scheduler.log import Published
from scheduler.log.reminders import MailedDuty
from scheduler.mail import Duty, News
from scheduler.rota import Assigned
from scheduler.workflow.live.round_page import RoundPage, Turn


class RoundNews:
    """What the rounds of a site hold now, held against what was told of them, or could be seen when the day
    began."""

    def __init__(self, tended: RoundPage, before: Published | None) -> None:
        """Take the site as its pages show it, and the rota that held when the day began; None where none was
        published."""
        self.tended = tended
        self._before: dict[OccurrenceRef, Assigned] = {a.ref: a for a in before.assigned} if before else {}
        self._turns = {t.ref: t for some in tended.turns.values() for t in some}
        self._jobs = {s.job.ref: s.job for s in tended.planned.series}
        self._names = {k.id: k.name for k in tended.site.keepers}

    def duties(self, keeper: Keeper, day: dt.date) -> list[tuple[MailedDuty, Duty]]:
        """Return the round of a keeper on a day, in its order, with how each part of it is remembered."""
        own = [(_told(t), _duty(t)) for t in self.tended.mine(keeper, day)]
        return own + [(_told(t, helps=True), _duty(t, helps=True)) for t in self.tended.helps(keeper, day)]

    def seen(self, keeper: Keeper, day: dt.date) -> tuple[MailedDuty, ...]:
        """Return the round of a keeper on a day as it could be seen when this day began."""
        return tuple(
            MailedDuty(a.ref) for a in self._before.values() if a.keeper == keeper.id and a.day == day
        )

    def news(
        self, keeper: Keeper, day: dt.date, told: Sequence[MailedDuty], *, by_mail: bool
    ) -> tuple[list[News], tuple[MailedDuty, ...]]:
        """Return what is news of a round that was `told`, and what counts as told from now on.

        Where it was not told `by_mail` nobody knows who was to lend a hand, and that is none; nor what the
        notes held, and that is news where something was measured today.
        """
        now = self.duties(keeper, day)
        there = {(one.ref, one.helps) for one, _ in now}
        was = {(one.ref, one.helps): one for one in told}
        came: list[News] = []
        other: list[News] = []
        for one, duty in now:
            before = was.get((one.ref, one.helps))
            if before is not None:
                other += self._other(before, one, duty, by_mail=by_mail)
            elif (by_mail or not one.helps) and not self._is_left(keeper, one.ref, day):
                came.append(News(self._came(duty, one.ref, keeper, day), "also", duty.job))
        went, done = [], []
        for one in told:
            if (one.ref, one.helps) in there:
                continue
            if self._is_done(one.ref):
                done.append(one)
            else:
                went.append(self._went(one, keeper, day))
        return [*other, *came, *went], (*(one for one, _ in now), *done)

    def _other(self, before: MailedDuty, now: MailedDuty, duty: Duty, *, by_mail: bool) -> Iterator[News]:
        """Yield what is news of the note of something that was told: what an alarm brought in it, or that
        this is over."""
        if before.read_first == now.read_first or now.helps:
            return
        where = _titled(duty.job)
        if not now.read_first:
            yield News(f"As usual again: {where}.", "as usual", duty.job)
        elif by_mail or self._is_measured(duty.job.enclosure.id):
            yield News(f"Read its note again: {where}.", "", duty.job)

    def _is_measured(self, enclosure: str) -> bool:
        """Tell whether something was measured at an enclosure today."""
        today = self.tended.today
        return any(
            e.kind == "reading" and e.enclosure == enclosure and e.day == today for e in self.tended.done
        )

    def _is_left(self, keeper: Keeper, ref: OccurrenceRef, day: dt.date) -> bool:
        """Tell whether something is left of an earlier round of the keeper's own, who knows that best."""
        was = self._before.get(ref)
        return was is not None and was.keeper == keeper.id and was.day < min(day, self.tended.today)

    def _is_done(self, ref: OccurrenceRef) -> bool:
        """Tell whether something that is no longer to be done was done; an extra water change by a water
        change, say."""
        if ref in self._turns:
            return False
        job = self._jobs.get(ref.job)
        names = {ref.job, job.log_name} if job is not None else {ref.job}
        # What was done lately; of what was done before that nobody was told as still to be done.
        since = self.tended.today - dt.timedelta(days=1)
        return any(
            o.day >= since and (o.job.ref in names or o.job.log_name in names)
            for o in self.tended.planned.done
        )

    def _date(self, day: dt.date) -> str:
        return self.tended.site.settings.formats.weekday_date(day)

    def _came(self, duty: Duty, ref: OccurrenceRef, keeper: Keeper, day: dt.date) -> str:
        where = _titled(duty.job)
        if duty.helps:
            return f"Lend {duty.helps} a hand: {where}."
        was = self._before.get(ref)
        if was is not None and was.keeper != keeper.id and was.keeper in self._names:
            return f"Also yours: {where}, until now {self._names[was.keeper]}'s."
        if was is not None and was.day != day:
            return f"Also on this day: {where}, until now on {self._date(was.day)}."
        return f"New: {where}."

    def _went(self, one: MailedDuty, keeper: Keeper, day: dt.date) -> News:
        turn = self._turns.get(one.ref)
        job = turn.occurrence.job if turn is not None else self._jobs.get(one.ref.job)
        where = _titled(job) if job is not None else f"{one.ref.enclosure}, {one.ref.key}"
        if one.helps:
            words = f"Nobody needs your hand any more: {where}."
        elif turn is None:
            words = f"Not due in the coming days any more: {where}."
        elif turn.keeper is None:
            words = f"No longer yours: {where}. Nobody takes it yet."
        elif turn.keeper != keeper:
            # On another day the taker may come for it then.
            on = "" if turn.day == day else f" on {self._date(turn.day)}"
            words = f"No longer yours: {where}. {turn.keeper.name} takes it{on}."
        else:
            words = f"Not on this day: {where}. It is yours on {self._date(turn.day)}."
        return News(words, "without", job)


def _told(turn: Turn, *, helps: bool = False) -> MailedDuty:
    return MailedDuty(turn.ref, helps, turn.occurrence.job.read_first)


def _duty(turn: Turn, *, helps: bool = False) -> Duty:
    whose = turn.keeper.name if helps and turn.keeper is not None else ""
    helper = turn.helper.name if turn.helper is not None and not helps else ""
    return Duty(turn.occurrence, turn.quarantine, helper, whose)


def _titled(job: Job) -> str:
    room = f"{job.enclosure.room}, " if job.enclosure.room else ""
    return f"{room}{job.enclosure.name}: {job.title}"
