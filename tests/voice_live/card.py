"""A sound card of software: a private PulseAudio with a microphone and a speaker, no hardware.

The microphone hears what is played into the sink ``mouth`` (a person's); what the bench says goes
into the sink ``room``, whose monitor can be recorded.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import time
import wave
from collections.abc import Mapping
from ctypes.util import find_library
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

RATE = 16_000
NEEDED = ("pulseaudio", "pactl", "paplay", "parec", "espeak-ng")

SCRIPT = """
load-module module-native-protocol-unix auth-anonymous=1 socket={socket}
load-module module-null-sink sink_name=mouth rate=16000 channels=1 format=s16le
load-module module-null-sink sink_name=room rate=48000 channels=1 format=s16le
load-module module-remap-source source_name=ear master=mouth.monitor channels=1
set-default-sink room
set-default-source ear
"""

ALSA = """
pcm.!default { type pulse }
ctl.!default { type pulse }
"""


def missing() -> str:
    """What the machine lacks for this; empty: nothing."""
    lacks = [program for program in NEEDED if shutil.which(program) is None]
    if find_library("portaudio") is None:
        lacks.append("PortAudio")
    if not any(Path("/usr/lib").rglob("libasound_module_pcm_pulse.so")):
        lacks.append("the ALSA plug-in for PulseAudio")
    return ", ".join(lacks)


class Card:
    """One private PulseAudio."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._socket = folder / "socket"
        self._process: subprocess.Popen[bytes] | None = None
        self._drain: Recorder | None = None
        (folder / "asound.conf").write_text(ALSA, encoding="ascii")
        (folder / "state").mkdir()

    @property
    def environment(self) -> dict[str, str]:
        """What a program needs to find this card and no other."""
        return {
            "PULSE_SERVER": f"unix:{self._socket}",
            "PULSE_RUNTIME_PATH": str(self._folder / "state"),
            "PULSE_STATE_PATH": str(self._folder / "state"),
            "ALSA_CONFIG_PATH": f"/usr/share/alsa/alsa.conf:{self._folder / 'asound.conf'}",
            "PULSE_COOKIE": str(self._folder / "cookie"),
        }

    def plug_in(self) -> None:
        """Start it, and wait until it is there."""
        script = self._folder / "script.pa"
        script.write_text(SCRIPT.format(socket=self._socket), encoding="ascii")
        self._process = subprocess.Popen(
            ["pulseaudio", "-n", "-F", str(script), "--exit-idle-time=-1", "--daemonize=no"],
            env=os.environ | self.environment,
            stderr=subprocess.DEVNULL,
        )
        end_s = time.monotonic() + 20
        while self._run("pactl", "info", check=False).returncode:
            assert time.monotonic() < end_s, "PulseAudio did not start"
            time.sleep(0.1)
        # A sink of nothing takes in two seconds at once unless somebody listens closely.
        self._drain = self.record(Path(os.devnull))

    def unplug(self) -> None:
        """Take it away."""
        if self._drain is not None:
            self._drain.stop()
            self._drain = None
        if self._process is not None:
            self._process.send_signal(signal.SIGKILL)
            self._process.wait()
            self._process = None
            self._socket.unlink(missing_ok=True)

    def play(self, file: Path, sink: str = "mouth") -> None:
        """Speak a recording; comes back when it is over."""
        self._run("paplay", f"--device={sink}", str(file))

    def record(self, file: Path, sink: str = "room") -> Recorder:
        """Record what comes out of a sink."""
        return Recorder(file, sink, os.environ | self.environment)

    def echo(self) -> None:
        """From here on the microphone hears what the speaker says."""
        self._run("pactl", "load-module", "module-loopback", "source=room.monitor", "sink=mouth")

    def _run(self, *command: str, check: bool = True) -> subprocess.CompletedProcess[bytes]:
        return subprocess.run(
            command, env=os.environ | self.environment, capture_output=True, check=check, timeout=60
        )


class Recorder:
    """Records until it is stopped."""

    def __init__(self, file: Path, sink: str, environment: Mapping[str, str]) -> None:
        self._file = file
        self._process = subprocess.Popen(
            [
                *("parec", f"--device={sink}.monitor", "--format=s16le", "--latency-msec=30"),
                *(f"--rate={RATE}", "--channels=1", "--raw", str(file)),
            ],
            env=dict(environment),
        )

    def stop(self) -> NDArray[np.float32]:
        """End; gives what was recorded, full scale 1."""
        self._process.terminate()
        self._process.wait()
        return np.frombuffer(self._file.read_bytes(), np.int16).astype(np.float32) / 32768


def speak(text: str, file: Path, voice: str = "en-gb", speed: int = 150) -> Path:
    """A recording of a text, with silence before and after, as a microphone would give it."""
    spoken = file.with_suffix(".spoken.wav")
    subprocess.run(
        ["espeak-ng", "-v", voice, "-s", str(speed), "-w", str(spoken), text], check=True
    )
    with wave.open(str(spoken), "rb") as source:
        rate = source.getframerate()
        sound = np.frombuffer(source.readframes(source.getnframes()), np.int16)
    still = np.zeros(rate // 2, np.int16)
    with wave.open(str(file), "wb") as sink:
        sink.setnchannels(1)
        sink.setsampwidth(2)
        sink.setframerate(rate)
        sink.writeframes(np.concatenate((still, sound, still)).tobytes())
    return file
