"""A sample that is kept for some weeks: work done, late, early and missed, a rota published anew when it is time, and
each morning's calendars, in one process and one folder.

Recording and publishing are the program's own use cases; calendars and the list of jobs come from its commands, so that
every state of the program is measured in the same way. What happens to a job on a day hangs on the seed, the day and the
job alone: what else stands in the plan changes nothing in that.
"""

from __future__ import annotations

import datetime as dt
import json
import random  # noqa: TID251 - seeded, for a keeper of its own
import shutil
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from typer.testing import CliRunner

from scheduler import workflow
from scheduler.care import Job
from scheduler.cli.main import app
from scheduler.log import open_log
from scheduler.workflow.record.done import record_jobs
from scheduler.workflow.record.standing import BEFORE_SET_UP, RecordContext
from scheduler.workflow.rota import publication
from scheduler.workflow.site_log import log_url
from scheduler.workflow.workspace import Workspace

SAMPLES = Path(__file__).parents[2] / "sample_configs"
FIRST = dt.date(2026, 12, 1)
DAY = dt.timedelta(days=1)
VIEW_DAYS = 28

ON_TIME, LATE, EARLY = 0.88, 0.06, 0.02
"""Of what is due on a day so much is done and recorded on it, so much recorded on the morning after; the rest is open
then. Of what comes within four days so much is done early. Invented."""

EARLY_DAYS = 4
ROUTINE = ("daily-look", "feed", "cycle-test", "basking-watch", "quarantine-watch")
"""The keys of jobs that come all the time; a month is looked at for the others."""


@dataclass
class Kept:
    """One sample in a folder of its own, on the day that it has reached."""

    sample: str
    seed: int = 0
    options: tuple[str, ...] = ()
    today: dt.date = FIRST
    _late: list[tuple[Job, str]] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Copy the description."""
        self.folder = Path(tempfile.mkdtemp(prefix="kept-days-"))
        self.file = self.folder / f"{self.sample}.toml"
        shutil.copyfile(SAMPLES / self.file.name, self.file)
        self.site = workflow.read_site(self.file)

    def close(self) -> None:
        """Take the folder away."""
        shutil.rmtree(self.folder)

    def days(self, count: int) -> Iterator[Kept]:
        """Yield the sample on each morning, its calendars not yet exported; between two of them a day's work is done."""
        for _ in range(count):
            if len(self.site.keepers) > 1:
                shown = workflow.rota_to_export(Workspace(self.file, self.site, self.today), self.today)
                publication.renew(Workspace(self.file, self.site, self.today, self.today), shown)
            yield self
            self._work()
            self.today += DAY

    def feeds(self, *options: str) -> dict[str, bytes]:
        """Export over the calendars of the day before; return the files by name, without their ending."""
        to = self.folder / "calendars"
        self._run("export", str(self.file), "--to", str(to), "--today", str(self.today), *options)
        return {path.stem: path.read_bytes() for path in sorted(to.glob("*.ics"))}

    def jobs(self, days: int = VIEW_DAYS) -> list[dict[str, Any]]:
        """Return the lines of `jobs --format json`."""
        said = self._run(
            "jobs", str(self.file), "--today", str(self.today), "--days", str(days), "--format", "json"
        )
        return [json.loads(line) for line in said.splitlines()]

    @cached_property
    def works(self) -> dict[str, str]:
        """Return the key of each work that the site knows, by its words: titles, and short titles where jobs have one."""
        found: dict[str, str] = {}
        for series in self._planned(366).series:
            for words in (series.job.title, getattr(series.job, "short", None)):
                if words:
                    found[words.lower()] = series.job.key
        return found

    def routine(self, key: str) -> bool:
        """Tell whether a job comes all the time: by its key, or by the description where it is the keeper's own."""
        own = (extra for e in self.site.enclosures for extra in e.extra_job if extra.key == key)
        return key in ROUTINE or any(getattr(extra, "routine", False) for extra in own)

    def _run(self, *arguments: str) -> str:
        done = CliRunner().invoke(app, arguments)
        if done.exit_code != 0:
            raise SystemExit(f"pondround {' '.join(arguments)} failed: {done.stderr[-2000:]}{done.exception}")
        return done.stdout

    def _planned(self, days: int) -> workflow.Planned:
        since = self.today - workflow.DONE_DAYS * DAY
        history = workflow.history_of(Workspace(self.file, self.site, self.today), done_since=since)
        return workflow.make_plan(self.site, self.today, self.today, days, history)

    def _turns(self) -> Iterator[tuple[dt.date, Job, str]]:
        """Yield what is to be done today and shortly after: the day, the job, the name of who does it."""
        last = self.today + EARLY_DAYS * DAY
        if len(self.site.keepers) > 1:
            shown = workflow.rota_to_export(Workspace(self.file, self.site, self.today), self.today)
            for one in shown.rota.rounds:
                if one.day <= last:
                    yield from ((one.day, task.item.job, one.keeper.name) for task in one.tasks)
            return
        who = self.site.keepers[0].name if self.site.keepers else ""
        for found in workflow.days_of(self._planned(EARLY_DAYS + 1)):
            if found.state != "done":
                yield found.day, found.job, who

    def _work(self) -> None:
        """Do and record today's work."""
        done: list[tuple[Job, str]] = []
        late: list[tuple[Job, str]] = []
        early: set[object] = set()
        for day, job, who in self._turns():
            set_up = job.enclosure.set_up
            if set_up is not None and self.today < set_up and job.key not in BEFORE_SET_UP:
                continue
            chance = random.Random(f"{self.seed} {self.today} {job.ref} {day - self.today}").random()
            if day == self.today and chance < ON_TIME:
                done.append((job, who))
            elif day == self.today and chance < ON_TIME + LATE:
                late.append((job, who))
            elif day > self.today and chance < EARLY and not self.routine(job.key) and job.ref not in early:
                early.add(job.ref)
                done.append((job, who))
        self._record(self._late, self.today - DAY)
        self._record(done, self.today)
        self._late = late

    def _record(self, work: Sequence[tuple[Job, str]], day: dt.date) -> None:
        if not work:
            return
        planned = self._planned(1)
        known = RecordContext(planned.site, self.today, planned.history)
        with open_log(log_url(self.file, self.site)) as log:
            seen = max((e.number for e in log.entries(self.site.settings.id)), default=0)
            for who in dict.fromkeys(name for _, name in work):
                told = workflow.Who(on=day, by=who or None, as_of=self.today)
                record_jobs(log, known, [job for job, name in work if name == who], told, seen=seen)
