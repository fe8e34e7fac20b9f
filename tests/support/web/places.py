"""Descriptions that the tests of the pages serve, with a link to each keeper's page and to the calendar of the site."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from scheduler.care import KEYS
from scheduler.workflow import read_site
from scheduler.workflow.feeds.links import LinkRequest, make_link
from support.web.serving import Served

TODAY = "2026-12-14"
"""A Monday."""

NOOR = '[[keeper]]\nname = "Noor"\nminutes = 90\ncan = ["adult", "electrics", "lifting"]\n'
BEN = '[[keeper]]\nname = "Ben"\nminutes = 60\ncan = ["adult", "glass"]\n'

TANK = """
[[enclosure]]
name = "Sedge"
room = "hall"
length = "120 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
covered = true
set_up = 2025-03-01
cycled = true
filter = {kind = "canister", flow = "1000 L/h"}
heater = [{power = "200 W", set_to = "25 degC", body = "titanium"}]
lamp = [{kind = "T5 HO tube", power = "24 W", installed = 2026-09-01, hours_a_day = 10, uvi = 2.0, uvi_at = "30 cm", basking_distance = "30 cm"}]
resident = [{name = "Fern", species = "painted turtle", sex = "female", carapace = "15 cm", mass = "480 g", measured = 2026-11-01}]
feed = {grams = 4, protein = 0.4}
extra_job = [
  {key = "pump", title = "rinse the pump", rule = "FREQ=WEEKLY;BYDAY=MO", minutes = 5, can = ["lifting"]},
  {key = "pane", title = "brush the pane", rule = "FREQ=WEEKLY;BYDAY=MO", minutes = 5},
]
"""


HOOD = '  {key = "hood", title = "polish the hood", rule = "FREQ=WEEKLY;BYDAY=MO", minutes = 5, can = ["glass"]},\n'


def site(name: str, *parts: str) -> str:
    """Return the description of a site; all sites of a folder keep one log, as on a server of many."""
    head = f'[site]\nname = "{name}"\ntime_zone = "Europe/Dublin"\nlog = "sqlite:///turtles.db"\ncontact = "Maud, in the office"\n'
    return head + "".join(parts)


def fen(name: str) -> str:
    """Return a tank that Noor and Ben share: the pump is hers alone, since he does not lift, and the hood
    is his, since he knows glass; the pane can be either's.
    """
    return site(name, NOOR, BEN, TANK.replace("extra_job = [\n", f"extra_job = [\n{HOOD}"))


OFF = ", ".join(f"{key} = {{off = true}}" for key in KEYS)
"""Every job that the care rules bring, turned off."""

IMAGE = "<img src=x onerror=alert(1)>"
SCRIPT = '"><script>alert(2)</script>'
LONG = "Hochwasserrückhaltebeckenwasserschildkrötenaufzuchtbehälter"

HOSTILE = site(
    "</title><script>alert(3)</script>",
    f"[[keeper]]\nname = '{IMAGE}'\nminutes = 90\n",
    f"[[enclosure]]\nname = '{SCRIPT}'\nroom = '<b>hall</b>'\njob = {{{OFF}}}\n",
    """extra_job = [{key = "pane", title = "</textarea><svg onload=alert(4)>", every = "1 day", note = "<a href=javascript:alert(5)>"}]\n""",
)

ODD = site(
    "Wetland & Söhne 🐢",
    f'[[keeper]]\nname = "{LONG}"\nminutes = 90\n[[keeper]]\nname = "سلمى"\nminutes = 90\n',
    *(
        f'[[enclosure]]\nname = "{name}"\nid = "e{number}"\nroom = "{room}"\njob = {{{OFF}}}\n'
        f'extra_job = [{{key = "one", title = "{title}", every = "1 day", minutes = 5}}]\n'
        for number, (name, room, title) in enumerate(
            [
                (LONG, LONG.lower(), "brush the pane"),
                ("بركة السلاحف", "الحديقة", "تنظيف الزجاج"),
                ("בריכה", "hall", "brush the pane"),
                ("🐢🐢🐢", "🏡", "👀 look and listen"),
                ("Reed", "x" * 60, "rinse" * 12),
            ]
        )
    ),
)

MANY = site(
    "Long Row",
    f'[[enclosure]]\nname = "Reed"\njob = {{{OFF}}}\nextra_job = [\n',
    *(f'  {{key = "job-{n}", title = "duty number {n}", every = "1 day"}},\n' for n in range(1, 121)),
    "]\n",
)

IDLE = site("Still Water", f'[[enclosure]]\nname = "Reed"\njob = {{{OFF}}}\n')

TESTED = site("Test House", TANK.replace("resident", "job.water-test = {on = [2026-12-14]}\nresident"))
"""A tank whose water is tested on this Monday."""

SPECIAL = {
    "still": (fen("Fen House"), ("Noor", "Ben")),
    "hostile": (HOSTILE, (IMAGE,)),
    "odd": (ODD, (LONG, "سلمى")),
    "many": (MANY, ("-",)),
    "idle": (IDLE, ("-",)),
    "tested": (TESTED, ("-",)),
}
"""Descriptions that are served, with whose pages are linked; in `still` nothing is ever recorded."""


@dataclass(frozen=True, slots=True)
class Place:
    """A description that is served: its file, the address of each keeper's page (`-`: of everybody's), and of feeds.

    `calendar` is the feed of the site with an entry for each job; `calendars` are those of the pages.
    """

    file: Path
    pages: dict[str, str]
    calendars: dict[str, str]
    calendar: str

    def at(self, served: Served) -> Place:
        """Return the same with the addresses of a server."""
        return Place(
            self.file,
            {name: served.url + path for name, path in self.pages.items()},
            {name: served.url + path for name, path in self.calendars.items()},
            served.url + self.calendar,
        )


def write(file: Path, text: str, keepers: Iterable[str]) -> Place:
    """Write a description and make its links; the addresses begin where a server's address ends."""
    file.write_text(text, "utf-8")
    described = read_site(file)
    pages, calendars = {}, {}
    for name in keepers:
        opened = make_link(file, described, LinkRequest(kind="page", of=name.removeprefix("-")))
        pages[name], calendars[name] = f"/round/{opened.secret}", f"/feeds/{opened.calendar}.ics"
    whole = make_link(file, described, LinkRequest(kind="site", forms=("each-job",)))
    return Place(file, pages, calendars, f"/feeds/{whole.secret}.ics")
