"""The shell around the pure parts: the one place that reads the clock, the environment and files, and writes."""

from __future__ import annotations

import datetime as dt
import os
import time
import zoneinfo
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from scheduler import care, plan
from scheduler.description import Enclosure, Site, load
from scheduler.description.fields import FIRST_DAY, LAST_DAY
from scheduler.description.loader import hostile_line
from scheduler.errors import DescriptionError, Problem, UsageError, WriteError, clip, nearest
from scheduler.plan import Occurrence, Series
from scheduler.species import Sheet, Sheets, load_sheets, read_sheet

if TYPE_CHECKING:
    from scheduler.calendar import Options
    from scheduler.publish import Draft, Folder

MOST_BYTES = 32_000_000
"""Largest description that is read: some 25,000 enclosures. A larger file is not a description."""

MOST_SHEET_BYTES = 200_000
MOST_WEEKS = 1040
MOST_DAYS = 3660

Progress = Callable[[int, int], None]
Named = TypeVar("Named")


# --- reading ---


def read_site(file: Path) -> Site:
    """Return the site that a file describes, with the species sheets that lie beside it. DescriptionError if it is wrong."""
    text = _read(file, MOST_BYTES, "description")
    return load(text, sheets_beside(file), (care.check,))


def _read(file: Path, most: int, what: str) -> str:
    try:
        if file.is_dir():
            raise _unreadable(f"{clip(str(file))} is a folder, not a {what}", "name the TOML file inside it")
        with file.open("rb") as stream:
            raw = stream.read(most + 1)
    except FileNotFoundError:
        raise _unreadable(
            f"there is no file {clip(str(file))}", "`pondround new FILE` writes one to start from"
        ) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "the name is not valid"
        raise _unreadable(f"{clip(str(file))} cannot be read: {reason}", "") from None
    if len(raw) > most:
        raise _unreadable(
            f"{clip(str(file))} is larger than {most // 1000} kB; that is no {what}", "split the site"
        )
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise _unreadable(
            f"line {line} is not UTF-8 text (byte {raw[error.start]:#04x})", "save the file as UTF-8"
        ) from None


def _unreadable(message: str, hint: str) -> DescriptionError:
    return DescriptionError([Problem(path=(), message=message, hint=hint)])


def sheets_beside(file: Path) -> Sheets:
    """Return the package's species sheets, and the keeper's own `*.species.toml` beside the description."""
    found: dict[str, Sheet] = {}
    problems: list[Problem] = []
    for beside in sorted(file.parent.glob("*.species.toml")):
        try:
            text = _read(beside, MOST_SHEET_BYTES, "species sheet")
            if refused := hostile_line(text):
                raise DescriptionError([replace(refused, path=(beside.name,), line=None)])
            sheet = read_sheet(text)
            found[sheet.species] = sheet
        except DescriptionError as error:
            problems += error.problems
        except (ValueError, RecursionError) as error:
            problems += _sheet_problems(beside.name, error)
    if problems:
        raise DescriptionError(problems)
    return load_sheets().adding(found) if found else load_sheets()


def _sheet_problems(name: str, error: Exception) -> Iterator[Problem]:
    from pydantic import ValidationError

    hint = "a sheet that comes with the program shows the form"
    if isinstance(error, ValidationError):
        for detail in error.errors(include_url=False):
            yield Problem(
                path=(name, *detail["loc"]),
                message=f"found {clip(detail['input'])}: {detail['msg']}",
                hint=hint,
            )
    else:
        yield Problem(
            path=(name,), message=f"this species sheet cannot be read: {clip(str(error), 120)}", hint=hint
        )


# --- days ---


def use_newest_zones() -> None:
    """Have this process read time zones from the newer of the system's database and the installed package's.

    Python prefers the system's, which may be years old: after a country's change of law its calendars would be an
    hour off.
    """
    import tzdata

    if _system_zones() < tzdata.IANA_VERSION:
        zoneinfo.reset_tzpath(())


def _system_zones() -> str:
    """Return the version of the system's time zone database, such as `2025b`; nothing when it does not say."""
    for file in (Path(folder) / name for folder in zoneinfo.TZPATH for name in ("tzdata.zi", "+VERSION")):
        try:
            with file.open(encoding="ascii", errors="replace") as stream:
                return stream.readline().removeprefix("# version ").strip()
        except OSError:
            continue
    return ""


def today_in(site: Site) -> dt.date:
    """Return the date of now in the site's time zone."""
    return dt.datetime.now(site.place.zone).date()


def machine_zone() -> str:
    """Return the IANA name of the machine's time zone, or "" where it does not say: TZ, else the link /etc/localtime."""
    from zoneinfo import ZoneInfo

    try:
        where = str(Path("/etc/localtime").readlink())
    except OSError:
        where = ""
    # A TZ of the older POSIX form ("CET-1CEST") names no zone.
    for candidate in (os.environ.get("TZ", "").removeprefix(":"), where):
        name = candidate.rpartition("zoneinfo/")[2]
        try:
            if name:
                return ZoneInfo(name).key
        except (ValueError, OSError, KeyError):
            continue
    return ""


def parse_day(text: str) -> dt.date:
    """Return a day given on the command line. UsageError when it is none."""
    try:
        day = dt.date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"{clip(text)} is not a date; write it as 2026-12-01") from None
    if not FIRST_DAY <= day <= LAST_DAY:
        raise UsageError(f"{clip(text)} is not believable; expected {FIRST_DAY} to {LAST_DAY}")
    return day


# --- addressing ---


def pick(word: str, things: dict[str, Named], what: str) -> Named:
    """Return the thing that a word addresses: by name or id, or by a unique beginning of one. UsageError otherwise.

    `things` maps every name and id to its thing.
    """
    lowered = {name.lower(): thing for name, thing in things.items()}
    if word.lower() in lowered:
        return lowered[word.lower()]
    matches = {id(thing): thing for name, thing in lowered.items() if name.startswith(word.lower())}
    if len(matches) == 1:
        return next(iter(matches.values()))
    if matches:
        found = sorted(name for name in things if name.lower().startswith(word.lower()))
        raise UsageError(f"{clip(word)} may mean any {what} of {', '.join(found[:8])}; write more of it")
    close = nearest(word, things)
    hint = (
        f"; nearest: {close}"
        if close
        else f"; there are: {', '.join(sorted(things)[:20])}"
        if things
        else "; there are none"
    )
    raise UsageError(f"there is no {what} {clip(word)}{hint}")


def by_names(things: tuple[Any, ...]) -> dict[str, Any]:
    """Return things with a name and an id by both; where one's name is another's id, the name wins."""
    return {**{t.id: t for t in things}, **{t.name: t for t in things}}


# --- planning ---


@dataclass(frozen=True, slots=True)
class Planned:
    """The series of a site for a view."""

    site: Site
    today: dt.date
    first: dt.date
    horizon: dt.date
    series: tuple[Series, ...]


def make_plan(site: Site, today: dt.date, first: dt.date, days: int) -> Planned:
    """Return the plan of a site from `first` on; single dates reach `days` days."""
    horizon = min(first + dt.timedelta(days=days - 1), LAST_DAY)
    jobs = list(care.jobs(site))
    return Planned(site, today, first, horizon, tuple(plan.schedule(site, jobs, first, horizon)))


def days_of(
    planned: Planned, enclosure: str | None = None, keeper: str | None = None
) -> Iterator[Occurrence]:
    """Return the occurrences of the view, narrowed to an enclosure and to what a keeper can take. UsageError at once."""
    site = planned.site
    series = planned.series
    if enclosure is not None:
        wanted = pick(enclosure, by_names(site.enclosures), "enclosure")
        series = tuple(s for s in series if s.job.enclosure is wanted)
    person = pick(keeper, by_names(site.keepers), "keeper") if keeper is not None else None
    found = plan.occurrences(site, series, planned.first, planned.horizon)
    return found if person is None else (o for o in found if plan.can_take(site, person, o))


def uid_for(site: Site) -> Callable[[Occurrence], str]:
    """Return the function that names the calendar entry of an occurrence."""
    from scheduler.calendar import uid_of

    return lambda o: uid_of(site.place.id, o.series, o.day)


# --- starting -----------------------------------------------------------------------------------------------------


def refuse_taken(file: Path) -> None:
    """Raise WriteError when a starter cannot be written there: before anything is asked."""
    try:
        if file.is_symlink() or file.exists():
            raise _not_written(file, "it exists already and stays as it is; name another file")
        if not file.parent.is_dir():
            raise _not_written(file, f"there is no folder {clip(str(file.parent))}; make it first")
    except (OSError, ValueError) as error:
        raise _not_written(file, _reason(error)) from None


def write_starter(file: Path, text: str) -> None:
    """Write a new description, whole or not at all; an existing file is never touched. WriteError when it is not possible."""
    refuse_taken(file)
    try:
        stream = file.open("xb")
    except (OSError, ValueError) as error:
        raise _not_written(file, _reason(error)) from None
    try:
        with stream:
            stream.write(text.encode("utf-8"))
            stream.flush()
            os.fsync(stream.fileno())
    except BaseException as error:
        file.unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise _not_written(file, _reason(error)) from None
        raise


def _not_written(file: Path, reason: str) -> WriteError:
    return WriteError(f"{clip(str(file), 200)} was not written: {reason}")


def _reason(error: OSError | ValueError) -> str:
    return error.strerror if isinstance(error, OSError) and error.strerror else "the name is not valid"


# --- exporting ---


@dataclass(frozen=True, slots=True)
class Exported:
    """What an export wrote: files with their entries and bytes, and what the keeper should know."""

    files: tuple[tuple[Path, int, int], ...]
    warnings: tuple[str, ...]


def export(
    planned: Planned,
    to: Path,
    options: Options,
    progress: Progress | None = None,
    *,
    keep_starts: bool = False,
) -> Exported:
    """Write the feed of the site and of each enclosure into the folder `to`; all of them, or none.

    With `keep_starts`, rules that the earlier feeds have already keep the day on which they began there, so that a
    later export changes only what is new. WriteError when writing is not possible: the old files are whole then.
    """
    from scheduler.calendar import Feed, Writer
    from scheduler.calendar.feed import LARGE_BYTES
    from scheduler.publish import Folder, View

    site = planned.site
    warnings: list[str] = []
    with Folder(to, time.time()) as folder:
        writer = Writer(site, options)
        view = View(planned.today, planned.first.year, keep_starts)
        # The site's feed carries full notes while it stays small, and the steps alone when it would not.
        full = folder.draft(Feed(site=site, options=options), view)
        brief = folder.draft(Feed(site=site, options=options), view)
        batches = {
            key: tuple(batch) for key, batch in groupby(planned.series, key=lambda s: s.job.enclosure.id)
        }
        for done, enclosure in enumerate(site.enclosures, start=1):
            draft = folder.draft(Feed(site=site, options=options, enclosure=enclosure), view)
            for series in batches.pop(enclosure.id, ()):
                notes = series.job.notes()
                text, steps = notes.text(), notes.brief()
                draft.add(writer, series, text)
                if full.size <= LARGE_BYTES:
                    full.add(writer, series, text)
                brief.add(writer, series, steps)
            warnings += _size_warning(folder, draft)
            if progress is not None:
                progress(done, len(site.enclosures))
        small = full.size <= LARGE_BYTES
        chosen = full if small else brief
        if not small:
            warnings.append(
                f"{chosen.name}: the whole site's notes would be too long for some calendar programs; it carries the steps alone, the enclosures' own files carry everything"
            )
        warnings += _size_warning(folder, chosen)
        files = folder.publish()
    return Exported(files, tuple(warnings))


def _size_warning(folder: Folder, draft: Draft) -> list[str]:
    from scheduler.calendar.feed import LARGE_BYTES

    size = folder.finish(draft)
    if size <= LARGE_BYTES:
        return []
    return [
        f"{draft.name}: {size // 1000} kB; some calendar programs lose feeds of 1 MB. Subscribe to the enclosures' own files instead"
    ]


def schema_text() -> str:
    """Return the JSON Schema of the description as the package ships it."""
    import json

    from scheduler.description.schema import schema

    return json.dumps(schema(care.KEYS), indent=1, ensure_ascii=False) + "\n"


def review(site: Site, today: dt.date) -> list[dict[str, Any]]:
    """Return the `check` object's enclosures: figures with their sources, and findings about their jobs."""
    from scheduler.care.review import figures

    planned = make_plan(site, today, today, 366)
    by_enclosure: dict[str, list[Series]] = {}
    for series in planned.series:
        by_enclosure.setdefault(series.job.enclosure.id, []).append(series)
    return [
        {
            "id": enclosure.id,
            "name": enclosure.name,
            "figures": {
                f.key: {
                    "value": round(f.value, 4),
                    "unit": f.unit,
                    "source": f.source.text,
                    "status": f.source.status,
                }
                for f in figures(care.Case(site, enclosure))
            },
            "findings": list(_findings(site, enclosure, by_enclosure.get(enclosure.id, []))),
        }
        for enclosure in site.enclosures
    ]


def _findings(site: Site, enclosure: Enclosure, planned: list[Series]) -> Iterator[dict[str, str]]:
    """Yield what a keeper may not expect: jobs that become single dates, overrides that have nothing to change."""
    for series in planned:
        if series.why and not isinstance(series.job.cadence, care.On):
            yield {
                "key": series.job.key,
                "verdict": "look",
                "text": f"{series.job.title}: exported as single dates, not as a rule: {series.why}.",
                "source": "RFC 5545, the rules that calendar programs agree on",
                "status": "published",
            }
    present = {job.key for job in care.jobs_of(site, enclosure)}
    for key, override in enclosure.job.items():
        if key not in present and not override.off:
            yield {
                "key": key,
                "verdict": "look",
                "text": f"[enclosure.job.{key}] changes nothing: the job does not apply to this enclosure.",
                "source": "the description",
                "status": "keeper's value",
            }
