"""Write the journals in ``demo_sessions`` anew, the same bytes each time.

Needed when what is written down at a fixed entry has changed: the journal's format, a fact or a row
of the shop's table, what ``decide`` makes of an entry, the words of the check-lists. From the
top of the repository::

    PYTHONPATH=.:tests python -m demo.generate
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path
from unittest.mock import patch

from demo.sessions import SESSIONS

from benchterm.locations import demo_sessions_folder

WRITTEN_BY = "0.1.0"
"""The version that the journals name, so that a new one leaves them as they are."""


def generate(folder: Path) -> None:
    """Write every session's journal into a folder, over what is there."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch, patch("benchterm.desk.__version__", WRITTEN_BY):
        for name, play in SESSIONS.items():
            journal = Path(scratch) / f"{name}.jsonl"
            play(journal)
            shutil.copyfile(journal, folder / journal.name)


if __name__ == "__main__":
    generate(demo_sessions_folder())
    sys.stdout.write(f"{len(SESSIONS)} sessions written to {demo_sessions_folder()}\n")
