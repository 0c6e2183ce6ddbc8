"""Learning from sessions that were: the replay player."""
