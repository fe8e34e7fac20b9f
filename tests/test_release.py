"""`.ci/release`: what it refuses, and what it would do. Nothing is built here: a dry run prints the commands."""

from __future__ import annotations

import shutil
import subprocess
import sys
from os import environ  # noqa: TID251 - the script is told which interpreter to take
from pathlib import Path

import pytest
from support.commands import HANG_SECONDS

ROOT = Path(__file__).parents[1]
FILES = (".ci/release", "pyproject.toml", "scheduler/guide/changes.md")


def git(folder: Path, *words: str) -> str:
    who = ("-c", "user.name=Noor", "-c", "user.email=noor@example.org", "-c", "commit.gpgsign=false")
    done = subprocess.run(
        ["git", *who, *words], cwd=folder, check=True, capture_output=True, text=True, encoding="utf-8"
    )
    return done.stdout


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    """A repository with what the script reads, in which everything is committed."""
    for name in FILES:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / name, tmp_path / name)
    pyproject = tmp_path / "pyproject.toml"
    text = pyproject.read_text("utf-8")
    pyproject.write_text(
        text.replace('version = "' + text.split('version = "')[1].split('"')[0], 'version = "7.8.9'), "utf-8"
    )
    (tmp_path / "scheduler/guide/changes.md").write_text("# Changes\n\n## 7.8.9\n\n## 7.8.8\n", "utf-8")
    git(tmp_path, "init", "--quiet")
    commit(tmp_path)
    return tmp_path


def commit(folder: Path) -> None:
    git(folder, "add", "--all")
    git(folder, "commit", "--quiet", "--message", "All of it")


def release(folder: Path, *words: str) -> tuple[int, str, str]:
    done = subprocess.run(
        ["bash", ".ci/release", *words],
        cwd=folder,
        env={**environ, "PYTHON": sys.executable},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=HANG_SECONDS,
        check=False,
    )
    return done.returncode, done.stdout, done.stderr


def test_a_dry_run_says_what_it_would_do_and_does_nothing(clone: Path) -> None:
    code, printed, complained = release(clone, "--dry-run")
    assert (code, complained) == (0, "")
    lines = printed.splitlines()
    assert [line.split()[0].rpartition("/")[2] for line in lines[3:6]] == ["pip", "pondround", "pondround"]
    assert lines[1] == f"{sys.executable} -m build --outdir dist/7.8.9 ."
    assert lines[3].endswith(" dist/7.8.9/pondround-7.8.9-py3-none-any.whl")
    assert lines[6] == "git tag --annotate v7.8.9 --message pondround 7.8.9"
    assert git(clone, "tag") == "" and git(clone, "status", "--porcelain") == ""


def test_changes_that_are_not_committed_are_refused(clone: Path) -> None:
    (clone / "left-over.txt").write_text("x", "utf-8")
    assert release(clone, "--dry-run") == (
        1,
        "",
        "not released: there are changes that are not committed\n",
    )


def test_a_version_that_nobody_described_is_refused(clone: Path) -> None:
    (clone / "scheduler/guide/changes.md").write_text("# Changes\n\n## 7.8.90\n", "utf-8")
    commit(clone)
    code, printed, complained = release(clone)
    assert (code, printed) == (1, "")
    assert complained == 'not released: scheduler/guide/changes.md has no heading "## 7.8.9"\n'


def test_a_version_that_was_released_is_refused(clone: Path) -> None:
    git(clone, "tag", "v7.8.9")
    code, printed, complained = release(clone)
    assert (code, printed) == (1, "")
    assert complained.startswith("not released: there is a tag v7.8.9 already")


def test_the_version_of_this_tree_is_described() -> None:
    import tomllib

    version = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["version"]
    assert f"## {version}" in (ROOT / "scheduler/guide/changes.md").read_text("utf-8").splitlines()
