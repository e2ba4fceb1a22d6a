"""Owns operations, access steps and kits as they are usually done, to be copied to a card.
Does not own what stands on a card (jobs) or values with a source (specifications).
Read first: models.py, then actions.py."""
