"""Owns documents frozen on issue, payments and what they pay.
Does not own accounts (bookkeeping).
Read actions.py first."""
