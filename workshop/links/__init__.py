"""Owns addresses that work without login: token, purpose, expiry, revoked.
Does not own what stands behind them.
Read queries.py first."""
