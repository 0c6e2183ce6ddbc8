"""Hearing: from sound to words, from words to what was meant, and how far to believe it."""
