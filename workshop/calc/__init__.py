"""Owns everything that can be worked out on paper from the numbers in front of you. Imports no Django, no clock, no files.
Does not own records or pages.
Read money.py, then labour.py first."""
