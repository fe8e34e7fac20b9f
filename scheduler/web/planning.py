"""What is planned from a page: something that comes once, and the days on which its keeper cannot come."""

from __future__ import annotations

import datetime as dt

from starlette.responses import Response

from scheduler.description.site import Keeper
from scheduler.errors import UsageError
from scheduler.history import JobRef
from scheduler.sheets.recorded import as_amended
from scheduler.web.rows import at_entries
from scheduler.web.submitted_form import SubmittedForm
from scheduler.web.visit import PageVisit
from scheduler.workflow.record.amendments import OnceWish
from scheduler.workflow.record.notes import clean_note
from scheduler.workflow.record.standing import Who
from scheduler.workflow.rota.away import AwayPlan, keep_absence, plan_absence, plan_return
from scheduler.workflow.rota.differences import RotaChange


def plan_once(visit: PageVisit, posted: SubmittedForm) -> Response:
    """Plan something that comes once, and return the way to the line that says so."""
    form = posted.form
    minutes = form.get("minutes", "").strip()
    if not minutes.isdecimal() or len(minutes) > len("9999"):
        raise UsageError("write the minutes that it takes as a number")
    wish = OnceWish(title=form.get("title", ""), on=_day(form.get("on", "")), minutes=int(minutes))
    tending, note = visit.live.tending(visit.tended, visit.keeper), clean_note(form.get("why", ""))
    entry = tending.once(
        visit.live.log(), visit.tended, form.get("enclosure", ""), wish, posted.entry, note=note
    )
    if entry.voided:
        raise UsageError("this was planned and that was taken back since the page was made")
    return visit.back(at_entries([entry.number]))


def say_away(visit: PageVisit, posted: SubmittedForm) -> Response:
    """Ask whether a keeper is away on some days, with what that changes; or record and publish it."""
    form, keeper = posted.form, _keeper(visit, posted)
    span = _day(form.get("on", "")), _day(form.get("to", ""))
    if span[1] < span[0]:
        raise UsageError("the last day is before the first one")
    who = _who(visit, form.get("why", ""))
    space = visit.live.tending(visit.tended, keeper).space
    kept = {name: form[name] for name in ("on", "to", "why", "who") if name in form}
    return _asked(visit, posted, plan_absence(space, keeper.id, span, who), who, kept)


def say_back(visit: PageVisit, posted: SubmittedForm) -> Response:
    """Ask whether a keeper is here again from today, with what that changes; or record and publish it."""
    keeper, who = _keeper(visit, posted), _who(visit, "")
    space = visit.live.tending(visit.tended, keeper).space
    kept = {"who": posted.form["who"]} if "who" in posted.form else {}
    return _asked(visit, posted, plan_return(space, keeper.id, visit.tended.today, who), who, kept)


def away_days(visit: PageVisit) -> list[tuple[dt.date, dt.date]]:
    """Return the spans of days on which the keeper of a page is away from today on, as was said."""
    if visit.keeper is None:
        return []
    return [(first, last) for who, first, last in said_away(visit) if who == visit.keeper.id]


def said_away(visit: PageVisit) -> list[tuple[str, dt.date, dt.date]]:
    """Return who is away from today on as was said, by id, with the first and the last day."""
    said = visit.live.log().away(visit.tended.described.settings.id)
    return sorted((who, first, last) for who, first, last in said if last >= visit.tended.today)


def _asked(
    visit: PageVisit, posted: SubmittedForm, planned: AwayPlan, who: Who, kept: dict[str, str]
) -> Response:
    site, shown = visit.tended.described, planned.shown
    if posted.form.get("sure") == "yes":
        keep_absence(visit.live.tending(visit.tended, visit.keeper).space, planned, who)
        return visit.back("#round")
    said = [as_amended(site, entry) for entry in planned.entries]
    here = f"{planned.keeper.name} is here again from today"
    return visit.html(
        "away.html",
        said=f"{'; '.join(said) if planned.back is None else here}.",
        back=planned.back is not None,
        part="back" if planned.back is not None else "away",
        lines=[_changed(visit, one) for one in shown.changes if not one.gone],
        texts=_texts(visit, planned) if visit.is_coordinator else [],
        left=[
            f"{job.enclosure.name}, {job.title}, {site.settings.formats.short_date(one.item.due)}"
            for one in shown.rota.unfilled
            for job in [one.item.job]
        ],
        kept=kept,
    )


def _texts(visit: PageVisit, planned: AwayPlan) -> list[tuple[str, str]]:
    """Return what to send to everybody who gets something by a change, by the name of who gets it."""
    site = visit.tended.described
    date, names = site.settings.formats.weekday_date, {k.id: k.name for k in site.keepers}
    places = {e.id: e.name for e in site.enclosures}
    titles = {s.job.ref: s.job.title for s in visit.tended.planned.series}
    found: dict[str, dict[dt.date, list[str]]] = {}
    for one in planned.shown.changes:
        if one.gone or one.now is None:
            continue
        day, who = one.now
        job = JobRef(one.enclosure, one.job, one.variant)
        said = f"{places.get(one.enclosure, one.enclosure)}, {titles.get(job, one.job)}"
        found.setdefault(who, {}).setdefault(day, []).append(said)
    why = f"{planned.keeper.name} cannot come. " if planned.back is None else ""
    return [
        (
            names.get(who, who),
            why
            + " ".join(
                f"Please also do on {date(day)}: {'; '.join(jobs)}." for day, jobs in sorted(days.items())
            )
            + " Thank you.",
        )
        for who, days in sorted(found.items(), key=lambda item: names.get(item[0], item[0]))
    ]


def _changed(visit: PageVisit, change: RotaChange) -> str:
    """Return who takes what from now on, and when."""
    site = visit.tended.described
    date = site.settings.formats.short_date
    names = {k.id: k.name for k in site.keepers}
    places = {e.id: e.name for e in site.enclosures}
    job = JobRef(change.enclosure, change.job, change.variant)
    title = next((s.job.title for s in visit.tended.planned.series if s.job.ref == job), change.job)
    said = f"{places.get(change.enclosure, change.enclosure)}, {title}, {date(change.due)}: "
    if change.now is None:
        return f"{said}nobody takes it"
    day, who = change.now
    return f"{said}{names.get(who, who)} takes it{f' on {date(day)}' if day != change.due else ''}"


def _keeper(visit: PageVisit, posted: SubmittedForm) -> Keeper:
    keeper = visit.meant(posted.form, "who")
    if keeper is None:
        raise UsageError("this is the page of everybody; who is away says so on a page of their own")
    return keeper


def _who(visit: PageVisit, note: str) -> Who:
    return visit.live.tending(visit.tended, visit.keeper).who(clean_note(note))


def _day(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise UsageError("choose the day") from None
