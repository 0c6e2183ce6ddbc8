"""A process that does what it is told: run as ``python -m voice.puppet`` in place of an ear.

Each line in is an order of the ear; the language given to listen in says how it behaves.
"""

from __future__ import annotations

import os
import sys
import time

from benchterm.voice.wire import Lines, Listening, Mute, Problem, Ready, ToEar, encode

if __name__ == "__main__":
    lines = Lines(ToEar)
    while data := os.read(0, 1 << 16):
        for order in lines.feed(data):
            match order:
                case Listening("dies"):
                    sys.exit(3)
                case Listening("hangs"):
                    time.sleep(60)
                case Listening(language):
                    os.write(1, encode(Ready(language, "puppet", 16_000)))
                case Mute(on=True):
                    os.write(1, encode(Problem("no microphone", "none")))
                case _:
                    os.write(1, b"chatter\n")
