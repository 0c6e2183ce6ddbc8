"""Makes ``benchterm/voice/acceptance.json`` from a corpus of spoken commands.

    python tests/benchmarks/fit_acceptance.py CORPUS OUTPUT

CORPUS is a folder with ``manifest.jsonl`` (see ``benchterm.voice.truth``). Every recording is heard
the whole way, with everything pending; then weights and thresholds are fitted. One table tells
what confidences are worth for voices that were left out of the fit of the weights, the second what
becomes of voices that were left out of everything, the choice of thresholds too.
"""

# ruff: noqa: T201 - it prints its table

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from benchterm.core.stations import Station
from benchterm.locations import grammar_file
from benchterm.phrases.grammar import Grammar
from benchterm.voice.accept import NAMES, SURPRISE
from benchterm.voice.decoder import Decoder
from benchterm.voice.ear import Ear
from benchterm.voice.fit import ROUGH, Sample, confidences_left_out, fit, samples, save
from benchterm.voice.hear import Hearing, listen, pending_for
from benchterm.voice.truth import read_manifest
from benchterm.voice.understand import Pending, Understanding


def unknown_voices(known: Sequence[Sample]) -> Counter[tuple[str, bool]]:
    """What becomes of each sample, by a fit that knows nothing of its voice; and if it is right."""
    counts: Counter[tuple[str, bool]] = Counter()
    for voice in {s.voice for s in known}:
        acceptance = fit([s for s in known if s.voice != voice])
        for s in known:
            if s.voice == voice:
                limits = acceptance.thresholds[s.kind]
                confidence = acceptance.confidence(s.figures)
                clear = confidence >= limits.sure and s.figures.margin >= limits.lead
                sure = clear and s.figures.log_prior > SURPRISE
                asked = "asked" if confidence >= limits.ask else "rejected"
                counts["taken" if sure else asked, s.right] += 1
    return counts


def main() -> None:
    """Hear the corpus, fit, write."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("corpus", type=Path)
    options.add_argument("output", type=Path)
    given = options.parse_args()
    grammar = Grammar.load(grammar_file("en"))
    engine = Decoder(Ear(), grammar.automaton)
    hearing = Hearing(engine, Understanding(grammar), ROUGH)
    listened = []
    for recording in read_manifest(given.corpus / "manifest.jsonl", hearing.understanding):
        likely = pending_for(recording, None).likely
        everything = Pending(Station.NEAR_LEFT, question=True, likely=likely)
        listened.append(listen(hearing, recording, everything))
    known = samples(listened)
    acceptance = fit(known)
    save(acceptance, given.output)
    right = np.array([s.right for s in known])
    left_out = confidences_left_out(known)
    print(f"{len(known)} recognitions, {right.sum()} right; voices left out one by one:")
    print("confidence   right kept %   wrong kept   of these close rivals")
    close = np.array([s.figures.margin < acceptance.thresholds[s.kind].lead for s in known])
    for at in (0.3, 0.5, 0.7, 0.8, 0.9, 0.95):
        kept = left_out >= at
        share = 100 * np.mean(kept[right])
        wrong, near = np.sum(kept & ~right), np.sum(kept & ~right & close)
        print(f"{at:10.2f}   {share:12.1f}   {wrong:10d}   {near:10d}")
    print("voices left out of all:   right   wrong")
    counts = unknown_voices(known)
    for what in ("taken", "asked", "rejected"):
        print(f"{what:<26}{counts[what, True]:5d}   {counts[what, False]:5d}")
    for name, weight in zip(NAMES, acceptance.weights, strict=True):
        print(f"{name:<16}{weight:8.2f}")
    for kind, limits in acceptance.thresholds.items():
        print(f"{kind.value:<16}{limits}")


if __name__ == "__main__":
    main()
