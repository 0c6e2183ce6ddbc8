"""Draw the README's picture from the real program: a demo session in the middle of the job.

From the top of the repository::

    PYTHONPATH=.:tests python -m demo.picture
"""

from __future__ import annotations

import asyncio
import re
from pathlib import Path

from benchterm.core.events import RollerTurned
from benchterm.core.stages import Stage
from benchterm.locations import demo_sessions_folder
from benchterm.records.journal import read_all
from benchterm.screen.app import BenchApp
from benchterm.screen.replay import ReplayScreen
from benchterm.training.player import Player

PICTURE = Path(__file__).parents[2] / ".pictures" / "bench.svg"
SIZE = (110, 34)


async def draw() -> None:
    """Play to the third turn of final tensioning and save what the screen shows."""
    events = read_all(demo_sessions_folder() / "good.jsonl").events
    player = Player(events)
    player.jump(Stage.FINAL_TENSION)
    turns = 0
    while turns < 3:
        player.step()
        turns += isinstance(player.events_so_far()[-1].what, RollerTurned)
    player.step()
    player.paused = True
    app = BenchApp(lambda: ReplayScreen(player, "invented data"))
    async with app.run_test(size=SIZE) as pilot:
        await pilot.pause()
        drawn = app.export_screenshot(title="benchterm")
    # A picture that fetches a font from elsewhere would look different where it may not.
    PICTURE.write_text(re.sub(r"@font-face \{.*?\}", "", drawn, flags=re.DOTALL), encoding="utf-8")


if __name__ == "__main__":
    asyncio.run(draw())
