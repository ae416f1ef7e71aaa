"""How much is opened unless the person allows more."""

DEFAULT_LIMIT_MP = 256.0
"""Largest picture in millions of pixels: a phone's 200 fit, a bomb does not."""
