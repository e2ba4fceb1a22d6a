"""Owns who did what to which thing when: append-only, hash-chained.
Does not own the things themselves.
Read actions.py first."""
