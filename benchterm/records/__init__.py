"""What is kept: one journal a session, one event a line, on disk before it is shown as taken.

The journals are the truth. Whatever else is kept about a session can be made again from them.
"""
