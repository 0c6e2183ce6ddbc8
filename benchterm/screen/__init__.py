"""The Textual screen: the only place that imports textual. Import ``screen.app`` when it is shown.

Before that import ``screen.terminal``, so that chatter on standard error cannot spoil the picture.
"""
