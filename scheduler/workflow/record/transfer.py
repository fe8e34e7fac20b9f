"""The log read out whole, or as far as it is wanted, and an export of it taken in."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler import care
from scheduler.description import Site
from scheduler.errors import UsageError, as_words, clip
from scheduler.history import Entry
from scheduler.progress import Tell, nobody, told
from scheduler.readings import QUANTITIES
from scheduler.workflow.name_lookup import Named, parse_day, pick, pick_named
from scheduler.workflow.site_log import open_to_read, open_to_record

if TYPE_CHECKING:
    from scheduler.log import Log

MOST_IMPORT_BYTES = 2_000_000_000
MOST_TOLD = 20
"""So many mistakes of an import are told one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryQuery:
    """Which entries: words as the keeper wrote them."""

    enclosure: str | None = None
    job: str | None = None
    by: str | None = None
    since: str | None = None
    until: str | None = None
    last: int | None = None
    voided: bool = True


def entries_of(file: Path, site: Site, wanted: EntryQuery) -> Iterator[Entry] | None:
    """Return the entries of a site's log that are wanted, in the order recorded; None where there is no log
    yet.

    UsageError at once for a word that names nothing, neither of the description nor of the log.
    """
    log = open_to_read(file, site)
    if log is None:
        return None
    name, of = (None, None) if wanted.job is None else _named(wanted.job, site, log)
    enclosure = wanted.enclosure and _known(wanted.enclosure, site.all_enclosures, "enclosure", site, log)
    keeper = wanted.by and _known(wanted.by, site.keepers, "keeper", site, log)
    since, until = (parse_day(word) if word else None for word in (wanted.since, wanted.until))

    def entries() -> Iterator[Entry]:
        with log:
            yield from log.entries(
                site.settings.id,
                since=since,
                until=until,
                enclosure=enclosure or None,
                names=None if name is None else {name},
                of=of,
                keeper=keeper or None,
                voided=wanted.voided,
                last=wanted.last,
            )

    return entries()


def _named(word: str, site: Site, log: Log) -> tuple[str, str | None]:
    """Return the job or quantity that a word names, of the program, the description or the log alone; and
    which one of it.

    NAME/WHICH is one lamp, arrival or animal, and so is a title that only one has; for None it is all of
    them.
    """
    extra = {own.key for e in site.enclosures for own in e.extra_job}
    known = {name: name for name in (*care.KEYS, *sorted(extra), *QUANTITIES)}
    for quantity in QUANTITIES.values():
        known |= dict.fromkeys(quantity.aliases, quantity.name)
    key, stroke, which = word.partition("/")
    try:
        name = pick(key, known, "job or reading")
    except UsageError:
        if any(True for _ in log.entries(site.settings.id, names={key}, last=1)):
            name = key
        else:
            titled = {
                (job.key, job.variant) for job in care.jobs(site) if as_words(job.title) == as_words(word)
            }
            if not titled:
                raise
            names = {one for one, _ in titled}
            return names.pop(), titled.pop()[1] if len(titled) == 1 else None
    if not stroke:
        return name, None
    variants = {entry.of: entry.of for entry in log.entries(site.settings.id, names={name})}
    return name, pick(which, variants, name) if which else ""


def _known(word: str, things: tuple[Named, ...], what: str, site: Site, log: Log) -> str:
    """Return the id that a word names: of the description, or of the log alone."""
    try:
        return str(pick_named(word, things, what).id)
    except UsageError:
        found = (
            log.entries(site.settings.id, enclosure=word, last=1)
            if what == "enclosure"
            else log.entries(site.settings.id, keeper=word, last=1)
        )
        if any(True for _ in found):
            return word
        raise


def take_in(file: Path, site: Site, source: Path, tell: Tell = nobody) -> tuple[int, int, tuple[str, ...]]:
    """Take an export into the log, all of it or nothing; return how many were added, how many were known, and
    words. It tells how many entries are taken in.

    UsageError tells the mistakes of the file, each with its line.
    """
    from scheduler.sheets.entries import COLUMNS, entry_of, records_of_csv, records_of_json

    text = _text(source)
    is_json = text.lstrip()[:1] == "{"
    found: list[Entry] = []
    wrong: list[str] = []
    for line, record in records_of_json(text) if is_json else records_of_csv(text):
        entry = record if isinstance(record, str) else entry_of(site.settings.id, record)
        if isinstance(entry, Entry):
            found.append(entry)
        else:
            wrong += [f"line {line}: {said}" for said in ([entry] if isinstance(entry, str) else entry)]
        if len(wrong) > 1000:
            break
    if wrong:
        more = [f"and {len(wrong) - MOST_TOLD} more"] if len(wrong) > MOST_TOLD else []
        raise UsageError(
            "\n".join([*wrong[:MOST_TOLD], *more, f"nothing was taken in from {clip(str(source))}"])
        )
    if not found:
        # A header alone is an export too, of an empty log.
        if not is_json and text.strip() and not text.startswith(COLUMNS[0]):
            raise UsageError(f"{clip(str(source))} is no export: expected JSON lines, or CSV with its header")
        return 0, 0, ()
    words = tuple(
        f"entries of {', '.join(map(clip, gone))} are kept, though the description has no such {what}"
        for what, gone in (
            ("enclosure", sorted({e.enclosure for e in found} - {e.id for e in site.all_enclosures})),
            ("keeper", sorted({e.keeper for e in found if e.keeper} - {k.id for k in site.keepers})),
        )
        if gone
    )
    with open_to_record(file, site) as log:
        added, there = log.join(site.settings.id, told(found, tell))
    return added, there, words


def _text(source: Path) -> str:
    try:
        if str(source) == "-":
            raw = sys.stdin.buffer.read(MOST_IMPORT_BYTES + 1)
        else:
            with source.open("rb") as stream:
                raw = stream.read(MOST_IMPORT_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "the name is not valid"
        raise UsageError(f"{clip(str(source))} cannot be read: {reason}") from None
    if len(raw) > MOST_IMPORT_BYTES:
        raise UsageError(
            f"{clip(str(source))} is larger than {MOST_IMPORT_BYTES // 10**9} GB; take it in by parts"
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise UsageError(
            f"{clip(str(source))} is not UTF-8 text (byte {raw[error.start]:#04x} at {error.start})"
        ) from None
