"""Sound in and out through PortAudio; used in processes of their own, never where the screen is.

PortAudio knows only the devices there were when it was begun. To see others it must be ended and
begun again, which ends every stream.
"""

from __future__ import annotations

import contextlib
import os
import sys
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from benchterm.errors import BenchError
from benchterm.voice.engine import RATE

BLOCK_S = 0.032
_CLOSE_S = 2.0
"""A stream of a device that is gone may never let itself be closed."""
_SPARE_S = 3.0
"""Playing may take this much longer than the sound lasts."""

INSTALL = "Install it: on Debian and Ubuntu apt install libportaudio2, on macOS brew install it."


class NoSound(BenchError):
    """There is no way to hear or to speak.

    Example scenarios: PortAudio is not installed; no microphone is plugged in; it was taken away.
    """

    exit_code = 7

    def __init__(self, kind: str, what: str, *, works: str, todo: str) -> None:
        super().__init__(what, works=works, todo=todo)
        self.kind = kind
        """``no portaudio``, ``no microphone`` or ``no speaker``."""


@dataclass(frozen=True, slots=True)
class Device:
    """One device, as PortAudio names it."""

    name: str
    rate: int
    inputs: int
    outputs: int
    usual: str
    """``in``, ``out`` or both, if the system takes it unless told otherwise."""


@contextlib.contextmanager
def quiet() -> Iterator[None]:
    """Keep off standard error what sound libraries print there."""
    try:
        kept = os.dup(2)
    except OSError:
        yield
        return
    sink = os.open(os.devnull, os.O_WRONLY)
    os.dup2(sink, 2)
    os.close(sink)
    try:
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)


def keep_apart() -> int:
    """Send nowhere what sound libraries print, now and later; Python's own errors stay.

    Returns:
        A descriptor of standard output as it was, for our lines alone.
    """
    out = os.dup(1)
    sys.stderr = os.fdopen(os.dup(2), "w", buffering=1)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    os.close(nowhere)
    return out


def library() -> Any:
    """The sounddevice module.

    Raises:
        NoSound: PortAudio or the module is missing.
    """
    try:
        with quiet():
            import sounddevice  # noqa: PLC0415 - fails where PortAudio is missing
    except (ImportError, OSError) as error:
        raise NoSound(
            "no portaudio",
            f"PortAudio is missing, so there is no sound ({str(error).splitlines()[0]}).",
            works="The keypad does everything.",
            todo=INSTALL,
        ) from error
    return sounddevice


def rescan() -> None:
    """See which devices there are now; ends every stream."""
    sounddevice = library()
    with quiet(), contextlib.suppress(Exception):
        sounddevice._terminate()  # noqa: SLF001 - the only way to see new devices
    with quiet(), contextlib.suppress(Exception):
        sounddevice._initialize()  # noqa: SLF001


def devices() -> tuple[Device, ...]:
    """Every device there is.

    Raises:
        NoSound: PortAudio is missing.
    """
    sounddevice = library()
    try:
        found = sounddevice.query_devices()
        usual_in, usual_out = sounddevice.default.device
    except sounddevice.PortAudioError:
        return ()
    return tuple(
        Device(
            one["name"],
            int(one["default_samplerate"]),
            one["max_input_channels"],
            one["max_output_channels"],
            " ".join(
                way
                for way, usual in (("in", usual_in), ("out", usual_out))
                if one["index"] == usual
            ),
        )
        for one in found
    )


class Capture:
    """A microphone."""

    def __init__(self) -> None:
        self._stream: Any = None

    def open(
        self, name: str, put: Callable[[bytes], object], over: Callable[[], object]
    ) -> tuple[str, int]:
        """Begin to take in blocks of int16, mono; gives the device's name and its rate.

        Args:
            name: the device's name or part of it; empty: the system's.
            put: takes each block, in the device's own thread: it must neither wait nor raise.
            over: called when the stream has ended, for whatever reason.

        Raises:
            NoSound: there is no such microphone, or it cannot be opened.
        """
        sounddevice = library()
        try:
            with quiet():
                found = sounddevice.query_devices(name or None, "input")
                rate = _rate(found, sounddevice.check_input_settings, name)
                self._stream = sounddevice.RawInputStream(
                    samplerate=rate,
                    blocksize=round(BLOCK_S * rate),
                    device=name or None,
                    channels=1,
                    dtype="int16",
                    callback=lambda data, _frames, _time, _status: put(bytes(data)),
                    finished_callback=over,
                )
                self._stream.start()
        except (sounddevice.PortAudioError, ValueError, OSError) as error:
            raise _no_microphone(name, error) from error
        return found["name"], rate

    def close(self) -> bool:
        """Let the device go; False if it would not be let go, so that only leaving helps."""
        stream, self._stream = self._stream, None
        return stream is None or _closed(stream)


class Playback:
    """A speaker."""

    def __init__(self, name: str) -> None:
        self._name = name

    def play(self, samples: NDArray[np.float32], rate: int, hushed: threading.Event) -> None:
        """Play sound to its end, or until it is hushed.

        Raises:
            NoSound: there is no speaker, or it went away meanwhile.
        """
        sounddevice = library()
        try:
            with quiet():
                found = sounddevice.query_devices(self._name or None, "output")
                rate, samples = self._fitted(sounddevice, found, samples, rate)
                self._play(sounddevice, samples, rate, hushed)
        except (sounddevice.PortAudioError, ValueError, OSError) as error:
            raise _no_speaker(self._name, error) from error

    def _fitted(
        self, sounddevice: Any, found: Any, samples: NDArray[np.float32], rate: int
    ) -> tuple[int, NDArray[np.float32]]:
        """The sound at a rate that the device takes."""
        try:
            sounddevice.check_output_settings(
                self._name or None, channels=1, dtype="float32", samplerate=rate
            )
        except sounddevice.PortAudioError:
            from math import gcd  # noqa: PLC0415

            from scipy.signal import resample_poly  # noqa: PLC0415 - most devices need none

            own = int(found["default_samplerate"])
            common = gcd(own, rate)
            fitted = resample_poly(samples, own // common, rate // common)
            return own, np.asarray(fitted, np.float32)
        return rate, samples

    def _play(
        self, sounddevice: Any, samples: NDArray[np.float32], rate: int, hushed: threading.Event
    ) -> None:
        at = 0
        ended = threading.Event()

        def give(out: NDArray[np.float32], frames: int, _time: object, _status: object) -> None:
            nonlocal at
            part = samples[at : at + frames]
            out[: len(part), 0] = part
            out[len(part) :, 0] = 0
            at += frames
            if hushed.is_set():
                raise sounddevice.CallbackAbort
            if at >= len(samples):
                raise sounddevice.CallbackStop

        stream = sounddevice.OutputStream(
            samplerate=rate,
            device=self._name or None,
            channels=1,
            dtype="float32",
            callback=give,
            finished_callback=ended.set,
        )
        try:
            stream.start()
            if not ended.wait(len(samples) / rate + _SPARE_S):
                raise OSError("it takes no sound any more")
        finally:
            if not _closed(stream):
                os._exit(1)  # whoever started this process starts it again


def _rate(found: Any, check: Callable[..., object], name: str) -> int:
    """The rate of hearing if the device has it, else its own."""
    try:
        check(name or None, channels=1, dtype="int16", samplerate=RATE)
    except Exception:  # noqa: BLE001 - whatever it is, its own rate is the answer
        return int(found["default_samplerate"])
    return RATE


def _closed(stream: Any) -> bool:
    """Close a stream, in a thread, for with its device gone it may never come back."""

    def close() -> None:
        with contextlib.suppress(Exception):
            stream.abort()
        with contextlib.suppress(Exception):
            stream.close()

    thread = threading.Thread(target=close, daemon=True)
    thread.start()
    thread.join(_CLOSE_S)
    return not thread.is_alive()


def _no_microphone(name: str, error: Exception) -> NoSound:
    what = f"The microphone {name!r} cannot be used" if name else "There is no microphone"
    return NoSound(
        "no microphone",
        f"{what}{_why(error)}.",
        works="The keypad does everything.",
        todo="Plug one in; benchterm voice lists what is there. It is looked for all the time.",
    )


def _no_speaker(name: str, error: Exception) -> NoSound:
    what = f"The speaker {name!r} cannot be used" if name else "There is no speaker"
    return NoSound(
        "no speaker",
        f"{what}{_why(error)}.",
        works="Everything is on the screen.",
        todo="Plug one in; benchterm voice lists what is there.",
    )


def _why(error: Exception) -> str:
    text = (str(error).splitlines() or [type(error).__name__])[0].rstrip(".")
    return "" if text.endswith("querying device -1") else f" ({text})"
