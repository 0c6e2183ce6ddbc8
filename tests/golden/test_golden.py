from __future__ import annotations

import pytest
from golden.renew import FOLDER, HEAD, line, timeline

from benchterm.locations import demo_sessions_folder
from benchterm.records.journal import read_all
from benchterm.training.player import Player

JOURNALS = sorted(demo_sessions_folder().glob("*.jsonl"))


def test_every_demo_session_has_a_timeline():
    assert [path.stem for path in JOURNALS] == [path.stem for path in sorted(FOLDER.glob("*.txt"))]


@pytest.mark.parametrize("journal", JOURNALS, ids=lambda path: path.stem)
def test_the_same_figures_and_advice_as_before(journal):
    """If the change was meant: PYTHONPATH=.:tests python -m golden.renew."""
    kept = (FOLDER / f"{journal.stem}.txt").read_text(encoding="utf-8").splitlines(keepends=True)
    made = [HEAD, *timeline(read_all(journal).events)]
    assert [each for each in made if each not in kept] == []
    assert made == kept


@pytest.mark.parametrize("journal", JOURNALS, ids=lambda path: path.stem)
def test_the_player_shows_the_same_as_the_timeline(journal):
    events = read_all(journal).events
    player = Player(events)
    played = [line(events[0], player.view())]
    while not player.finished:
        player.step()
        played.append(line(player.events_so_far()[-1], player.view()))
    assert played == list(timeline(events))
