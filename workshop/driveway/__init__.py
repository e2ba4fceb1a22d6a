"""Owns what makes /m/ work on a phone without signal: service worker, manifest, sync.
Does not own the pages shown there (each room owns its own).
Read views.py first."""
