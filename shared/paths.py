"""Where the files that come with Rimetype lie."""

from pathlib import Path

RESOURCES = Path(__file__).resolve().parent.parent / "resources"
"""Pictures, recipes and other data; the same folder in a checkout and in an installed copy."""
