"""Fetching a model: from a server on this very machine, with models and hashes made on the spot."""

from __future__ import annotations

import functools
import hashlib
import io
import threading
import zipfile
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.request import urlopen

import pytest
from click.testing import CliRunner, Result

from benchterm.cli import cli
from benchterm.voice import fetching
from benchterm.voice.fetching import FetchError, Model, model_of, open_https, unpack

MODEL = {"small/am/final.mdl": b"acoustic" * 999, "small/conf/mfcc.conf": b"--x=1"}
ADDRESS = "https://models.test/small.zip"


def archive(members: dict[str, bytes]) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in members.items():
            packed.writestr(name, content)
    return data.getvalue()


class Served(BaseHTTPRequestHandler):
    """Serves one body, whole or in part, or redirects."""

    def __init__(self, server: dict[str, Any], *args: Any) -> None:
        self.given = server
        super().__init__(*args)

    def do_GET(self) -> None:
        body = self.given["body"]
        self.send_response(self.given.get("status", 200))
        for name, value in {"Content-Length": str(len(body)), **self.given["headers"]}.items():
            if value is not None:
                self.send_header(name, value)
        self.end_headers()
        self.wfile.write(body[: self.given.get("sent")])

    def log_message(self, *_: Any) -> None:
        pass


@pytest.fixture
def server() -> Iterator[dict[str, Any]]:
    given: dict[str, Any] = {"body": archive(MODEL), "headers": {}}
    http = ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Served, given))
    given["port"] = http.server_port
    threading.Thread(target=http.serve_forever, kwargs={"poll_interval": 0.01}).start()
    yield given
    http.shutdown()
    http.server_close()


@pytest.fixture
def fetch(
    server: dict[str, Any], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> Callable[..., Result]:
    """Runs the command; the address of the model leads to the server here."""
    here = f"http://127.0.0.1:{server['port']}/small.zip"
    monkeypatch.setenv("BENCHTERM_HOME", str(tmp_path))
    monkeypatch.setattr(fetching, "open_https", lambda _: urlopen(here, timeout=5))
    return lambda *options, answers="y\n", wanted=ADDRESS: CliRunner().invoke(
        cli, ["voice", "fetch", wanted, *options], input=answers
    )


def sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def left(tmp_path: Path) -> list[str]:
    return sorted(path.name for path in (tmp_path / "models").glob("*"))


def test_a_model_whose_hash_is_right_is_there_afterwards(fetch, server, tmp_path):
    done = fetch("--sha256", sha256(server["body"]).upper())
    assert done.exit_code == 0, done.output
    model = tmp_path / "models" / "small"
    assert (model / "am" / "final.mdl").read_bytes() == MODEL["small/am/final.mdl"]
    assert f'engine = "vosk"\nmodel = "{model}"' in done.output
    assert left(tmp_path) == ["small"]
    again = fetch("--sha256", sha256(server["body"]))
    assert again.exit_code == 8
    assert "There is a model at" in again.output


def test_the_hash_of_the_table_counts(fetch, server, monkeypatch, tmp_path):
    table = {"xx": Model(ADDRESS, sha256(server["body"])), "yy": Model(ADDRESS, "0" * 64)}
    monkeypatch.setattr(fetching, "KNOWN", table)
    assert "wanted was 0000" in fetch(wanted="yy").output
    assert fetch(wanted="xx").exit_code == 0
    assert left(tmp_path) == ["small"]


def test_it_asks_with_address_size_and_purpose_first(fetch, server, tmp_path):
    server["body"] = bytes(2_500_000)
    done = fetch(answers="n\n")
    assert done.exit_code == 1
    assert ADDRESS in done.output
    assert "2.5 MB" in done.output
    assert "with which Vosk hears" in done.output
    assert left(tmp_path) == []


@pytest.mark.parametrize(("answer", "there"), [("y", ["small"]), ("n", [])])
def test_a_hash_that_nobody_knows_is_to_be_confirmed(fetch, server, tmp_path, answer, there):
    done = fetch(answers=f"y\n{answer}\n")
    assert f"SHA-256 of what came: {sha256(server['body'])}" in done.output
    assert "publisher" in done.output
    assert left(tmp_path) == there


@pytest.mark.parametrize(
    ("serves", "said"),
    [
        ({"sent": 40}, "broke off: 40 of"),
        ({"status": 404}, "404"),
        ({"headers": {"Content-Length": None}}, "does not say how large"),
        ({"headers": {"Content-Length": "5000000000"}}, "which no model is"),
        ({"body": b"<html>come back later</html>"}, "cannot be unpacked"),
        ({"body": archive({"small/readme": b"nothing"})}, "no Vosk model"),
    ],
)
def test_what_is_broken_leaves_nothing_behind(fetch, server, tmp_path, serves, said):
    server.update(serves)
    done = fetch("--sha256", sha256(server["body"]))
    assert done.exit_code == 8, done.output
    assert said in done.output
    assert left(tmp_path) == []


def test_another_hash_leaves_nothing_behind(fetch, tmp_path):
    done = fetch("--sha256", "f" * 64)
    assert done.exit_code == 8
    assert "wanted was ffff" in done.output
    assert left(tmp_path) == []


def test_without_a_network_it_says_so(fetch, monkeypatch, tmp_path):
    def unreachable(_: str) -> Any:
        raise OSError("Network is unreachable")

    monkeypatch.setattr(fetching, "open_https", unreachable)
    done = fetch()
    assert done.exit_code == 8
    assert "models.test cannot be reached: Network is unreachable." in done.output
    assert not (tmp_path / "models").exists()


@pytest.mark.parametrize("wanted", ["fr", "http://models.test/a.zip", "https://models.test/a.tar"])
def test_only_https_and_only_an_archive(fetch, wanted):
    assert fetch(wanted=wanted).exit_code == 8
    with pytest.raises(FetchError, match="neither one of en, ko nor an https address"):
        model_of(wanted)


def test_a_way_away_from_https_is_not_gone(server):
    server.update(status=302, headers={"Location": "http://127.0.0.1:1/small.zip"})
    with pytest.raises(OSError, match="without https"):
        open_https(f"http://127.0.0.1:{server['port']}/small.zip")


@pytest.mark.parametrize(
    "name", ["../out", "/etc/out", "small/../../out", "small\\..\\out", "C:out"]
)
def test_an_archive_cannot_write_outside_its_folder(tmp_path, name):
    (tmp_path / "m.zip").write_bytes(archive({**MODEL, name: b"bad"}))
    with pytest.raises(FetchError, match="outside its folder"):
        unpack(tmp_path / "m.zip", tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["m.zip"]


def test_an_archive_may_not_hold_links(tmp_path):
    link = zipfile.ZipInfo("small/link")
    link.external_attr = 0o120777 << 16
    with zipfile.ZipFile(tmp_path / "m.zip", "w") as packed:
        packed.writestr(link, "/etc/passwd")
    with pytest.raises(FetchError, match="more than files and folders"):
        unpack(tmp_path / "m.zip", tmp_path)


def test_a_damaged_archive_is_told(tmp_path):
    data = bytearray(archive(MODEL))
    data[60] ^= 0xFF
    (tmp_path / "m.zip").write_bytes(data)
    with pytest.raises(FetchError, match="cannot be unpacked"):
        unpack(tmp_path / "m.zip", tmp_path)
