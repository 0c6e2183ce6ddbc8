"""A voice-and-keypad bench terminal for stretching screen mesh."""

__version__ = "0.1.0"
