"""Two ways to the same pipe: in this process, or the command itself in one of its own."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from benchterm.config import Settings
from benchterm.core.facts import Facts
from benchterm.core.practice import Practice
from benchterm.locations import grammar_file
from benchterm.phrases.grammar import Grammar
from benchterm.pipe import Pipe, PipeClock, open_desk
from benchterm.setup import option, set_up

ROOT = Path(__file__).parents[2]


def in_process(options: list[str]) -> Callable[[str], dict]:
    """A pipe in this process; says what ``benchterm pipe`` would print."""
    facts = set_up(Facts(), Practice(), None, dict(option(o) for o in options))
    clock = PipeClock()
    desk = open_desk(None, facts, Settings(), clock)
    pipe = Pipe(desk, clock, Grammar.load(grammar_file("en")))
    pipe.opening()

    def say(line: str) -> dict:
        answer = pipe.answer(line.encode())
        assert answer is not None
        return answer

    return say


@contextmanager
def as_command(options: list[str]) -> Iterator[Callable[[str], dict]]:
    """The command in a process of its own."""
    command = [sys.executable, "-m", "benchterm", "pipe"]
    command += [word for o in options for word in ("--set", o)]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, cwd=ROOT, text=True
    ) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        json.loads(process.stdout.readline())

        def say(line: str) -> dict:
            process.stdin.write(line + "\n")
            process.stdin.flush()
            return json.loads(process.stdout.readline())

        yield say
        process.stdin.close()
