"""Somebody who does what the advice says, seeing nothing but what ``benchterm pipe`` prints."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field

from simulated.bench import BEYOND_MM, ROLLERS, Bench

TIRED = 400
"""Phrases after which the worker gives up."""
FIRST_STAGE, LAST_STAGE = 5, 8
SECONDS_A_CLICK, SECONDS_A_READING, SECONDS_A_WORD = 2.0, 12.0, 3.0

Say = Callable[[str], dict]


@dataclass
class Work:
    """How the work went."""

    settled: bool = False
    """The advice said to let it settle."""
    at_s: float = 600.0
    """Far past the real seconds that go by before the first phrase sets the time."""
    phrases: int = 0
    log: list[str] = field(default_factory=list)
    asked_back: int = 0
    over: float = 0.0
    """Highest reading at a side less the target."""


def options(bench: Bench) -> list[str]:
    """The command line's options for this bench."""
    d = bench.is_
    facts = {
        "frame.width_mm": d.span_mm[0] - BEYOND_MM,
        "frame.depth_mm": d.span_mm[1] - BEYOND_MM,
        "stretcher.roller_mm": d.roller_mm,
        "stretcher.teeth": d.teeth,
        "stretcher.span_beyond_frame_mm": BEYOND_MM,
        "stretcher.rod_gap_mm": d.gap_said_mm,
        "mesh.thread_um": d.mesh[1],
        "mesh.count": f'"{d.mesh[0]:g}/cm"',
        "target.along_n_cm": d.target_n_cm,
        "target.across_n_cm": d.target_n_cm,
        "along_pair": '"far-near"' if d.along_is_y else '"left-right"',
    }
    return [f"{key}={value}" for key, value in facts.items()]


class Worker:
    """Works at a simulated bench by the advice, until told to let it settle or it tears."""

    def __init__(self, bench: Bench, say: Say) -> None:
        self.bench, self.work = bench, Work()
        self._say = say
        self._told: list[tuple[str, str]] = []

    def run(self) -> Work:
        """Do the work from taking out the slack on."""
        said = self._speak(f"go to stage {FIRST_STAGE} because the mesh is in")
        while not (self.bench.torn or self.work.settled) and self.work.phrases < TIRED:
            said = self._next(said)
        return self.work

    def _next(self, said: dict) -> dict:
        question = said["state"]["question"]
        if question is not None and question["about"] == "reading":
            self.work.asked_back += 1
            return self._speak("yes")  # It was read again before answering: it stays.
        for advice in said["advice"]:
            told = (advice["do"], advice["why"])
            if told in self._told[-3:] and advice["severity"] == "care":
                continue
            done = self._follow(advice)
            if done is not None:
                self._told.append(told)
                return done
        return self._go_on(said)

    def _follow(self, advice: dict) -> dict | None:
        if advice["code"] == "settle":
            self.work.settled = True
            return {}
        said = None
        for move in advice["moves"]:
            clicks = move["clicks"]
            self.work.at_s += SECONDS_A_CLICK * abs(clicks) + SECONDS_A_WORD
            self.bench.turn(move["station"], clicks, self.work.at_s)
            way = "" if clicks > 0 else " back"
            said = self._speak(f"{move['station']} {abs(clicks)} clicks{way}")
            if self.bench.torn:
                return said
        for look in advice["read"]:
            self.work.at_s += SECONDS_A_READING
            value = self.bench.read(look["station"], look["axis"], self.work.at_s)
            said = self._speak(f"{look['station']} {look['axis']} {value:g}")
            if look["station"] in ROLLERS:
                self.work.over = max(self.work.over, value - self.bench.is_.target_n_cm)
            if said["state"]["question"]:
                return said
        for ease in advice["ease"]:
            self.work.at_s += SECONDS_A_WORD * 5
            self.bench.ease(ease["station"], ease["mm"], self.work.at_s)
            said = self._speak(f"{ease['station']} relieved {ease['mm']:g} mm")
        if advice["code"] in ("check", "caution"):
            said = self._speak("done")
        if advice["code"] == "go-on" and said is None:
            said = self._speak("next")
        return said

    def _go_on(self, said: dict) -> dict:
        if said["state"]["stage"] >= LAST_STAGE:
            self.work.phrases = TIRED
            return said
        return self._speak("next because nothing else is advised")

    def _speak(self, phrase: str) -> dict:
        self.work.phrases += 1
        self.work.at_s += 0.5
        said = self._say(f"@{self.work.at_s:.1f} {phrase}")
        self.work.log.append(f"@{self.work.at_s:.1f} {phrase}")
        if "refused" in said or "unsaved" in said:
            raise AssertionError(f"{phrase}: {json.dumps(said)[:500]}")
        return said
