"""A session worked through the bench is, read back from its journal, the same session."""

from __future__ import annotations

import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from records.made import values

from benchterm.core import intents
from benchterm.core.bench import Bench, Moment
from benchterm.core.events import SessionOpened, Source
from benchterm.core.fold import fold_all
from benchterm.core.intents import Intent
from benchterm.core.stages import Stage
from benchterm.core.stations import ROLLERS, Axis, Station
from benchterm.records.journal import Journal, read_all

TENSIONS = st.floats(0, 40)
AXES = st.none() | st.sampled_from(Axis)
LIKELY = st.one_of(
    st.builds(intents.Go, st.sampled_from(Stage), st.just("to see what happens")),
    st.builds(intents.Read, st.sampled_from(Station), TENSIONS, AXES),
    st.builds(
        intents.Turn, st.sampled_from(ROLLERS), st.integers(-5, 5), st.none() | TENSIONS, AXES
    ),
    st.builds(intents.Relieve, st.sampled_from(Station), st.none() | st.floats(0, 60)),
    st.builds(intents.Undo, st.integers(1, 4)),
    st.builds(intents.Answer, st.booleans()),
    st.builds(intents.Aim, TENSIONS, AXES),
    st.sampled_from(
        [
            intents.Redo(),
            intents.Tick(),
            intents.Mark(),
            intents.Go(),
            intents.StartTimer(),
            intents.StopTimer(),
            intents.Note("far roller creaks"),
        ]
    ),
)
WORK = st.lists(LIKELY | values(Intent), max_size=40)


def at(second: int) -> Moment:
    return Moment(float(second), datetime(2026, 3, 2, 9, tzinfo=UTC) + timedelta(seconds=second))


@settings(max_examples=60, deadline=None)
@given(before=WORK, after=WORK, torn=st.binary(max_size=20).filter(lambda tail: b"\n" not in tail))
def test_after_resuming_the_state_is_what_it_was(before, after, torn):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "one.jsonl"
        with Journal.create(path) as journal:
            bench = Bench(journal)
            bench.note([SessionOpened("one", "door", "0.1.0")], at(0), Source.BENCH)
            for second, intent in enumerate(before, 1):
                bench.take(intent, at(second), Source.PIPE, "heard")
        with path.open("ab") as file:
            file.write(torn)

        resumed = Journal.resume(path)
        with resumed.journal as journal:
            assert fold_all(resumed.events) == bench.state
            bench = Bench(journal, fold_all(resumed.events))
            if resumed.repaired:
                bench.note([resumed.repaired], at(100), Source.BENCH)
            assert bool(torn) == bool(resumed.repaired)
            for second, intent in enumerate(after, 101):
                bench.take(intent, at(second), Source.VOICE, "heard")
        assert fold_all(read_all(path).events) == bench.state
