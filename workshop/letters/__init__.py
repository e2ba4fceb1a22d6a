"""Owns the out-tray: every message is a row, sent or not.
Does not own what the messages are about.
Read actions.py first."""
