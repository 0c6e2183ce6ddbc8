"""Words and keys to intents: the grammar in use, spoken numbers, the keypad's entry line.

Every word is defined in a grammar file, every meaning in ``meanings``. Imports ``core`` only.
"""
