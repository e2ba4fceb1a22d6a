"""Owns receipts of requests that must count exactly once.
Does not own what the requests do.
Read actions.py first."""
