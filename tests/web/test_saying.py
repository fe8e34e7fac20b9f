"""What a server of several processes says to whoever runs it: each thing once."""

from __future__ import annotations

import shutil
import time
from pathlib import Path

from http_client import ask, feed_path, link
from serving import serving

ONE_TANK = Path(__file__).parents[2] / "sample_configs" / "one-tank.toml"
TODAY = "2026-12-14"
WORKERS = 3


def test_each_thing_is_said_once(tmp_path: Path) -> None:
    good = Path(shutil.copy(ONE_TANK, tmp_path / "good.toml"))
    (tmp_path / "bad.toml").write_text("[site]\nname = 5\n", "utf-8")
    opened = link(good, "site", "")
    with serving(tmp_path, ".", today=TODAY, workers=WORKERS) as served:

        def everybody_looks() -> None:
            # What a process saw is taken as still so for a fifth of a second; many at once reach all of them.
            for _ in range(6):
                time.sleep(0.25)
                for _ in range(3 * WORKERS):
                    assert ask(served.url, feed_path(opened)).status == 200

        def heard(name: str) -> list[str]:
            return [line for line in served.log_lines if line.startswith(f"{name}:")]

        text = good.read_text("utf-8")
        everybody_looks()
        assert len(heard("bad.toml")) == 1 and "it is not served until that is mended" in heard("bad.toml")[0]
        for number in (1, 2):
            good.write_text(text.replace("[site]", "[sight]", 1), "utf-8")
            everybody_looks()
            good.write_text(text + "\n" * number, "utf-8")
            everybody_looks()
            assert len(heard("good.toml")) == 2 * number
        assert heard("good.toml")[0].endswith("what was read before goes on")
        assert heard("good.toml")[1] == "good.toml: read again, all is well"
