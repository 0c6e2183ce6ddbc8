"""What the bench says of the gauge: what happened, what still works, what to do."""

from __future__ import annotations

from benchterm.gauge.listener import LinkState
from benchterm.gauge.profile import Profile

BATTERY_LOW = "The gauge's battery is low: its readings may be off. Change it soon."

_KEYPAD = "The keypad does everything."
_TOLD = {
    LinkState.OFF: f"Gauge off. {_KEYPAD}",
    LinkState.ABSENT: f"Gauge not there. {_KEYPAD} Waiting for it to return. ({{address}})",
    LinkState.BUSY: (
        f"Gauge used by another program. {_KEYPAD} Close the other program. ({{address}})"
    ),
    LinkState.DENIED: (
        f"No right to use the gauge's port. {_KEYPAD} "
        "Ask whoever looks after this computer to let you use it. ({address})"
    ),
    LinkState.FAILED: (
        f"The gauge's port cannot be opened. {_KEYPAD} "
        "benchterm gauge list shows what is plugged in. ({address})"
    ),
    LinkState.OPEN: "Gauge connected. Nothing has come from it yet.",
    LinkState.READING: "Gauge reading.",
    LinkState.SILENT: (
        f"Nothing from the gauge for {{silent_s:g}} s. {_KEYPAD} Is it switched on?"
    ),
    LinkState.GARBLED: (
        f"What the gauge sends is garbled. {_KEYPAD} The port is set to {{port}}: "
        "set the gauge or its profile to the same speed."
    ),
    LinkState.UNFIT: (
        f"What the gauge sends does not fit its profile ({{pattern}}). {_KEYPAD} "
        "benchterm gauge try shows its lines."
    ),
}


def told(state: LinkState, address: str, profile: Profile) -> str:
    """One to three sentences for the person at the bench."""
    return _TOLD[state].format(
        address=address,
        silent_s=profile.sends.silent_after_s,
        port=profile.port,
        pattern=profile.line.pattern,
    )
