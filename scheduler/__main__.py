"""The command `pondround`, which `python -m scheduler` is too."""

from __future__ import annotations

import signal


def main() -> None:
    """Run the command. Whoever interrupts it while its modules are still being loaded is shown none of
    them."""
    interrupt = signal.getsignal(signal.SIGINT)
    if interrupt is signal.default_int_handler:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    from scheduler.cli.main import run

    if interrupt is signal.default_int_handler:
        signal.signal(signal.SIGINT, interrupt)
    run()


if __name__ == "__main__":
    main()
