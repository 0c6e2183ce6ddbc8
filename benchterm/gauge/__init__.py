"""The tension gauge on a wire: what it sends, how it is read, and how far it can be trusted.

Nothing here knows any maker: a gauge is described by a profile in TOML. The bench never waits for
a gauge, and goes on by keypad without one.
"""
