"""Owns a value to work to, with the record of its source.
Does not own where it is applied (worksheets).
Read models.py first."""
