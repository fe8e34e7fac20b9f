"""How far something is stands on a terminal's standard error alone, and goes when that is done."""

from __future__ import annotations

import io
import re
import threading

import pytest
from support.commands import HANG_SECONDS

from scheduler import progress
from scheduler.workflow import progress_bar


class Terminal(io.StringIO):
    """Standard error as it is on a terminal; `written` is set once something stands on it."""

    def __init__(self) -> None:
        super().__init__()
        self.written = threading.Event()

    def write(self, text: str) -> int:
        self.written.set()
        return super().write(text)

    def isatty(self) -> bool:
        return True


def shown(monkeypatch: pytest.MonkeyPatch, stream: io.StringIO, term: str, *, fails: bool = False) -> str:
    """Return what stands on standard error after something that is long from its beginning."""
    monkeypatch.setattr("sys.stderr", stream)
    monkeypatch.setenv("TERM", term)
    monkeypatch.setenv("COLUMNS", "40")
    with progress_bar("Making the rota, weeks", seconds=0.0) as tell:
        for _ in progress.told(["first", "second", "third"], tell):
            if isinstance(stream, Terminal) and term == "xterm":
                assert stream.written.wait(HANG_SECONDS)
            if fails:
                raise KeyboardInterrupt
    return stream.getvalue()


def test_a_terminal_shows_how_far_it_is_and_is_left_as_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    said = shown(monkeypatch, Terminal(), "xterm")
    assert re.search(r"Making the rota, weeks .*3/3", said)
    # The cursor is shown again, and the line is empty.
    assert said.count("\x1b[?25l") == said.count("\x1b[?25h") == 1
    assert said.endswith("\r\x1b[1A\x1b[2K")


def test_whoever_breaks_it_off_gets_the_terminal_back(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = Terminal()
    with pytest.raises(KeyboardInterrupt):
        shown(monkeypatch, stream, "xterm", fails=True)
    assert stream.getvalue().count("\x1b[?25l") == stream.getvalue().count("\x1b[?25h")
    assert stream.getvalue().endswith("\r\x1b[1A\x1b[2K")


@pytest.mark.parametrize(
    ("stream", "term"), [(io.StringIO, "xterm"), (Terminal, "dumb"), (Terminal, "unknown")]
)
def test_a_pipe_and_a_dumb_terminal_show_nothing(
    monkeypatch: pytest.MonkeyPatch, stream: type[io.StringIO], term: str
) -> None:
    assert shown(monkeypatch, stream(), term) == ""


def test_what_is_soon_done_shows_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = Terminal()
    monkeypatch.setattr("sys.stderr", stream)
    monkeypatch.setenv("TERM", "xterm")
    with progress_bar("Taking entries in") as tell:
        tell(1, 1)
    assert stream.getvalue() == ""


def test_it_tells_before_each_and_after_the_last() -> None:
    said: list[tuple[int, int]] = []
    assert list(progress.told("ab", lambda *parts: said.append(parts))) == ["a", "b"]
    assert said == [(0, 2), (1, 2), (2, 2)]
    assert list(progress.told([], progress.nobody)) == []
