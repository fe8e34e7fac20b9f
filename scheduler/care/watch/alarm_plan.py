"""What is done about an alarm, and what follows it, in words."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care.engine.case import Case
from scheduler.care.watch.alarms import EXTRA, Alarm, alarms
from scheduler.care.watch.registry import Consequence, switched_off, watch


@watch
def told(case: Case) -> Iterator[Consequence]:
    """Say what alarms there are, and what ended."""
    watched = alarms(case)
    for alarm in watched.open:
        yield Consequence(
            key="water-change",
            verdict=alarm.verdict,
            reading=alarm.reading,
            rule=alarm.rule,
            source=alarm.source,
            plan=_plan(case, alarm, [a for a in watched.open if a is not alarm]),
            gist=f"an alarm of {alarm.what}",
        )
    # What is over is not told beside what is not.
    for what, day in watched.ended if not watched.open else ():
        yield Consequence(
            key="water-test",
            verdict="fine",
            reading=f"{what.capitalize()} was clean in the tests of two days, the second on {case.date(day)}.",  # noqa: E501
            rule="The alarm is over.",
            source=EXTRA,
            plan="Extra changes and tests are no longer planned for it.",
        )


def _plan(case: Case, alarm: Alarm, others: list[Alarm]) -> str:
    """Say what is done about an alarm; one that is not alone has its changes with the other substance's,
    where those are larger."""
    change = "" if switched_off(case, "water-change") or not alarm.share else _change(case, alarm, others)
    pace = alarm.pace
    if pace and any(other.left for other in others):
        change, pace = "", "The change that nitrite asks for comes after that, with a test of pH before it."
    done = change if alarm.changed_on and not alarm.left else ""
    told = (alarm.first, pace, "" if done else change, alarm.asks, _tests(case, alarm), done)
    return " ".join(filter(None, told))


def _change(case: Case, alarm: Alarm, others: list[Alarm]) -> str:
    """Say whether the extra change is due, in part or not any more."""
    if alarm.changed_on and not alarm.left:
        return f"The extra change of {alarm.share * 100:.0f} % was done on {case.date(alarm.changed_on[-1])}."
    binds = not alarm.first and any(other.first for other in others if other.what == "ammonia")
    bind = (
        "Bind the ammonia first, with a conditioner that binds ammonia, by its label; then change"
        if binds
        else "Change"
    )
    if not alarm.changed_on:
        return f"{bind} {alarm.share * 100:.0f} % of the water now."
    return (
        f"{bind} another {alarm.left * 100:.0f} % of the water now: the change of "
        f"{case.date(alarm.changed_on[-1])} was less than the {alarm.share * 100:.0f} % that it takes."
    )


def _tests(case: Case, alarm: Alarm) -> str:
    """Say which tests follow an alarm."""
    if alarm.what == "nitrate":
        return "" if switched_off(case, "water-test") else "Test nitrate again with the next water test."
    if case.described.cycled is False and case.enclosure.cycled is False:
        return "" if switched_off(case, "cycle-test") else "Go on with the daily cycle test."
    if switched_off(case, "water-test"):
        return ""
    days = [case.date(day) for day in alarm.tested_on]
    return f"Test the water again on {', '.join(days[:-1])} and {days[-1]}, until two tests are clean."
