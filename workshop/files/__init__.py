"""Owns bytes by their hash, on disk before any row names them.
Does not own what the bytes show (photos, documents).
Read actions.py first."""
