"""The guide's reverse proxy: nginx with TLS in front of the server."""

from __future__ import annotations

import re
import shutil
import socket
import ssl
import subprocess
from os import environ  # noqa: TID251 - where nginx is, and whether it has to be there
from pathlib import Path

import pytest
from support.web.http_client import HANG_SECONDS, until
from support.web.serving import make_link, serving

ROOT = Path(__file__).parents[2]
GUIDE = (ROOT / "scheduler/guide/subscribe.md").read_text("utf-8")
NAME = "https://turtles.example.org"


@pytest.mark.server
def test_the_proxy_hands_on_what_was_asked_for(tmp_path):
    """The block of the guide in a real nginx, with a certificate of its own, before the real server."""
    nginx = shutil.which("nginx", path=environ["PATH"] + ":/usr/sbin")
    if nginx is None:
        assert not environ.get("PONDROUND_NEED_SERVERS"), "there is no nginx"
        pytest.skip("there is no nginx")
    (block,) = re.findall(r"^```nginx\n(.*?)^```$", GUIDE, flags=re.MULTILINE | re.DOTALL)
    made = [
        "openssl",
        "req",
        "-x509",
        "-newkey",
        "ec",
        "-pkeyopt",
        "ec_paramgen_curve:prime256v1",
        "-nodes",
        "-days",
        "2",
    ]
    names = ["-subj", "/CN=turtles.example.org", "-addext", "subjectAltName=DNS:turtles.example.org"]
    certificate = tmp_path / "own.pem"
    subprocess.run(
        [*made, *names, "-keyout", tmp_path / "own.key", "-out", certificate], check=True, capture_output=True
    )
    shutil.copy(ROOT / "sample_configs/household.toml", tmp_path)
    link = make_link(tmp_path / "household.toml", "--page", "Ives", "--url", NAME)
    path = link["page"].removeprefix(NAME)
    with serving(tmp_path, "household.toml") as server:
        listens = free_port()
        text = (
            block.replace("listen 443", f"listen 127.0.0.1:{listens}")
            .replace("/etc/ssl/turtles.example.org", str(tmp_path / "own"))
            .replace("http://127.0.0.1:8737", server.url)
        )
        assert text.count(str(tmp_path)) == 2 and server.url in text
        temporary = "".join(
            f"{kind}_temp_path {tmp_path}/{kind};\n"
            for kind in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
        )
        config = tmp_path / "nginx.conf"
        config.write_text(
            f"daemon off;\npid {tmp_path}/pid;\nerror_log stderr;\nevents {{}}\nhttp {{\n{temporary}{text}}}\n"
        )
        with subprocess.Popen([nginx, "-c", config, "-e", "stderr"], stderr=subprocess.PIPE) as proxy:
            try:
                context = ssl.create_default_context(cafile=certificate)
                page = fetched(listens, context, path)
                address = re.search(
                    r'class="address">([^<]+)<', fetched(listens, context, f"{path}/calendar")
                )
            finally:
                proxy.terminate()
    assert "<title>Ives, " in page
    # The page knows that it was asked for over TLS, and under which name.
    assert address is not None and address[1] == link["calendar"]


def fetched(port: int, context: ssl.SSLContext, path: str) -> str:
    until(lambda: listens(port), lambda: "nginx does not listen")
    plain = socket.create_connection(("127.0.0.1", port), timeout=HANG_SECONDS)
    with context.wrap_socket(plain, server_hostname="turtles.example.org") as secure:
        secure.sendall(
            f"GET {path} HTTP/1.1\r\nHost: turtles.example.org\r\nConnection: close\r\n\r\n".encode()
        )
        return b"".join(iter(lambda: secure.recv(65536), b"")).decode()


def listens(port: int) -> bool:
    try:
        socket.create_connection(("127.0.0.1", port)).close()
    except ConnectionRefusedError:
        return False
    return True


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])
