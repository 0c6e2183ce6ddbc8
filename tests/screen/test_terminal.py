"""Standard error while the picture is up: a pseudo-terminal stands in for the person's."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
SCRIPT = """
import os, sys
from pathlib import Path
from benchterm.screen import terminal

terminal.claim(Path(sys.argv[1]))
os.write(2, b"noise from a library\\n")
print("the picture", file=sys.__stderr__)
terminal.release()
os.write(2, b"farewell\\n")
"""


def run(log: Path, **streams: int) -> str:
    """What the person sees."""
    near, far = pty.openpty()
    given = {"stdin": far, "stdout": far, "stderr": far, **streams}
    subprocess.run([sys.executable, "-c", SCRIPT, str(log)], cwd=ROOT, check=True, **given)
    os.close(far)
    seen = b""
    try:
        while got := os.read(near, 4096):
            seen += got
    except OSError:
        pass  # Linux says EIO when the last writer has gone.
    os.close(near)
    return seen.decode()


def test_noise_goes_to_the_log_and_the_picture_to_the_terminal(tmp_path: Path):
    log = tmp_path / "logs" / "benchterm.log"
    seen = run(log)
    assert "noise" not in seen
    assert "the picture" in seen
    assert "farewell" in seen
    assert log.read_text() == "noise from a library\n"


def test_a_log_that_cannot_be_written_does_not_matter(tmp_path: Path):
    (tmp_path / "file").write_text("")
    seen = run(tmp_path / "file" / "benchterm.log")
    assert "noise" not in seen
    assert "the picture" in seen


def test_standard_error_sent_to_a_file_stays_there(tmp_path: Path):
    log = tmp_path / "benchterm.log"
    with (tmp_path / "errors").open("w+b") as errors:
        seen = run(log, stderr=errors.fileno())
        errors.seek(0)
        assert b"noise" in errors.read()
    assert "the picture" in seen
    assert not log.exists()
