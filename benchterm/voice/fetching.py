"""Fetches a model for Vosk: over https, into a temporary folder, checked, then unpacked with care.

Nothing is put in its place before all of it is there and its hash is known to be right.
"""

from __future__ import annotations

import hashlib
import shutil
import stat
import tempfile
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPException
from pathlib import Path, PurePosixPath
from typing import IO, Any
from urllib.error import HTTPError, URLError
from urllib.parse import urlsplit
from urllib.request import HTTPRedirectHandler, Request, build_opener

from benchterm.errors import BenchError
from benchterm.voice.vosk_engine import ACOUSTIC


@dataclass(frozen=True, slots=True)
class Model:
    """Where a model is published."""

    address: str
    sha256: str | None = None
    """Of the archive; ``None``: not known here, so the operator gives or confirms it."""


_PUBLISHED = "https://alphacephei.com/vosk/models"
KNOWN = {
    "en": Model(f"{_PUBLISHED}/vosk-model-small-en-us-0.15.zip"),
    "ko": Model(f"{_PUBLISHED}/vosk-model-small-ko-0.22.zip"),
}
"""Small models that Vosk's own project publishes, by language."""

MOST_BYTES = 4_000_000_000
"""Neither download nor model may be larger."""
WAIT_S = 30.0
_BLOCK = 1 << 18

Progress = Callable[[int, int], object]
"""Called with the bytes that have come, and those that will."""


class FetchError(BenchError):
    """A model could not be fetched.

    Example scenarios: there is no network; the download broke off; the hash is another one; the
    archive holds something else, or wants to write outside its folder.
    """

    exit_code = 8

    def __init__(self, what: str, todo: str = "") -> None:
        works = "Nothing was changed; the ear that comes along works."
        super().__init__(what, works=works, todo=todo)


@dataclass(frozen=True, slots=True)
class Remote:
    """A file that a server offers."""

    address: str
    size: int
    """Bytes."""
    stream: IO[bytes]

    @property
    def name(self) -> str:
        """Its name without the ending."""
        return PurePosixPath(urlsplit(self.address).path).stem


def model_of(wanted: str) -> Model:
    """A model by its language, if it is in ``KNOWN``, or by its address.

    Raises:
        FetchError: it is neither.
    """
    model = KNOWN.get(wanted) or Model(wanted)
    parts = urlsplit(model.address)
    if parts.scheme != "https" or not parts.hostname or not parts.path.endswith(".zip"):
        raise FetchError(
            f"{wanted!r} is neither one of {', '.join(KNOWN)} nor an https address of a .zip file."
        )
    return model


def open_https(address: str) -> Any:
    """Ask a server for a file; a way that leads away from https is not gone."""
    return build_opener(_StayOnHttps).open(_request(address), timeout=WAIT_S)


class _StayOnHttps(HTTPRedirectHandler):
    def redirect_request(
        self, req: Any, fp: Any, code: int, msg: str, headers: Any, newurl: str
    ) -> Any:
        if urlsplit(newurl).scheme != "https":
            raise URLError("it leads on to an address without https")
        return super().redirect_request(req, fp, code, msg, headers, newurl)


def _request(address: str) -> Request:
    return Request(address, headers={"User-Agent": "benchterm"})  # noqa: S310 - https is checked


@contextmanager
def offered(address: str, opener: Callable[[str], Any] = open_https) -> Iterator[Remote]:
    """What a server offers at an address, before any of it is fetched.

    Raises:
        FetchError: nothing, or nothing of a known and sensible length.
    """
    host = urlsplit(address).hostname
    try:
        response = opener(address)
    except HTTPError as error:
        error.close()
        raise FetchError(f"{host} does not give {address}: {error.code} {error.reason}.") from error
    except (OSError, HTTPException) as error:
        why = getattr(error, "reason", error)
        raise FetchError(f"{host} cannot be reached: {why}.", "Look at the network.") from error
    with response:
        length = response.headers.get("Content-Length", "")
        if not length.isascii() or not length.isdecimal():
            raise FetchError(f"{host} does not say how large {address} is.")
        if not 0 < int(length) <= MOST_BYTES:
            raise FetchError(f"{address} is {int(length)} bytes, which no model is.")
        yield Remote(address, int(length), response)


def download(remote: Remote, into: Path, progress: Progress = lambda *_: None) -> str:
    """Write a file to disk; its SHA-256.

    Raises:
        FetchError: it broke off, or the disk took no more.
    """
    found = hashlib.sha256()
    came = 0
    try:
        with into.open("xb") as file:
            while came <= remote.size and (block := remote.stream.read(_BLOCK)):
                file.write(block)
                found.update(block)
                came += len(block)
                progress(came, remote.size)
    except (OSError, HTTPException) as error:
        raise FetchError(f"The download broke off after {came} bytes: {error}.") from error
    if came != remote.size:
        raise FetchError(f"The download broke off: {came} of {remote.size} bytes came.")
    return found.hexdigest()


@contextmanager
def workplace(models: Path) -> Iterator[Path]:
    """A folder beside the models for what is not yet checked; gone afterwards.

    Raises:
        FetchError: there is no place for it.
    """
    try:
        models.mkdir(parents=True, exist_ok=True)
        place = Path(tempfile.mkdtemp(prefix=".fetching-", dir=models))
    except OSError as error:
        raise FetchError(f"There is no place in {models}: {error}.") from error
    try:
        yield place
    finally:
        shutil.rmtree(place, ignore_errors=True)


def unpack(archive: Path, place: Path) -> Path:
    """Unpack an archive into a new folder; the folder of the model in it.

    Raises:
        FetchError: it is no archive, is damaged, reaches outside, is too large, or holds no model.
    """
    folder = place / "unpacked"
    try:
        with zipfile.ZipFile(archive) as packed:
            members = packed.infolist()
            for member in members:
                _check(member)
            if sum(member.file_size for member in members) > MOST_BYTES:
                raise FetchError("The archive is larger inside than any model.")
            packed.extractall(folder)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError) as error:
        raise FetchError(f"The archive cannot be unpacked: {error}.") from error
    except OSError as error:
        raise FetchError(f"The archive cannot be written to disk: {error}.") from error
    for candidate in (folder, *sorted(one for one in folder.iterdir() if one.is_dir())):
        if any((candidate / name).is_file() for name in ACOUSTIC):
            return candidate
    raise FetchError("There is no Vosk model in the archive.")


def settle(model: Path, models: Path, name: str) -> Path:
    """Put a model in its place, where there must be none yet.

    Raises:
        FetchError: there is one, or the disk does not take it.
    """
    home = models / name
    check_free(home)
    try:
        model.rename(home)
    except OSError as error:
        raise FetchError(f"The model cannot be put at {home}: {error}.") from error
    return home


def check_free(home: Path) -> None:
    """See that there is nothing yet where a model is to go.

    Raises:
        FetchError: there is.
    """
    if home.exists():
        raise FetchError(f"There is a model at {home} already.", "Name it in the settings.")


def _check(member: zipfile.ZipInfo) -> None:
    path = PurePosixPath(member.filename)
    kind = stat.S_IFMT(member.external_attr >> 16)
    outside = path.is_absolute() or ".." in path.parts
    if outside or "\\" in member.filename or ":" in member.filename:
        raise FetchError(f"The archive wants to write outside its folder: {member.filename!r}.")
    if kind not in (0, stat.S_IFREG, stat.S_IFDIR):
        raise FetchError(f"The archive holds more than files and folders: {member.filename!r}.")
    if member.flag_bits & 1:
        raise FetchError("The archive is locked with a password.")
