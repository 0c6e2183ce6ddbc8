"""How well hearing works on a corpus of spoken commands, in one run on the same sound.

    python tests/benchmarks/bench_voice.py CORPUS [--every N] [--noise-goes-on]

CORPUS is a folder with ``manifest.jsonl`` (see ``benchterm.voice.truth``, and ``speech_start``).
Four ways to hear each phrase:

endpointer   the whole way, as from a microphone: where speech begins and ends is found
by hand      the same recogniser, given the speech cut out by the manifest
free         the same weights without a grammar, by hand; its words are looked up in the grammar
plain        a plain grammar engine (pocketsphinx with its own English model), by hand, if installed

While a phrase is spoken everything is pending: bare numbers, yes and no all count. Recordings in
which nothing must be heard are heard twice: with nothing pending, and with everything. The last
lines tell processor time and memory.
"""

# ruff: noqa: T201 - it prints its tables

from __future__ import annotations

import argparse
import json
import resource
import sys
import tempfile
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import soundfile

sys.path.insert(0, str(Path(__file__).parents[2]))

from benchterm.core.stations import Station
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import Slots
from benchterm.voice.audio import read_sound
from benchterm.voice.engine import RATE, Samples
from benchterm.voice.hear import Hearing, Listened, listen, pending_for
from benchterm.voice.ready import ready
from benchterm.voice.tally import table
from benchterm.voice.truth import Recording, read_manifest
from benchterm.voice.understand import Pending, Understanding
from benchterm.voice.wire import Listening

BEFORE_S, AFTER_S = 0.15, 0.2
"""Sound left on either side of speech cut by hand."""


SOUNDS = {"newtons": "N UW T AH N Z"}
"""Words the plain engine's dictionary lacks, in the sounds of that of ``newton``."""


class PlainEngine:
    """Pocketsphinx with the same word automaton."""

    def __init__(self, grammar: Grammar) -> None:
        from pocketsphinx import Decoder  # noqa: PLC0415 - may be missing

        self._decoder = Decoder(samprate=RATE, lm=None, loglevel="FATAL")
        for word, sounds in SOUNDS.items():
            self._decoder.add_word(word, sounds, update=True)
        automaton = grammar.automaton
        known = {w for w in grammar.words if self._decoder.lookup_word(w)}
        self.unknown = sorted(set(grammar.words) - known)
        arcs, todo, met, final = [], [automaton.start], {automaton.start}, 100_000
        while todo:
            state = todo.pop()
            if automaton.final(state):
                arcs.append((state, final, 1.0))
            for word in automaton.words(state):
                after = automaton.next(state, word)
                if word in known:
                    arcs.append((state, after, 1.0, word))
                    if after not in met:
                        met.add(after)
                        todo.append(after)
        numbers = {state: i for i, state in enumerate(sorted({a for arc in arcs for a in arc[:2]}))}
        moved = [(numbers[a], numbers[b], *rest) for a, b, *rest in arcs]
        fsg = self._decoder.create_fsg("bench", numbers[automaton.start], numbers[final], moved)
        self._decoder.add_fsg("bench", fsg)
        self._decoder.activate_search("bench")

    def words(self, samples: Samples) -> tuple[str, ...]:
        """The sentence it hears."""
        self._decoder.start_utt()
        sound = (np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes()
        self._decoder.process_raw(sound, full_utt=True)
        self._decoder.end_utt()
        best = self._decoder.hyp()
        return tuple(best.hypstr.split()) if best else ()


def speech(recording: Recording, start_s: float) -> Samples:
    """The speech of a recording, cut by hand."""
    sound = np.concatenate(list(read_sound(recording.path)))
    begin = max(0, round((start_s - BEFORE_S) * RATE))
    return sound[begin : round(((recording.speech_end_s or 0) + AFTER_S) * RATE)]


def with_more_noise(recording: Recording, folder: Path) -> Recording:
    """The same recording, its last 0.6 s played back and forth for 3.6 s more.

    So the endpointer must find the end itself; the end of the file no longer helps.
    """
    sound = np.concatenate(list(read_sound(recording.path)))
    tail = sound[-round(0.6 * RATE) :]
    path = folder / f"{recording.path.stem}.wav"
    soundfile.write(path, np.concatenate([sound, *([tail[::-1], tail] * 3)]), RATE)
    return replace(recording, path=path)


def exactly(words: tuple[str, ...], meaning: Slots | None, understanding: Understanding) -> bool:
    """Whether words have just this meaning."""
    return understanding.slots(words) == [meaning]


def noise(recording: Recording) -> str:
    """The column of a recording."""
    return "clean" if recording.snr_db is None else f"{recording.snr_db:.0f} dB"


def by_hand(
    hearing: Hearing, recordings: list[tuple[Recording, float]], plain: PlainEngine | None
) -> None:
    """Print the table of the ways that get the speech cut out."""
    hits: Counter[tuple[str, str]] = Counter()
    counts: Counter[str] = Counter()
    understanding = hearing.understanding
    for recording, start_s in recordings:
        sound = speech(recording, start_s)
        recognition = hearing.engine.recognise(sound)
        ways = {
            "by hand": recognition.hypotheses[0].words if recognition.hypotheses else (),
            "free": recognition.free_words,
        }
        ranked = understanding.rank(recognition, pending_for(recording, None))
        right = {way: exactly(w, recording.meaning, understanding) for way, w in ways.items()}
        right["by hand, prior"] = bool(ranked) and ranked[0].slots == recording.meaning
        right["in the n-best"] = any(u.slots == recording.meaning for u in ranked)
        if plain is not None:
            right["plain"] = exactly(plain.words(sound), recording.meaning, understanding)
        for column in ("all", noise(recording), recording.voice):
            counts[column] += 1
            for way, hit in right.items():
                hits[way, column] += hit
    ways_used = list(right)
    print(f"\n{'exact, %':<18}{'files':>6}" + "".join(f"{way:>16}" for way in ways_used))
    for column in counts:
        row = "".join(f"{100 * hits[way, column] / counts[column]:16.1f}" for way in ways_used)
        print(f"{column:<18}{counts[column]:>6}{row}")


def whole_way(hearing: Hearing, recordings: list[Recording]) -> list[Listened]:
    """Hear recordings as from a microphone."""
    done = []
    for number, recording in enumerate(recordings, 1):
        done.append(listen(hearing, recording, pending_for(recording, None)))
        if sys.stderr.isatty():
            print(f"\r{number}/{len(recordings)} ", end="", file=sys.stderr)
    return done


def main() -> None:
    """Run the benchmark."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("corpus", type=Path)
    options.add_argument("--every", type=int, default=1, help="one phrase of so many")
    options.add_argument("--noise-goes-on", action="store_true")
    given = options.parse_args()
    manifest = given.corpus / "manifest.jsonl"
    hearing = ready(Listening("en"))
    rows = [json.loads(line) for line in manifest.read_text("utf-8").splitlines() if line.strip()]
    starts = [row.get("speech_start", 0.0) for row in rows]
    both = list(zip(read_manifest(manifest, hearing.understanding), starts, strict=True))
    spoken = [(r, start) for r, start in both if r.meaning is not None][:: given.every]
    empty = [r for r, _ in both if r.known and r.meaning is None]
    grammar = Grammar.load(Path(__file__).parents[2] / "grammars" / "en.jsgf")
    try:
        plain = PlainEngine(grammar)
        print(f"plain engine: pocketsphinx; words it lacks: {', '.join(plain.unknown) or 'none'}")
    except ImportError:
        plain = None
        print("plain engine: pocketsphinx is not installed")
    by_hand(hearing, spoken, plain)
    with tempfile.TemporaryDirectory() as folder:
        recordings = [r for r, _ in spoken]
        if given.noise_goes_on:
            recordings = [with_more_noise(r, Path(folder)) for r in recordings]
        print("\nwith the endpointer; false accepts with nothing pending")
        for line in table(whole_way(hearing, [*recordings, *empty])):
            print(line)
    print("\nwith a station and a question pending all the time")
    everything = Pending(Station.NEAR_LEFT, question=True)
    for line in table([listen(hearing, r, everything) for r in empty]):
        print(line)
    print(f"memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB at most")


if __name__ == "__main__":
    main()
