"""Adhesives, activators and hardeners: what is in them, what they ask for, what a room can take.

Everything here is general caution and estimate. The safety data sheet, local codes, the fire code
and licensed professionals come first.
"""
