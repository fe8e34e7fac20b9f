"""A household with all that the program does for it, in one folder and one process: what the commands and the web call."""

from __future__ import annotations

import datetime as dt
import shutil
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from scheduler import workflow
from scheduler.calendar import Options
from scheduler.description import Site
from scheduler.errors import DescriptionError
from scheduler.history import Entry
from scheduler.log import open_log
from scheduler.log.feed_cache import CachedFeed
from scheduler.plan import Occurrence
from scheduler.rota import Rota
from scheduler.sync import SyncWish, read_address, sync
from scheduler.sync.outcome import Outcome
from scheduler.workflow.feeds.links import IssuedLink, LinkRequest, key_of, make_link
from scheduler.workflow.live.feed_cache import SERVED_WEEKS
from scheduler.workflow.live.round_page import RoundPage
from scheduler.workflow.live.site import LiveSite
from scheduler.workflow.site_log import log_url
from scheduler.workflow.workspace import Workspace
from support.machine.calendar_server import URL, CalendarServer, HousePhone
from support.machine.household import FIRST, Household
from support.machine.kills import Kills

IN_MEMORY = next((name for name in ("/dev/shm",) if Path(name).is_dir()), None)
"""Where folders are made: a log waits for the disk with each entry, which is most of a step."""

PLAN_DAYS = 42
SYNCED_WEEKS = 2


def empty_log() -> bytes:
    """Return the file of a log without entries, made once: its tables take as long as a step."""
    with tempfile.TemporaryDirectory(dir=IN_MEMORY) as folder:
        file = Path(folder) / "empty.db"
        with open_log(f"sqlite:///{file}"):
            pass
        return file.read_bytes()


@dataclass
class Home:
    """The folder of a household, its day, the processes that serve it, and a calendar server."""

    log: bytes
    today: dt.date = FIRST
    household: Household = field(default_factory=Household)
    kills: Kills = field(default_factory=Kills)
    said: list[str] = field(default_factory=list)
    _read: tuple[str, dt.date, Site] | None = None

    def __post_init__(self) -> None:
        """Describe it, link everything, start two processes."""
        self.folder = Path(tempfile.mkdtemp(prefix="pondround-home-", dir=IN_MEMORY))
        self.file = self.folder / "alder-row.toml"
        self.file.with_suffix(".db").write_bytes(self.log)
        self.server = CalendarServer(self.folder / "server", asked=self.kills.write)
        self.phone = HousePhone(self.server)
        self.describe()
        site = self.site
        self.pages: dict[str, IssuedLink] = {k.id: self._link("page", k.id) for k in site.keepers}
        self.feeds: dict[str, str] = {"site": self._link("site").secret}
        self.feeds |= {e.id: self._link("enclosure", e.id).secret for e in site.enclosures}
        self.feeds |= {keeper: page.calendar for keeper, page in self.pages.items()}
        self.processes: list[LiveSite] = []
        self.restart()

    def _link(self, kind: str, of: str = "") -> IssuedLink:
        return make_link(self.file, self.site, LinkRequest(kind=kind, of=of))  # type: ignore[arg-type]

    def close(self) -> None:
        """Take the folder away."""
        shutil.rmtree(self.folder)

    # --- what everybody reads ---

    @property
    def site(self) -> Site:
        """Return the site as it is described now, and on this day: read as often as it changes.

        While there is a mistake in it, it is what was there before.
        """
        text = self.file.read_text("utf-8")
        if self._read is None or self._read[:2] != (text, self.today):
            try:
                site = workflow.read_site(self.file).on(self.today)
            except DescriptionError:
                assert self._read is not None
                return self._read[2]
            self._read = (text, self.today, site)
        return self._read[2]

    def entries(self) -> list[Entry]:
        """Return the whole log."""
        with open_log(log_url(self.file, self.site), create=False) as log:
            return list(log.entries(self.site.settings.id))

    def planned(self) -> list[tuple[object, ...]]:
        """Return the plan of some weeks: day, enclosure, job, variant, state and since when it is open."""
        found = workflow.days_of(self._plan(PLAN_DAYS))
        return [(o.day, *o.job.ref, o.state, o.since) for o in found]

    def _plan(self, days: int) -> workflow.Planned:
        since = self.today - dt.timedelta(days=workflow.DONE_DAYS)
        history = workflow.history_of(Workspace(self.file, self.site, self.today), done_since=since)
        return workflow.make_plan(self.site, self.today, self.today, days, history)

    def due(self) -> list[Occurrence]:
        """Return what is open today or falls due within a week."""
        return [o for o in workflow.days_of(self._plan(8)) if o.state != "done"]

    def rota(self) -> Rota:
        """Return the rota as `pondround rota` makes it."""
        return workflow.make_rota(Workspace(self.file, self.site, self.today), self.today, 4).rota

    # --- processes ---

    def restart(self) -> None:
        """Forget all that processes hold in memory."""
        key = key_of(self.file, make=True)
        self.processes = [LiveSite(self.file, key, self.said.append, self.today) for _ in range(2)]

    def feed(self, process: int, name: str) -> CachedFeed:
        """Fetch a feed as a calendar program does."""
        live = self.processes[process]
        live.look(now=True)
        found = live.find(self.feeds[name])
        assert found is not None, f"the link of {name} opens nothing"
        shelved = live.feed(found)
        assert shelved is not None, f"there is no feed of {name}"
        return shelved

    def rounds(self, process: int) -> dict[str, bytes]:
        """Fetch the calendar of each keeper's rounds."""
        return {keeper: self.feed(process, keeper).body() for keeper in self.pages}

    def page(self, process: int) -> RoundPage:
        """Open a page."""
        return self.processes[process].tended()

    # --- what people do ---

    def describe(self) -> None:
        """Write the description, as an editor does that replaces files."""
        new = self.file.with_suffix(".new")
        new.write_text(self.household.text(), "utf-8")
        new.replace(self.file)

    def pass_days(self, days: int) -> None:
        """Let days pass under the processes that run: a server does not end at midnight."""
        self.today += dt.timedelta(days=days)
        for live in self.processes:
            live._as_of = self.today

    def who(self, by: str, back: int = 0) -> workflow.Who:
        """Return who records, for so many days ago."""
        return workflow.Who(
            by=self.household.names[by], on=self.today - dt.timedelta(days=back), as_of=self.today
        )

    def did(self, one: Occurrence, by: str, back: int = 0) -> list[tuple[Entry, bool]]:
        """Record a job by the command."""
        _, key, variant = one.job.log_name
        words = [one.job.enclosure.name, f"{key}/{variant}" if variant else key]
        done = workflow.did(Workspace(self.file, self.site, self.today), words, self.who(by, back))
        return list(done.entries)

    def amend(self, one: Occurrence, by: str, days: int | None) -> list[tuple[Entry, bool]]:
        """Put an occurrence off by so many days, or leave it out for None, by the command."""
        word = f"{one.job.key}/{one.job.variant}" if one.job.variant else f"{one.job.key}/"
        to = None if days is None else max(one.day, self.today) + dt.timedelta(days=days)
        wish = workflow.AmendmentWish(to=to, on=one.due if one.since is None else None)
        space = Workspace(self.file, self.site, self.today)
        made = workflow.amend(space, [one.job.enclosure.name, word], wish, self.who(by), sure=True)
        return list(made.entries)

    def once(self, enclosure: str, title: str, by: str, days: int) -> list[tuple[Entry, bool]]:
        """Plan something that comes once, by the command."""
        wish = workflow.OnceWish(title=title, on=self.today + dt.timedelta(days=days), minutes=15)
        space = Workspace(self.file, self.site, self.today)
        made = workflow.once(space, self.household.names[enclosure], wish, self.who(by))
        return list(made.entries)

    def plan_once(self, process: int, enclosure: str, title: str, by: str, days: int) -> Entry:
        """Plan something that comes once, from a page."""
        live, tended = self.processes[process], self.page(process)
        keeper = next(k for k in tended.described.keepers if k.id == by)
        wish = workflow.OnceWish(title=title, on=self.today + dt.timedelta(days=days), minutes=15)
        tending = live.tending(tended, keeper)
        return tending.once(live.log(), tended, enclosure, wish, tended.stand.entry, note="")

    def change(self, plan: Callable[[Workspace, workflow.Who], workflow.Edit], by: str, back: int) -> int:
        """Change the description by a command; return the number of the entry."""
        space = Workspace(self.file, self.site, self.today, self.today)
        made = workflow.perform(space, plan(space, self.who(by, back)))
        self.household.read(self.file.read_text("utf-8"))
        return made.entries[0][0].number

    def go_away(self, who: str, by: str, begin: int, days: int) -> None:
        """Say that somebody is away for so many days, by the command."""
        first = self.today + dt.timedelta(days=begin)
        space = Workspace(self.file, self.site, self.today, self.today)
        span = first, first + dt.timedelta(days=days - 1)
        said = workflow.plan_absence(space, self.household.names[who], span, self.who(by))
        workflow.keep_absence(space, said, self.who(by))

    def come_back(self, who: str, by: str, begin: int) -> None:
        """Say that somebody is back on a day, by the command."""
        space = Workspace(self.file, self.site, self.today, self.today)
        day = self.today + dt.timedelta(days=begin)
        said = workflow.plan_return(space, self.household.names[who], day, self.who(by))
        workflow.keep_absence(space, said, self.who(by))

    def put_off(self, process: int, one: Occurrence, by: str, days: int | None) -> Entry:
        """Put an occurrence off, or leave it out, from a page."""
        live, tended = self.processes[process], self.page(process)
        keeper = next(k for k in tended.described.keepers if k.id == by)
        to = None if days is None else self.today + dt.timedelta(days=days)
        return live.tending(tended, keeper).not_today(
            live.log(),
            tended,
            one.job.ref,
            tended.stand.entry,
            workflow.AmendmentWish(to=to, on=one.due),
            note="",
            sure=True,
        )

    def tick(self, process: int, one: Occurrence, by: str, back: int = 0) -> str:
        """Record a job from a page; return what became of it."""
        live, tended = self.processes[process], self.page(process)
        keeper = next(k for k in tended.described.keepers if k.id == by)
        tending = live.tending(tended, keeper)
        on = self.today - dt.timedelta(days=back) if back else None
        return tending.tick(live.log(), tended, one.job.ref, tended.stand.entry, on=on)

    def measure(self, enclosure: str, written: str, by: str, back: int = 0) -> list[tuple[Entry, bool]]:
        """Record a reading by the command."""
        names = [self.household.names[enclosure]]
        made = workflow.read(
            Workspace(self.file, self.site, self.today), names, [written], who=self.who(by, back), sure=True
        )
        return list(made.entries)

    def undo(self, by: str, number: int | None = None) -> None:
        """Take an entry back, the last one without a number."""
        workflow.undo(Workspace(self.file, self.site, self.today), self.who(by), number)
        self.household.read(self.file.read_text("utf-8"))

    def publish(self, weeks: int, ill: Sequence[str] = (), *, afresh: bool = False) -> Rota:
        """Publish a rota, with who is ill on which days (`Noor`, `Noor=2026-12-15/2026-12-17`)."""
        absent = workflow.absences(self.site, self.today, ill)
        made = workflow.make_rota(
            Workspace(self.file, self.site, self.today), self.today, weeks, absent=absent, afresh=afresh
        )
        workflow.publish_rota(Workspace(self.file, self.site, self.today, self.today), made)
        return made.rota

    def swap(self, one: tuple[dt.date, str], taker: str, job: str = "") -> None:
        """Hand a round over, or a job of it."""
        day, giver = one
        wish = workflow.SwapRequest(day, giver, taker, (job,) if job else ())
        workflow.swap(Workspace(self.file, self.site, self.today, self.today), wish)

    def export(self) -> dict[str, bytes]:
        """Export into a folder; return its calendars by their file names."""
        site, to = self.site, self.folder / "calendars"
        shared = workflow.rota_to_export(Workspace(self.file, site, self.today), self.today)
        planned = self._plan(SERVED_WEEKS * 7)
        workflow.export(planned, to, Options(), keep_starts=True, rota=shared.rota)
        return {file.name: file.read_bytes() for file in sorted(to.glob("*.ics"))}

    def sync(self) -> Outcome:
        """Sync with the calendar server."""
        wish = SyncWish(weeks=SYNCED_WEEKS)
        with self.server.reached():
            return sync(Workspace(self.file, self.site, self.today, self.today), read_address(URL), wish)
