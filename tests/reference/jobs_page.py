"""The page of jobs: every registered job, as its rule makes it for the enclosures of `every_job.toml` and the samples."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

from tables import first_paragraph

from scheduler import care, workflow
from scheduler.care import ByRule, Every, Job
from scheduler.care.engine.registry import RULES, WHERE
from scheduler.quantities import Span, show_date
from scheduler.rules import Rule
from scheduler.sources import KEEPER

HERE = Path(__file__).parent
FILES = [HERE / "every_job.toml", *sorted((HERE.parents[1] / "sample_configs").glob("*.toml"))]


def jobs_section() -> str:
    """Return all jobs, in the order of a round."""
    made = made_jobs()
    return "\n\n".join(["## All jobs", *(job_entry(key, made[key]) for key in care.KEYS)]) + "\n"


def made_jobs() -> dict[str, list[Job]]:
    """Return the jobs by key as their rules make them: without what readings bring and what the samples changed."""
    found: dict[str, list[Job]] = defaultdict(list)
    for file in FILES:
        for job in care.jobs(workflow.read_site(file)):
            if not job.fixed and job.key not in job.enclosure.job:
                found[job.key].append(job)
    return found


def job_entry(key: str, jobs: list[Job]) -> str:
    """Return what there is to say of a job."""
    first = jobs[0]
    lines = [
        f"in a calendar: {first.short}; in full, for example: {first.title}",
        f"how often: {how_often(jobs)}",
        f"there: {WHERE[key]}",
        *sources_of(first),
    ]
    listed = "\n".join(f"- {line}" for line in lines)
    return f"### `{key}`\n\n{first_paragraph(RULES[key].__doc__ or '')}\n\n{listed}"


def sources_of(job: Job) -> list[str]:
    """Return what the numbers of a job rest on, a line each."""
    named = dict.fromkeys(str(source) for source in job.notes().sources if source != KEEPER)
    return [f"from: {source}" for source in named]


def how_often(jobs: list[Job]) -> str:
    """Return the cadences of a job in words, each once."""
    spans = sorted({job.cadence.span for job in jobs if isinstance(job.cadence, Every)}, key=days_of)
    told = [every(spans)] if spans else []
    told += [by_rule(job.cadence) for job in jobs if isinstance(job.cadence, ByRule)]
    return "; ".join(dict.fromkeys(told)) or "on days that follow from the description"


def days_of(span: Span) -> int:
    return span.interval_days


def every(spans: list[Span]) -> str:
    """Return intervals in words: `every 4 weeks`, `every 9 to 14 days, as it comes out for the enclosure`."""
    if len(spans) == 1:
        return f"every {spans[0]}"
    least, most = str(spans[0]), str(spans[-1])
    number, _, unit = least.partition(" ")
    return f"every {number if most.endswith(unit) else least} to {most}, as it comes out for the enclosure"


def by_rule(cadence: ByRule) -> str:
    """Return a rule in words."""
    match cadence.rule:
        case Rule(freq="DAILY", interval=1):
            return "daily"
        case Rule(freq="WEEKLY", interval=1, byday=days):
            return f"on {len(days)} days a week" if len(days) > 1 else "weekly"
        case Rule(freq="YEARLY", interval=1) if cadence.start is not None:
            return f"yearly, on {show_date(cadence.start).rpartition(' ')[0]}"
    raise ValueError(f"no words for {cadence.rule}")
