"""The server: feeds that did not change, whole feeds, pages, memory; two workers on one core, whoever asks on another.

Run by hand, with nothing else at work on the machine: python tests/benchmarks/bench_serve.py [sqlite] [postgresql].
It needs two cores and wrk (Debian's package of that name).
"""

from __future__ import annotations

import asyncio
import gc
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlencode, urlsplit

sys.path.insert(0, str(Path(__file__).parents[1]))

from support.servers import programs, running
from support.web.http_client import Answer, ask, feed_path, forms, link, page_path
from support.web.serving import Served, serving

from scheduler.workflow import read_site
from scheduler.workflow.feeds.links import IssuedLink

SAMPLES = Path(__file__).parents[2] / "sample_configs"

SERVER, CLIENT = {0}, {1}
"""The cores."""

TODAY = "2026-12-14"
SECONDS = 8
PAGES = 12
"""So many links to pages: each is limited by itself, and somebody who looks sixty times a minute is not what is measured."""

NOT_MODIFIED, WHOLE = 1500, 400
"""Requests a second that are demanded; half of that is the load under which times are taken."""

MEMORY_REQUESTS = 100_000


@dataclass(frozen=True, slots=True)
class House:
    """A served site: its feeds by size in bytes, and links to pages."""

    served: Served
    feeds: dict[int, str]
    pages: list[IssuedLink]

    def feed(self, size: int) -> tuple[int, str]:
        """Return size and path of the feed that is nearest to a size."""
        found = min(self.feeds, key=lambda one: abs(one - size))
        return found, self.feeds[found]


@contextmanager
def housed(sample: str, log: str | None) -> Iterator[House]:
    """Serve a sample by two workers on the server's core, and go on to the client's."""
    with tempfile.TemporaryDirectory() as name:
        file = Path(shutil.copy(SAMPLES / f"{sample}.toml", name))
        site = read_site(file)
        env = {} if log is None else {"PONDROUND_LOG": log}
        wanted = [("site", ""), *(("enclosure", e.name) for e in site.enclosures)]
        wanted += [("rounds", k.name) for k in site.keepers]
        links = [link(file, kind, of, log=log) for kind, of in wanted]
        pages = [
            link(file, "page", site.keepers[n % len(site.keepers)].name, log=log, name=f"page-{n}")
            for n in range(PAGES)
        ]
        os.sched_setaffinity(0, SERVER)
        with serving(Path(name), file.name, workers=2, today=TODAY, env=env) as served:
            os.sched_setaffinity(0, CLIENT)
            # Both workers have everything at hand.
            for _ in range(8):
                answers = [ask(served.url, feed_path(one), seconds=300) for one in links]
            yield House(
                served, {len(a.body): feed_path(one) for a, one in zip(answers, links, strict=True)}, pages
            )


def wrk(url: str, seconds: float, *more: str, connections: int = 16) -> tuple[float, int]:
    """Ask as fast as it goes; return requests a second, and how many there were."""
    core = ",".join(map(str, CLIENT))
    done = subprocess.run(
        [
            "taskset",
            "-c",
            core,
            "wrk",
            "-t1",
            f"-c{connections}",
            f"-d{seconds:g}s",
            "--timeout",
            "20s",
            *more,
            url,
        ],
        capture_output=True,
        text=True,
        check=True,
    )
    assert "Non-2xx" not in done.stdout and "Socket errors" not in done.stdout, done.stdout
    (rate,) = re.findall(r"Requests/sec:\s+([\d.]+)", done.stdout)
    (count,) = re.findall(r"(\d+) requests in", done.stdout)
    return float(rate), int(count)


async def paced(url: str, path: str, fields: str, rate: int, seconds: float, expected: int) -> list[float]:
    """Ask so many times a second; return what each took from when it was due, so that a pause counts for all it held up."""
    place, taken = urlsplit(url), []
    asked = f"GET {path} HTTP/1.1\r\nHost: a\r\n{fields}\r\n".encode()
    idle: asyncio.Queue[tuple[asyncio.StreamReader, asyncio.StreamWriter]] = asyncio.Queue()
    # Room for a whole feed: a reader that asks the other side to wait would be measured instead.
    for _ in range(40):
        idle.put_nowait(await asyncio.open_connection(place.hostname, place.port, limit=2**20))

    async def one(due: float) -> None:
        reader, writer = await idle.get()
        writer.write(asked)
        head = await reader.readuntil(b"\r\n\r\n")
        assert head.startswith(b"HTTP/1.1 %d" % expected), head
        length = re.search(rb"content-length: (\d+)", head)
        if length is not None:
            await reader.readexactly(int(length[1]))
        taken.append(time.perf_counter() - due)
        idle.put_nowait((reader, writer))

    # The collector of whoever asks would stop the clock's owner, and be taken for the server's pause.
    gc.collect()
    gc.disable()
    begin, tasks = time.perf_counter(), []
    for number in range(int(rate * seconds)):
        due = begin + number / rate
        await asyncio.sleep(max(0.0, due - time.perf_counter()))
        tasks.append(asyncio.create_task(one(due)))
    await asyncio.gather(*tasks)
    gc.enable()
    return taken


def percentile(taken: list[float], part: int) -> str:
    return f"{statistics.quantiles(taken, n=100)[part - 1] * 1000:.1f} ms"


def resident_mb(served: Served) -> float:
    """Return the memory of the workers, in MB."""
    parent = served.process.pid
    children = Path(f"/proc/{parent}/task/{parent}/children").read_text().split()
    found = [Path(f"/proc/{child}/status").read_text() for child in children]
    sizes = [re.search(r"VmRSS:\s+(\d+) kB", text) for text in found if "VmRSS" in text]
    return sum(int(size[1]) for size in sizes if size) / 1000


def row(what: str, found: str, demanded: str = "") -> None:
    print(f"  {what:<64} {found:>12}  {demanded}", flush=True)


def feeds(house: House) -> None:
    size, path = house.feed(100_000)
    url = house.served.url + path
    tag = ask(house.served.url, path)["ETag"]
    packed = ask(house.served.url, path, fields={"Accept-Encoding": "gzip"})
    row("a whole feed, bytes", f"{size:,}")
    row("the same packed, bytes", f"{len(packed.body):,}")
    rate, _ = wrk(url, SECONDS, "-H", f"If-None-Match: {tag}")
    row("not modified, a second", f"{rate:,.0f}", f"at least {NOT_MODIFIED:,}")
    rate, _ = wrk(url, SECONDS)
    row("whole, a second", f"{rate:,.0f}", f"at least {WHOLE}")
    rate, _ = wrk(url, SECONDS, "-H", "Accept-Encoding: gzip")
    row("whole and packed, a second", f"{rate:,.0f}", f"at least {WHOLE}")
    for what, fields, load, status in (
        ("not modified", f"If-None-Match: {tag}\r\n", NOT_MODIFIED // 2, 304),
        ("whole", "", WHOLE // 2, 200),
        ("whole and packed", "Accept-Encoding: gzip\r\n", WHOLE // 2, 200),
    ):
        taken = asyncio.run(paced(house.served.url, path, fields, load, SECONDS, status))
        row(f"{what}, {load} a second: median", percentile(taken, 50))
        row(f"{what}, {load} a second: 99 of 100 within", percentile(taken, 99), "under 50 ms")


def timed(what: Callable[[], Answer], status: int) -> float:
    begin = time.perf_counter()
    answer = what()
    assert answer.status == status, (answer.status, answer.body[:200])
    return time.perf_counter() - begin


def pages(house: House) -> None:
    url = house.served.url
    for opened in house.pages:
        ask(url, page_path(opened), seconds=300)
    seen = [timed(lambda o=opened: ask(url, page_path(o)), 200) for _ in range(12) for opened in house.pages]  # type: ignore[misc]
    row("a page: median", percentile(seen, 50), "under 100 ms")
    row("a page: 99 of 100 within", percentile(seen, 99))
    typed = {"Content-Type": "application/x-www-form-urlencoded"}
    ticked, after = [], []
    for opened in house.pages * 3:
        ticks = forms(ask(url, page_path(opened)).text, "done")
        if not ticks:
            continue
        sent = urlencode(ticks[0].fields).encode()
        ticked.append(timed(lambda f=ticks[0], b=sent: ask(url, f.action, "POST", b, typed), 303))  # type: ignore[misc]
        after.append(timed(lambda o=opened: ask(url, page_path(o)), 200))  # type: ignore[misc]
    if len(ticked) > 1:
        row(f"a tick: median of {len(ticked)}", percentile(ticked, 50))
        row("the page after it: median", percentile(after, 50), "under 100 ms")
        both = [a + b for a, b in zip(ticked, after, strict=True)]
        row("both: median", percentile(both, 50))
        row("both: longest", f"{max(both) * 1000:.1f} ms")


MIXED = """
local paths = { %s }
local turn = 0
request = function()
  turn = turn + 1
  local one = paths[turn %% #paths + 1]
  return wrk.format("GET", one[1], one[2])
end
"""


def memory(house: House, folder: Path) -> None:
    """Ask for everything that can be asked for without an answer of 4xx, which wrk counts as an error."""
    asked = []
    for path in [*house.feeds.values(), "/style.css", "/healthz"]:
        asked.append(f'{{"{path}", {{}}}}')
        asked.append(f'{{"{path}", {{["Accept-Encoding"] = "gzip"}}}}')
        asked += [f'{{"{path}", {{["If-None-Match"] = "*"}}}}'] * 6
    script = folder / "mixed.lua"
    script.write_text(MIXED % ", ".join(asked))
    url, count = house.served.url, 0
    while count < MEMORY_REQUESTS // 10:
        count += wrk(url, 2, "-s", str(script))[1]
    before, count, rate = resident_mb(house.served), 0, 0.0
    while count < MEMORY_REQUESTS:
        rate, more = wrk(url, 5, "-s", str(script))
        count += more
    after = resident_mb(house.served)
    row("everything mixed, a second", f"{rate:,.0f}")
    row("memory of both workers before", f"{before:.1f} MB")
    row(f"and after {count:,} requests", f"{after:.1f} MB", "the same")


def measure(kind: str, new_log: Callable[[], str] | None) -> None:
    """Print a table for one database."""
    for sample in ("household", "rescue"):
        with housed(sample, new_log() if new_log else None) as house, tempfile.TemporaryDirectory() as folder:
            print(f"{kind}, {sample}")
            feeds(house)
            memory(house, Path(folder))
            pages(house)


def main() -> None:
    """Measure with each database that was named, SQLite when none was."""
    kinds = sys.argv[1:] or ["sqlite"]
    if "sqlite" in kinds:
        measure("sqlite", None)
    if "postgresql" in kinds:
        bin = programs()
        assert bin is not None, "install the package postgresql"
        os.sched_setaffinity(0, SERVER)
        with running(bin) as server:
            measure("postgresql", server.new_schema)


if __name__ == "__main__":
    main()
