"""The bench as values: what is asked, what happened, what that amounts to, what to do next.

Everything here is pure: no clock, no file, no randomness. It imports the standard library and
``benchterm.mechanics`` only.
"""
